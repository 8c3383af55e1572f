//! What is said about how a standard is written.

use std::fmt::Display;

use rillmark_procedures::routine::standard::PrintedError;

/// What a number is that is not above zero.
pub const UNCERTAINTY: &str = "the uncertainty";

/// A key of which nobody knows which value is meant.
pub fn twice(key: &str, whole: &str) -> String {
    format!("'{key}' stands twice in '{whole}'. Say it once.")
}

/// Both u and tolerance.
pub const STATED_TWICE: &str =
    "state either u= (standard uncertainty) or tolerance= (what the label's ± says), once.";

/// A number that has to be above zero.
pub fn not_above_zero(what: &str, got: f64) -> String {
    format!("{what} has to be above zero, not {got}.")
}

/// A certificate's number that is too long.
pub fn certificate_too_long(number: &str, most: usize) -> String {
    format!("the certificate's number '{number}' is too long; {most} bytes are kept.")
}

/// Percent of a temperature.
pub const KELVIN_IN_PERCENT: &str =
    "the uncertainty of a reference thermometer is in kelvins, not in percent.";

/// What a bottle's maker says of it.
pub fn said(
    point: usize,
    name: &str,
    statement: Option<&str>,
    traceable_to: Option<&str>,
) -> String {
    let statement = statement.map(|text| format!(" {text};"));
    let traceable = traceable_to.map(|text| format!(" traceable to {text};"));
    format!(
        "Standard {point}, {name}, says its maker:{}{} (shown here; the record has room for the \
         certificate's number alone)",
        statement.unwrap_or_default(),
        traceable.unwrap_or_default(),
    )
}

/// A part of a standard that is not understood.
pub fn not_a_key(part: &str, whole: &str) -> String {
    format!(
        "'{part}' in '{whole}' is not understood; behind the name may stand lot=, expires=, opened=, \
         opened-limit=, single-use, table=, u=, tolerance=, certificate=, weighed, sachet, water=, \
         vessel=, dissolved=, at= and beaker=."
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
        "'{name}' is no standard known here ({}); a bottle of its own needs table=.",
        known.join(", ")
    )
}

/// No reference.
pub fn unknown_reference(name: &str) -> String {
    format!(
        "'{name}' is nothing to compare a thermometer with; write reference, reference=C, or ice."
    )
}

/// A reference that no bath has.
pub fn bad_reference(got: f64, min: f64, max: f64) -> String {
    format!("reference={got} is no bath to calibrate in; write °C between {min} and {max}.")
}

/// The uncertainty of a reference.
pub fn bad_reference_uncertainty(got: f64, least: f64, most: f64) -> String {
    format!("u={got}: a reference's standard uncertainty is between {least} and {most} K.")
}

/// A reference is no bottle.
pub fn not_behind_a_reference(key: &str) -> String {
    format!(
        "{key} belongs to a bottle; behind a reference may stand u=, tolerance=, lot=, \
         expires=, certificate= and at=."
    )
}

/// A thermometer of no known kind.
pub fn unknown_thermometer(text: &str) -> String {
    format!(
        "'{text}' is no kind of thermometer; write pt1000, pt100, platinum:R0, thermistor:R25,BETA \
         or steinhart-hart:A,B,C with ohms, kelvins and 1/K."
    )
}

/// Resistance of platinum.
pub const OHM_AT_0_C: &str = "the resistance at 0 °C in ohms";
/// Resistance of a thermistor.
pub const OHM_AT_25_C: &str = "the resistance at 25 °C in ohms";
/// Coefficient of a thermistor.
pub const STEINHART_HART_A: &str = "Steinhart-Hart a in 1/K";
/// Coefficient of a thermistor.
pub const STEINHART_HART_B: &str = "Steinhart-Hart b in 1/K";
/// Coefficient of a thermistor.
pub const STEINHART_HART_C: &str = "Steinhart-Hart c in 1/K";
/// Of a thermistor.
pub const BETA: &str = "beta in kelvins";

/// A number that no thermometer has.
pub fn bad_thermometer(what: &str, got: f64, min: f64, max: f64) -> String {
    format!("{what} is between {min} and {max}, not {got}.")
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
            format!(
                "the standard uncertainty u={got} has to be above zero and below the value itself."
            )
        }
    }
}

/// Not a number of days.
pub fn no_days(text: &str) -> String {
    format!("'{text}' is not a number of days from 0 to 65535.")
}

/// A temperature that no beaker of the bench has.
pub fn bad_beaker_temperature(got: f64, min: f64, max: f64) -> String {
    format!("at={got}: a beaker of the virtual bench stands between {min} and {max} °C.")
}

/// A mistake is to be played where there is no bench.
pub const BEAKER_NEEDS_BENCH: &str = "beaker= plays a mistake on the virtual bench; leave it out with \
    a probe that a person places.";

/// The virtual bench does not have it.
pub fn bad_beaker(error: &dyn Display) -> String {
    format!("beaker=: {error}.")
}

/// A bottle's file cannot be read.
pub fn cannot_read_file(name: &str, error: &dyn Display) -> String {
    format!("cannot read the bottle's file {name}: {error}.")
}

/// What the parser says, on one line and without the names of its types.
pub fn toml_message(message: &str) -> String {
    let words = message.split_whitespace().map(|word| match word {
        "f64" => "a number",
        "u16" => "a number of days",
        other => other,
    });
    words.collect::<Vec<_>>().join(" ")
}

/// What is wrong in a bottle's file, with the line.
pub fn file_line(name: &str, line: usize, sentence: &str) -> String {
    let end = if sentence.ends_with('.') { "" } else { "." };
    format!("{name}, line {line}: {sentence}{end}")
}

/// The file's own values cannot be changed on the command line.
pub const NOT_BEHIND_A_FILE: &str =
    "table=, u= and tolerance= cannot stand behind a file: the values are those of the file.";

/// The coverage factor.
pub fn bad_coverage(got: f64, min: f64, max: f64) -> String {
    format!("coverage-factor = {got} is not between {min} and {max}; certificates mostly use 2.")
}

/// The file is of the other quantity.
pub const OTHER_QUANTITY: &str = "this bottle is of the other quantity; pH is calibrated with \
    quantity = \"ph\", a cell with quantity = \"conductivity\".";
/// Both kinds of values.
pub const BOTH_VALUES: &str = "either published or values, not both.";
/// No values.
pub const NO_VALUES: &str = "the bottle needs its values: values = [[C, VALUE], ...], or published = \"NAME\" for a \
     solution of `rillmark reference list`.";
/// Something that a published solution already has.
pub const NOT_WITH_PUBLISHED: &str = "a published solution has its own name, unit and basis; \
    leave this out, or give the bottle's values.";
/// A table without a name.
pub const NO_NAME: &str = "a bottle with values of its own needs its name.";
/// A unit of pH.
pub const PH_HAS_NO_UNIT: &str = "pH has no unit; leave it out.";
/// A conductivity without a unit.
pub const NO_UNIT: &str =
    "conductivities need their unit: \"uS/cm\", \"mS/cm\", \"mS/m\" or \"S/m\".";
/// A coverage factor alone.
pub const COVERAGE_OF_NOTHING: &str =
    "a coverage-factor belongs to an expanded-uncertainty, and there is none.";
/// Two uncertainties.
pub const TWO_UNCERTAINTIES: &str = "the uncertainty is stated twice; state one.";
/// A coverage factor of a standard uncertainty.
pub const COVERAGE_OF_STANDARD: &str = "a standard uncertainty is that of k = 1 and a label's tolerance a limit; a coverage-factor \
     belongs to an expanded uncertainty.";
/// An expanded uncertainty without its factor.
pub const NO_COVERAGE: &str = "an expanded uncertainty needs its coverage-factor (mostly 2); for k = 1 write standard-uncertainty.";
/// Percent of a pH.
pub const PH_IN_PERCENT: &str = "the uncertainty of a pH is stated in pH, not in percent.";
/// Not a date.
pub const NO_TOML_DATE: &str = "a date stands alone and without quotes, as in 2028-03-31.";
/// Not a row.
pub const NO_TOML_ROW: &str = "a row is a temperature in °C and the value there: [25, 10.01].";
