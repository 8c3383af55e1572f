//! What is said about a file of what was measured of a board.

use std::fmt::Display;

use rillmark_proto::board_check::{Comparison, Measured};

use super::check_board::ohms;

/// Headings of the comparison with a check.
pub const HEADINGS: [&str; 4] = ["measured before", "then", "by the check", "may be apart"];
/// It agrees.
pub const AGREES: &str = "agrees";
/// It does not.
pub const CONTRADICTS: &str = "CONTRADICTS";
/// All that can be compared agrees.
pub const ALL_AGREE: &str = "What the check can see of the file agrees with it; leaks, supply, mid and drive \
     show in none of these loads. With --measured `watch`, `show --budget` and `replay` count with it.";
/// Nothing in it can be compared.
pub const NONE_SEEN: &str = "Nothing in the file shows in these loads: the check neither bears it out nor \
     contradicts it.";
/// The end of a check that contradicts.
pub const BOTH_CANNOT_BE: &str = "the board and what was measured of it contradict each other: one of both is \
     wrong. Measure again what is marked, and the load that it was checked with; leave --measured out until then";
/// A file without a line.
pub const NOTHING: &str = "nothing is measured in this file: it needs one line at least, such as r8-ohm = \
     [1000.2, 0.1]. hardware-notes/bring-up.md lists them.";

/// It cannot be read.
pub fn cannot_read(name: &str, error: &dyn Display) -> String {
    format!("cannot read what was measured in {name}: {error}.")
}

/// What the parser says, on one line and without the names of its types.
pub fn toml_message(message: &str) -> String {
    let words = message.split_whitespace().map(|word| match word {
        "f64" => "a number",
        other => other,
    });
    words.collect::<Vec<_>>().join(" ")
}

/// No board's id.
pub fn no_board(text: &str) -> String {
    format!("'{text}' is no board: 16 hexadecimal digits, as `rillmark show` gives them.")
}

/// The file is of another board.
pub fn other_board(name: &str, measured: &dyn Display, here: &dyn Display) -> String {
    format!("{name} is of board {measured}, and this is board {here}: take the file of this one.")
}

/// Not two numbers.
pub fn no_pair(key: &str) -> String {
    format!(
        "{key} needs two numbers: the value, and how far it may be off either way (above 0), such as \
         {key} = [0.25, 0.05]."
    )
}

/// Less is known after measuring than before.
pub fn tells_nothing(key: &str, limit: f64, known: f64) -> String {
    format!(
        "{key}: known to ±{} it tells no more than the ±{} that the budget has anyway; leave the line out, or \
         take a better meter.",
        digits(limit),
        digits(known)
    )
}

/// No sound board has it.
pub fn too_far(key: &str, value: f64, about: f64, apart: f64) -> String {
    format!(
        "{key} = {} is not within {} of {}, so that the board is not sound or the number is not: measure again, \
         and see hardware-notes/build-and-check.md.",
        digits(value),
        digits(apart),
        digits(about)
    )
}

/// Four digits that count.
fn digits(number: f64) -> String {
    let whole = match number.abs() {
        0.0 => 0,
        size => size.log10().floor() as i32,
    };
    let text = format!("{number:.*}", (3 - whole).clamp(0, 9) as usize);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// A comparison in cells: what, then, by the check, may be apart.
pub fn comparison(of: &Comparison) -> [String; 4] {
    let [measured, found, limit] = [of.measured, of.found, of.limit];
    let (what, number): (String, fn(f64) -> String) = match of.what {
        Measured::Resistor { part, load_ohm } => {
            (format!("{}, by {}", part.designator, ohms(load_ohm)), ohms)
        }
        Measured::Offset => ("offset of the pH input".to_owned(), |mv| format!("{mv:.3} mV")),
        Measured::Bias => ("input bias".to_owned(), |fa| format!("{fa:.0} fA")),
    };
    [what, number(measured), number(found), number(limit)]
}

/// Above the comparison.
pub fn above(name: &str) -> String {
    format!("What was measured while building ({name}):")
}
