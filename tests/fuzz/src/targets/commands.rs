//! Whole commands, with whatever was typed behind them and whatever stands in the files they are given.

use std::io::Write;

use clap::Parser;
use rillmark::cli::{self, Cli, Command};
use rillmark::command::Context;
use rillmark::exit::{Exit, Failure};

use super::texts::is_output;
use crate::Target;
use crate::alter::Alter;

pub(super) fn all() -> [Target; 2] {
    [
        Target {
            name: "arguments",
            check: arguments,
            seeds: || ARGUMENTS.lines().map(|line| line.as_bytes().to_vec()).collect(),
            alter: Alter::Text(WORDS),
            weight: 10,
        },
        Target { name: "files", check: files, seeds: file_seeds, alter: Alter::Frames, weight: 3 },
    ]
}

fn file_seeds() -> Vec<Vec<u8>> {
    let mut seeds = super::sessions::seeds();
    seeds.extend(super::records::seeds());
    seeds
}

/// Understands a command line; one that only computes is carried out.
fn arguments(text: &[u8]) -> bool {
    let Ok(text) = str::from_utf8(text) else { return false };
    let words = ["rillmark"].into_iter().chain(text.split(' ').filter(|word| !word.is_empty()));
    let Ok(cli) = Cli::try_parse_from(words) else { return false };
    if matches!(cli.command, Command::Reference(_)) {
        // Some have no value there.
        let _ = carry_out(cli);
    }
    true
}

/// Reads a file as a session and as a record, prints and exports what it holds and looks for causes.
fn files(bytes: &[u8]) -> bool {
    let mut file = tempfile::NamedTempFile::new().expect("a temporary folder");
    file.write_all(bytes).expect("a temporary folder");
    let path = file.path().to_str().expect("a plain path");
    let kinds: [&[&str]; 5] = [
        &["replay", path],
        &["--json", "replay", path],
        &["replay", path, "--csv", "-"],
        &["diagnose", path],
        &["--json", "diagnose", path],
    ];
    let mut is_whole = false;
    for words in kinds {
        let words = ["rillmark"].iter().chain(words);
        let result = carry_out(Cli::try_parse_from(words).expect("they are right"));
        is_whole |= !matches!(result, Err(Failure { exit: Exit::BadInput, .. }));
    }
    is_whole
}

fn carry_out(cli: Cli) -> Result<(), Failure> {
    let (mut out, mut progress) = (Vec::new(), Vec::new());
    let mut context = Context {
        json: cli.json,
        port: cli.port,
        probe: cli.probe,
        out: &mut out,
        progress: &mut progress,
        answers: &mut &b""[..],
    };
    let result = cli::run(cli.command, &mut context);
    is_output(&out, cli.json);
    is_output(&progress, false);
    result
}

// Invented.
const ARGUMENTS: &str = "\
reference ph-buffer technical-7.00 --at 21.5
reference conductivity-standard 1413 --at 21.3 --json
reference list
reference salinity --conductivity 38 --temperature 10 --pressure 100
reference nernst --at 25
reference compensation --conductivity 420 --temperature 12 --method linear --percent-per-kelvin 1.9
reference compensation --conductivity 420 --temperature 12 --method natural-water --exponent 0.9
reference rtd --ohms 1077.9 --r0 1000
reference water --conductivity 42
replay a.session --csv - --calibration r.record
diagnose a.session --in technical-7.00@12.5 --stirred 200..230 --reference-temperature 21@9
fit ph - --evaluate -20.5,25 --budget --water 350 --thermometer-u 0.1 --isopotential 7,0.4
fit ph - --slope 98.5,2 --isopotential measure
show --evaluate -20,25 --budget
log --for 60 --junction 0.03 --note here --out a.session
watch --every 5
check-board --tolerance 1% --load 10k=9.987k,0.3% --membrane none
calibrate ph --standard technical-7.00,lot=a --standard technical-4.01 --tolerance 0.02
calibrate temperature --standard ice --thermometer thermistor:10000,3950
verify conductivity --standard 1413 --limit 3% --limit-source us
equip --electrode E-17 --cell K1";

const WORDS: &[&str] = &[
    "reference",
    "ph-buffer",
    "conductivity-standard",
    "--conductivity",
    "--method",
    "--ohms",
    "list",
    "replay",
    "diagnose",
    "fit",
    "ph",
    "temperature",
    "show",
    "log",
    "watch",
    "check-board",
    "calibrate",
    "verify",
    "equip",
    "technical-7.00",
    "1413",
    "borax",
    "--at",
    "--json",
    "--evaluate",
    "--budget",
    "--water",
    "--slope",
    "--isopotential",
    "--in",
    "--stirred",
    "--junction",
    "--tolerance",
    "--load",
    "--limit",
    "25",
    "-20,25",
    "100..200",
    "ice@5",
    "10k=9.9k",
    "3%",
    " ",
];
