//! What is said about a file of what was measured of a board.

use std::fmt::Display;

use rillmark_procedures::board_check::{Comparison, Measured, Says};

use super::check_board::ohms;
use super::fit::shown;

/// Headings of the comparison with a check.
pub const HEADINGS: [&str; 4] = ["measured before", "then", "by the check", "may be apart"];
/// Rows that cannot tell, and what would help.
pub const BETTER_LOADS: &str = "Where it cannot tell, the load is not known well enough to tell that line of the \
     file from a false one. For R8 to R11 it takes 0.1 % (--load, --thermometer), for the bias 100 MΩ.";
/// The end of a check that contradicts.
pub const BOTH_CANNOT_BE: &str = "the board and what was measured of it contradict each other: one of both is \
     wrong. Measure again what is marked, and the load that it was checked with; leave --measured out until then";
/// A file without a line.
pub const NOTHING: &str = "nothing is measured in this file: it needs one line at least, such as r8-ohm = \
     [1000.2, 0.1]. hardware-notes/bring-up.md lists them.";

/// A current that was given a sign.
pub const NO_SIGN: &str = "leak-na is below 0: add top and bottom of J2 without their signs.";
/// A line that is not in brackets.
const NO_LIST: &str = "a line is two numbers in brackets, the value and how far it may be off, such as r8-ohm = [1000.2, 0.1].";

/// It cannot be read.
pub fn cannot_read(name: &str, error: &dyn Display) -> String {
    format!("cannot read what was measured in {name}: {error}.")
}

/// What the parser says, on one line of some length and without the names of its types.
pub fn toml_message(message: &str) -> String {
    /// It lists the keys there are; what is longer is somebody's text.
    const MOST: usize = 250;
    if message.ends_with("expected a sequence") {
        return NO_LIST.to_owned();
    }
    let words = message.split_whitespace().map(|word| match word {
        "f64" => "a number".to_owned(),
        other => shown(other),
    });
    let words = words.collect::<Vec<_>>().join(" ");
    match words.chars().count() > MOST {
        true => words.chars().take(MOST).chain(['…']).collect(),
        false => words,
    }
}

/// No board's id.
pub fn no_board(text: &str) -> String {
    format!("'{}' is no board: 16 hexadecimal digits, as `rillmark show` gives them.", shown(text))
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

/// Nobody can know it so well.
pub fn too_good(key: &str, limit: f64, least: f64) -> String {
    format!(
        "{key}: no instrument knows it to ±{}; ±{} is the least that is believed. Give what the meter's data \
         sheet allows for this reading.",
        digits(limit),
        digits(least)
    )
}

/// No sound board has it.
pub fn too_far(key: &str, value: f64, about: f64, apart: f64) -> String {
    format!(
        "{key} = {} is not within {} of {}, so that part or board is not sound, or the number is not: measure \
         again, and see hardware-notes/build-and-check.md.",
        digits(value),
        digits(apart),
        digits(about)
    )
}

/// Four digits that count.
fn digits(number: f64) -> String {
    let whole = match number.abs() {
        0.0 => 0,
        size if !(1e-6..1e9).contains(&size) => return format!("{number:.1e}"),
        size => size.log10().floor() as i32,
    };
    let text = format!("{number:.*}", (3 - whole).clamp(0, 9) as usize);
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

/// What the check says of a line.
pub const fn says(says: Says) -> &'static str {
    match says {
        Says::Agrees => "agrees",
        Says::CannotTell => "cannot tell",
        Says::Contradicts => "CONTRADICTS",
    }
}

/// Which line of the file is compared.
pub fn key(what: Measured) -> String {
    match what {
        Measured::Resistor { part, .. } => format!("{}-ohm", part.designator.to_lowercase()),
        Measured::Offset => "offset-mv".to_owned(),
        Measured::Bias => "bias-fa".to_owned(),
    }
}

/// Which lines the check bore out, and which nothing did.
pub fn believed(borne_out: &[&str], believed: &[&str]) -> String {
    let mut text = String::new();
    if !borne_out.is_empty() {
        text += &format!("Borne out, as near as they may be apart: {}.\n", borne_out.join(", "));
    }
    if !believed.is_empty() {
        text +=
            &format!("Believed as they stand, borne out by nothing: {}.\n", believed.join(", "));
    }
    text + "With --measured `log`, `watch`, `show --budget` and `replay` believe the whole file, each line to its \
            own ±.\n"
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

/// What uncertainties count with.
pub fn counted_with(name: &str, lines: &[&str]) -> String {
    match lines {
        [] => no_line_counts(name),
        lines => format!(
            "Uncertainties count with {name} in place of the parts' limits: {}.",
            lines.join(", ")
        ),
    }
}

fn no_line_counts(name: &str) -> String {
    format!("No uncertainty counts with {name}: mid-v is in none.")
}

/// The same of what a session keeps, in so many of its runs.
pub fn counted_with_kept(name: &str, lines: &[&str], runs: u64, of: u64) -> String {
    let whose = "which this session keeps";
    match lines {
        [] => no_line_counts(&format!("{name}, {whose}")),
        lines if runs < of => format!(
            "Uncertainties count with {name}, {whose}, in {runs} of {of} runs in place of the parts' limits: {}.",
            lines.join(", ")
        ),
        lines => counted_with(&format!("{name}, {whose},"), lines),
    }
}

/// What a session keeps, and nothing counts with it because another file was given, or none wanted.
pub fn kept_and_left(name: &str) -> String {
    format!("{name}, which this session keeps, is not counted with, as --measured says.")
}

/// What a session keeps and this release cannot use.
pub fn kept_and_of_no_use(name: &str, why: &str) -> String {
    format!("{name}, which this session keeps, cannot be used and is not counted with: {why}")
}

/// What a session keeps and is of another board than its run; without one where no header names it.
pub fn kept_of_another(name: &str, board: &dyn Display, run: Option<&dyn Display>) -> String {
    let run = match run {
        Some(run) => format!("its run is of board {run}, so it is not counted with there"),
        None => "the session does not name the board of its run, so it is not counted with there"
            .to_owned(),
    };
    format!("{name}, which this session keeps, is of board {board}: {run}.")
}

/// So many readings count with nothing that was kept, since nobody knows which of it is theirs.
pub fn unclear(readings: u64) -> String {
    let (readings, they) = match readings {
        1 => ("1 reading counts".to_owned(), "it"),
        many => (format!("{many} readings count"), "they"),
    };
    let is = if they == "it" { "is" } else { "are" };
    format!(
        "{readings} with the limits of any board: what was measured is kept there in two ways that contradict \
         each other, or nobody can tell of which run {they} {is}."
    )
}

/// A file was given for a session without a header.
pub fn names_no_board(name: &str) -> String {
    format!(
        "the session names no board, so nobody can tell whether {name} is of its board; leave --measured out, or \
         say --measured none"
    )
}
