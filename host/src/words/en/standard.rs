//! What is said about how a standard is written.

use std::fmt::Display;

use rillmark_proto::routine::standard::PrintedError;

/// Table and u go together.
pub const TABLE_WITH_U: &str =
    "A bottle's own table needs its standard uncertainty, and u its table: table=C:VALUE/…,u=U.";

/// A part of a standard that is not understood.
pub fn not_a_key(part: &str, whole: &str) -> String {
    format!(
        "'{part}' in '{whole}' is not understood; behind the name may stand lot=, expires=, opened=, \
         opened-limit=, single-use, table=, u=, at= and beaker=."
    )
}

/// A lot that is too long.
pub fn lot_too_long(lot: &str, most: usize) -> String {
    format!("the lot '{lot}' is too long; {most} bytes are kept.")
}

/// A name that is too long.
pub fn name_too_long(name: &str, most: usize) -> String {
    format!("the name '{name}' is too long; {most} bytes are kept.")
}

/// A standard that nobody knows.
pub fn unknown_standard(name: &str, known: &[&str]) -> String {
    format!(
        "'{name}' is no standard known here ({}); a bottle of its own needs table= and u=.",
        known.join(", ")
    )
}

/// Not a number.
pub fn no_number(text: &str) -> String {
    format!("'{text}' is not a number.")
}

/// Not a row.
pub fn no_row(text: &str) -> String {
    format!("'{text}' is no row of a table; a row is C:VALUE.")
}

/// Not a date.
pub fn no_date(text: &str) -> String {
    format!("'{text}' is not a date; write YYYY-MM-DD.")
}

/// A table that no bottle has.
pub fn printed(why: &PrintedError) -> String {
    match why {
        PrintedError::Empty => "the bottle's table has no row.".to_owned(),
        PrintedError::TooMany { most } => format!("the bottle's table has more than {most} rows."),
        PrintedError::Row { row } => format!(
            "row {row} of the bottle's table cannot be right: temperatures rise from row to row \
             between 0 and 100 °C, pH is 0 to 14, conductivity 1 to 1 000 000 µS/cm."
        ),
        PrintedError::Uncertainty { got } => {
            format!("the standard uncertainty u={got} has to be above zero.")
        }
    }
}

/// Not a number of days.
pub fn no_days(text: &str) -> String {
    format!("'{text}' is not a number of days from 0 to 65535.")
}

/// The virtual bench does not have it.
pub fn bad_beaker(error: &dyn Display) -> String {
    format!("beaker=: {error}.")
}
