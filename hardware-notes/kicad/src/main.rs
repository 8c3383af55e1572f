//! `cargo board-files` and `cargo board-check`.

mod new_files;

use std::fs::File;
use std::io::{self, Read, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::{Parser, Subcommand};
use rillmark_kicad::check::{self, MOST_BYTES, Report, shown, shown_path};
use rillmark_kicad::{files, table};
use rillmark_net_list::NETLIST;

use crate::new_files::Unwritten;

// The codes of `rillmark`.
const BAD_INPUT: u8 = 3;
const STORAGE: u8 = 7;
const FAILS: u8 = 10;

/// The front end as KiCad files, and a check of a board that somebody laid out.
#[derive(Debug, Parser)]
#[command(name = "rillmark-kicad")]
struct Cli {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Write schematic, board and libraries into a folder; nothing that is there is replaced.
    Files {
        /// The folder; it is made where it is missing.
        folder: PathBuf,
    },
    /// Compare a laid-out board with the table of nets.
    ///
    /// Every pad's net, every part, the values of resistors and capacitors. Nets may have other names. What is
    /// written beside chips is listed for a person to compare. Copper is not looked at: that is for KiCad's own
    /// rule check. Ends with 10 where something differs.
    Check {
        /// The board, saved by KiCad 6 or later.
        #[arg(required = true, value_name = "FILE.kicad_pcb")]
        boards: Vec<PathBuf>,
    },
    /// Print the table of nets: part, pad, net.
    Table,
}

/// What to end with, and a sentence.
type Failure = (u8, String);

fn main() -> ExitCode {
    let result = match Cli::parse().command {
        Command::Files { folder } => write_files(&folder),
        Command::Check { boards } => check_boards(&boards),
        Command::Table => print(&table()).map(|()| ExitCode::SUCCESS),
    };
    result.unwrap_or_else(|(code, sentence)| {
        // Nobody is left to tell where this fails.
        let _ = writeln!(io::stderr(), "{sentence}");
        ExitCode::from(code)
    })
}

fn print(text: &str) -> Result<(), Failure> {
    match io::stdout().lock().write_all(text.as_bytes()) {
        Err(error) if error.kind() != io::ErrorKind::BrokenPipe => {
            Err((STORAGE, format!("What was found could not be printed: {error}.")))
        }
        _ => Ok(()),
    }
}

fn write_files(folder: &Path) -> Result<ExitCode, Failure> {
    new_files::write(folder, &files()).map_err(|why| match why {
        Unwritten::Taken(path) => (
            STORAGE,
            format!(
                "{} is there and says something else. Nothing was written: choose another folder.",
                shown_path(&path)
            ),
        ),
        Unwritten::Refused(path, error) => {
            (STORAGE, format!("{} cannot be written: {error}.", shown_path(&path)))
        }
    })?;
    let project = folder.join("rillmark.kicad_pro");
    print(&format!("Open {} with KiCad 6 or later.\n", shown_path(&project)))?;
    Ok(ExitCode::SUCCESS)
}

fn check_boards(boards: &[PathBuf]) -> Result<ExitCode, Failure> {
    let mut agree = true;
    for path in boards {
        let report = check_board(path)?;
        print(&told(path, &report))?;
        agree &= report.differences.is_empty();
    }
    Ok(if agree { ExitCode::SUCCESS } else { ExitCode::from(FAILS) })
}

fn check_board(path: &Path) -> Result<Report, Failure> {
    let name = shown_path(path);
    let cannot = |error| (STORAGE, format!("{name} cannot be read: {error}."));
    let mut bytes = Vec::new();
    let file = File::open(path).map_err(cannot)?;
    file.take(MOST_BYTES as u64 + 1).read_to_end(&mut bytes).map_err(cannot)?;
    let board = check::read(&bytes).map_err(|error| (BAD_INPUT, format!("{name} {error}.")))?;
    Ok(check::compare(&board, NETLIST))
}

fn told(path: &Path, report: &Report) -> String {
    let mut text = format!(
        "{}: {} of {} parts, {} pads compared\n",
        shown_path(path),
        report.parts,
        NETLIST.parts().count(),
        report.pads
    );
    for difference in &report.differences {
        text += &format!("  {difference}\n");
    }
    for remark in &report.remarks {
        text += &format!("  (remark) {remark}\n");
    }
    text += &match report.differences.len() {
        0 => "The nets of all pads, the parts, and the values of resistors and capacitors are\nthose of the table. Copper was not looked at: run KiCad's own\nrule check for that.\nNot compared, for you to hold against the bill of materials:\n".to_owned(),
        1 => "1 difference: this is another circuit.\n".to_owned(),
        count => format!("{count} differences: this is another circuit.\n"),
    };
    if report.differences.is_empty() {
        for (part, value) in &report.uncompared {
            text += &format!("  {part} says \"{}\"\n", shown(value));
        }
    }
    text
}
