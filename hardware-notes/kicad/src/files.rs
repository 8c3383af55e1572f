//! All files of the project, and the table as lines.

use std::fmt::Write;

use rillmark_net_list::{NETLIST, PINS};

use crate::pattern::{Footprint, PACKAGES};
use crate::{board, project, schematic};

/// What the project is called, and each of its files begins with.
pub const NAME: &str = "rillmark";

/// A file of the project.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct File {
    /// Its name in the project's folder; `/` before those in a folder of their own.
    pub name: String,
    /// What it holds.
    pub text: String,
}

/// Every file, the same to the last byte each time.
pub fn files() -> Vec<File> {
    let title_block = format!(
        "(title_block (title \"Rillmark front end\") (comment 1 \"{} parts, made from the table of nets; simulated, not yet measured on copper\") (comment 2 \"Check every footprint against your part before you order\"))\n",
        NETLIST.parts().count()
    );
    let file = |name: &str, text: String| File { name: name.to_owned(), text };
    let mut files = vec![
        file(&format!("{NAME}.kicad_pro"), project::text(NAME)),
        file(&format!("{NAME}.kicad_sch"), schematic::text(&title_block)),
        file(&format!("{NAME}.kicad_pcb"), board::text(&title_block)),
        file(&format!("{NAME}.kicad_sym"), schematic::library_text()),
        file(
            "sym-lib-table",
            project::library_table("sym_lib_table", &format!("{NAME}.kicad_sym")),
        ),
        file("fp-lib-table", project::library_table("fp_lib_table", &format!("{NAME}.pretty"))),
    ];
    for package in PACKAGES {
        let footprint = Footprint::of(package);
        let name = format!("{NAME}.pretty/{}.kicad_mod", footprint.name);
        files.push(File { name, text: footprint.library_text() });
    }
    files
}

/// The table of nets, a line for each pin: part, number, net or `-`, with tabulators, sorted.
pub fn table() -> String {
    let mut pins: Vec<_> = PINS.iter().collect();
    pins.sort_by_key(|pin| (pin.part, pin.number));
    let mut text = String::new();
    for pin in pins {
        let net = pin.net.map_or("-", |net| net.name());
        // Writing to a string cannot fail.
        let _ = writeln!(text, "{}\t{}\t{net}", pin.part, pin.number);
    }
    text
}
