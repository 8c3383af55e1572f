//! What `rillmark fit` says to a person.

use rillmark_metrology::fit::FitError;
use rillmark_metrology::fit::conductivity::DEFAULT_STANDARD_UNCERTAINTY;
use rillmark_metrology::fit::ph::DEFAULT_BUFFER_UNCERTAINTY;
use rillmark_proto::calibration::TEMPERATURE_RANGE;
use rillmark_proto::calibration::ph::PH_RANGE;

/// Examples under `--help`.
pub const EXAMPLE: &str = "Example:\n  rillmark fit ph points.csv --evaluate 25.3,18.2";
/// For `ph`.
pub const EXAMPLE_PH: &str = "\
Example:
  rillmark fit ph points.csv --evaluate -25.3,18.2

with points.csv
  buffer_ph,potential_mv,temperature_c
  4.00,171.2,20.1
  6.88,5.9,20.3
  9.23,-129.5,19.8

A column `bottle` (any text) says which rows were taken in one bottle; u_buffer_ph is k = 1 (a label's
±0.02 is 0.0115), without it 0.015.";
/// For `conductivity`.
pub const EXAMPLE_CONDUCTIVITY: &str = "\
Example:
  rillmark fit conductivity points.csv

with points.csv
  standard_us_per_cm,conductance_us,temperature_c
  1304.2,1322.8,21.0";

/// What `--evaluate` takes.
pub const EVALUATE_FORM: &str =
    "give a potential in mV and a temperature in °C with a comma between, as in -25.3,18.2";

/// What an option that is a size takes.
pub const ABOVE_ZERO: &str = "give a number above zero";

/// Name of the file `-`.
pub const STANDARD_INPUT: &str = "standard input";

/// Labels of what was found.
pub const SLOPE: &str = "slope";
/// Potential at pH 7.
pub const OFFSET: &str = "offset at pH 7";
/// Of slope and offset.
pub const CORRELATION: &str = "correlation of both";
/// Of the cell.
pub const CELL_CONSTANT: &str = "cell constant";
/// The pH that was asked for.
pub const EVALUATED: &str = "pH";
/// In place of an undefined value.
pub const NOT_DEFINED: &str = "not defined";

/// Headings over the points in buffers.
pub const PH_HEADINGS: [&str; 5] = ["point", "buffer pH", "mV", "°C", "residual pH"];
/// Headings over the points in conductivity standards.
pub const CONDUCTIVITY_HEADINGS: [&str; 5] = ["point", "standard µS/cm", "µS", "°C", "residual %"];

/// A slope with its standard uncertainty.
pub fn slope(percent: f64, uncertainty: f64, mv_per_ph: f64) -> String {
    format!(
        "{percent:.2} % of Nernst, {mv_per_ph:.2} mV per pH at 25 °C (standard uncertainty \
         {uncertainty:.2} %)"
    )
}

/// An offset with its standard uncertainty.
pub fn offset(mv: f64, uncertainty: f64) -> String {
    format!("{mv:+.2} mV (standard uncertainty {uncertainty:.2} mV)")
}

/// After a line that no working sensor has.
pub const REFUSED: &str =
    "what was found is refused: do what it says under the table, and use none of it";
/// One bottle with the values of two solutions.
pub fn two_solutions(file: &str, lines: [usize; 2]) -> String {
    let [one, other] = lines;
    format!(
        "{file}: lines {one} and {other} name one bottle, and no solution has both values. Give each \
         bottle a name of its own, or correct the value."
    )
}
/// Which rows a default was taken for.
fn rows(rows: &[usize]) -> String {
    let shown: Vec<_> = rows.iter().take(8).map(ToString::to_string).collect();
    match (rows.len(), shown.as_slice()) {
        (1, [one]) => format!("row {one}"),
        (many, _) if many > shown.len() => format!("{many} rows"),
        (_, [first @ .., last]) => format!("rows {} and {last}", first.join(", ")),
        (_, []) => String::new(),
    }
}
/// What is taken where no u_buffer_ph is given.
pub fn default_u_ph(of: &[usize]) -> String {
    format!(
        "No u_buffer_ph is given in {}: {} pH (standard uncertainty) is taken.",
        rows(of),
        DEFAULT_BUFFER_UNCERTAINTY.value
    )
}
/// What is taken where no u_standard_us_per_cm is given.
pub fn default_u_standard(of: &[usize]) -> String {
    format!(
        "No u_standard_us_per_cm is given in {}: {} % (standard uncertainty) is taken.",
        rows(of),
        100.0 * DEFAULT_STANDARD_UNCERTAINTY.value
    )
}

/// Resistance in series with the cell.
pub const SERIES: &str = "series resistance";
/// Where the ranges disagree.
pub const RANGE_FACTORS: &str = "factors of the ranges";
/// Where the potential does not move with temperature.
pub const ISOPOTENTIAL: &str = "isopotential pH";
/// How the points lie about what was found.
pub const SCATTER: &str = "scatter";

/// A series resistance with its standard uncertainty.
pub fn series(ohm: f64, uncertainty: f64) -> String {
    // A sign before nothing but zeros says nothing.
    let ohm = if ohm.abs() < 0.0005 { "0.000".to_owned() } else { format!("{ohm:+.3}") };
    format!("{ohm} Ω (standard uncertainty {uncertainty:.3} Ω)")
}

/// The factor of each range that was calibrated.
pub fn range_factors(factors: [Option<f64>; 3]) -> String {
    let named = ["1 kΩ", "10 kΩ", "100 kΩ"].iter().zip(factors);
    let told: Vec<_> = named
        .filter_map(|(name, factor)| factor.map(|factor| format!("{name} {factor:.4}")))
        .collect();
    told.join(", ")
}

/// An isopotential pH with its standard uncertainty.
pub fn isopotential(ph: f64, uncertainty: f64) -> String {
    format!("{ph:.2} (standard uncertainty {uncertainty:.2})")
}

/// One that stays at its default, since the points tell it no better than to `measured`.
pub fn isopotential_unknown(ph: f64, uncertainty: f64, measured: f64) -> String {
    let told = if measured.is_finite() {
        format!("the points tell it to {measured:.2} only")
    } else {
        "the points do not tell it".to_owned()
    };
    format!(
        "{}: not known, and left at its default, since {told}. {ISOPOTENTIAL_TAKES}",
        isopotential(ph, uncertainty)
    )
}

const ISOPOTENTIAL_TAKES: &str = "It takes several buffers, each in its own stand at two temperatures \
     at least 10 K apart, that agree.";

/// Chi-squared against what the stated uncertainties let expect.
pub fn scatter(chi_squared: f64, degrees_of_freedom: usize, widening: f64) -> String {
    match degrees_of_freedom {
        0 => "no bottle is left over that could show an error".to_owned(),
        degrees => {
            let widened = if widening > 1.0 {
                format!(
                    ": the points contradict their stated uncertainties, and the standard \
                     uncertainties are {:.1} times as large for it",
                    widening.sqrt()
                )
            } else {
                String::new()
            };
            format!("chi-squared {chi_squared:.2} where about {degrees} is expected{widened}")
        }
    }
}

/// A cell constant with its standard uncertainty.
pub fn cell_constant(per_cm: f64, uncertainty: f64) -> String {
    format!("{per_cm:.5} /cm (standard uncertainty {uncertainty:.5} /cm)")
}

/// A pH with what it was computed from.
pub fn evaluated(ph: f64, uncertainty: Option<f64>, mv: f64, c: f64) -> String {
    match uncertainty {
        Some(u) => format!(
            "{ph:.3} at {mv} mV and {c} °C (standard uncertainty from the calibration {u:.3})"
        ),
        None => format!("{ph:.3} at {mv} mV and {c} °C"),
    }
}

/// What is wrong with a header.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Header {
    /// A column that is not known.
    Unknown(String),
    /// A column that stands there twice.
    Twice(String),
    /// A needed column that is not there.
    Missing(&'static str),
}

/// Nothing in the file.
pub fn no_header(file: &str, needed: &[&str]) -> String {
    format!("{file} is empty. Begin it with the header line {}.", needed.join(","))
}

/// The first line does not name the columns.
pub fn wrong_header(file: &str, line: usize, wrong: &Header, needed: &[&str]) -> String {
    let wrong = match wrong {
        Header::Unknown(column) if column.is_empty() => "one column has no name".to_owned(),
        Header::Unknown(column) => format!("the column \"{}\" is not known", shown(column)),
        Header::Twice(column) => format!("the column \"{column}\" stands there twice"),
        Header::Missing(column) => format!("the column \"{column}\" is missing"),
    };
    format!(
        "{file}, line {line}: {wrong}. Make the header {} in any order, with commas between.",
        needed.join(",")
    )
}

/// A row with too many or too few cells.
pub fn wrong_width(file: &str, line: usize, got: usize, columns: usize) -> String {
    format!(
        "{file}, line {line}: {got} {} under a header of {columns}. Put one comma between two \
         columns and write decimals with a point.",
        if got == 1 { "cell" } else { "cells" }
    )
}

/// A cell that is no number.
pub fn not_a_number(file: &str, line: usize, column: &str, cell: &str) -> String {
    match cell {
        "" => format!("{file}, line {line}: {column} is empty. Write a number there."),
        _ => format!(
            "{file}, line {line}: {column} is \"{}\". Write a plain number there, as in -129.5.",
            shown(cell)
        ),
    }
}

/// Bytes that are no text.
pub fn not_text(file: &str, line: usize) -> String {
    format!("{file}, line {line}: this is not UTF-8 text. Save the table as CSV in UTF-8.")
}

/// The beginning of a text that may be of any length and may hold anything.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 40;
    let beginning: String =
        text.chars().take(MOST).map(|c| if c.is_control() { ' ' } else { c }).collect();
    if text.chars().count() > MOST { beginning + "…" } else { beginning }
}

/// A number as it was given, in a few characters even when it is far from anything meant.
fn number(value: f64) -> String {
    let far = value != 0.0 && !(1e-6..1e9).contains(&value.abs());
    if far { format!("{value:e}") } else { format!("{value}") }
}

/// Points that give no line; `line` tells the line in the file of a point.
pub fn no_fit(file: &str, error: &FitError, line: impl Fn(usize) -> Option<usize>) -> String {
    let place = |point: &usize| match line(*point) {
        Some(line) => format!("{file}, line {line}"),
        None => file.to_owned(),
    };
    match error {
        FitError::TooFewPoints { got, need } => format!(
            "{file} has {got} {} and this calibration needs at least {need}. Add a row for each \
             standard.",
            if *got == 1 { "point" } else { "points" }
        ),
        FitError::NotFinite { point, what } => {
            format!("{}: the {what} is not a number. Correct the row.", place(point))
        }
        FitError::OutOfRange { point, range } => format!(
            "{}: the {} is {}, but must be within {} to {}. Correct the row, or look whether the \
             unit is the one in the header.",
            place(point),
            range.what,
            number(range.got),
            range.min,
            range.max
        ),
        FitError::SamePh { lowest, highest } => format!(
            "{file} reaches only from pH {lowest} to pH {highest}, which gives no slope. Add a \
             buffer of another pH."
        ),
        FitError::Scattered => format!(
            "{file}: the points scatter as far as they extend, so no line comes to rest. Look for a \
             swapped row or a wrong unit."
        ),
        FitError::IsopotentialUnknown { .. } => {
            format!("{file}: the points do not tell the isopotential pH. {ISOPOTENTIAL_TAKES}")
        }
        FitError::Compensation(range) => format!("{file}: {range}. Choose another."),
    }
}

/// A potential that has no pH on the line.
pub fn no_ph(mv: f64, c: f64) -> String {
    let ((coldest, warmest), (lowest, highest)) = (TEMPERATURE_RANGE, PH_RANGE);
    let (mv, c) = (number(mv), number(c));
    format!(
        "{mv} mV at {c} °C has no pH on this line. Ask between {coldest} and {warmest} °C for a \
         potential of pH {lowest} to {highest}."
    )
}
