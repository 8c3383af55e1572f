//! What `rillmark reference` says to a person.

use rillmark_metrology::reference::ionic_strength::Class;
use rillmark_proto::record::Basis;
use rillmark_proto::reference::{OutOfRange, Tag, quantity};

/// Examples under `--help`.
pub const EXAMPLE: &str = "Example:\n  rillmark reference ph-buffer phthalate-1977 --at 18.5";
/// For `ph-buffer`.
pub const EXAMPLE_PH_BUFFER: &str =
    "Example:\n  rillmark reference ph-buffer technical-7.00 --at 21";
/// For `conductivity-standard`.
pub const EXAMPLE_CONDUCTIVITY_STANDARD: &str =
    "Example:\n  rillmark reference conductivity-standard 1413 --at 21.3";
/// For `salinity`.
pub const EXAMPLE_SALINITY: &str =
    "Example:\n  rillmark reference salinity --conductivity 38 --temperature 10 --pressure 100";
/// For `compensation`.
pub const EXAMPLE_COMPENSATION: &str = "Example:\n  rillmark reference compensation --conductivity 420 --temperature 12 --method linear \
     --percent-per-kelvin 1.91\n  rillmark reference compensation --conductivity 420 --temperature 12 \
     --method natural-water";
/// For `water`.
pub const EXAMPLE_WATER: &str = "Example:\n  rillmark reference water --conductivity 42";
/// For `nernst`.
pub const EXAMPLE_NERNST: &str = "Example:\n  rillmark reference nernst --at 25";
/// For `rtd`.
pub const EXAMPLE_RTD: &str = "Example:\n  rillmark reference rtd --ohms 1077.9 --r0 1000";
/// For `list`.
pub const EXAMPLE_LIST: &str = "Example:\n  rillmark reference list --json";

/// Labels of the table of one answer.
pub const VALUE: &str = "value";
/// The value, for a water.
pub const IONIC_STRENGTH: &str = "ionic strength";
/// The standard uncertainty.
pub const STANDARD_UNCERTAINTY: &str = "standard uncertainty";
/// Where the uncertainty comes from.
pub const UNCERTAINTY_FROM: &str = "uncertainty from";
/// The basis of a standard's amount.
pub const BASIS: &str = "basis";
/// What the conductivity was multiplied with.
pub const FACTOR: &str = "factor to 25 °C";
/// Which kind of water it is.
pub const CLASS: &str = "class";
/// What the residual liquid-junction potential makes uncertain, k = 1.
pub const JUNCTION: &str = "u(pH) of the junction";
/// What is to be said about a water.
pub const TO_KNOW: &str = "to know";
/// What is dissolved.
pub const SOLUTION: &str = "solution";
/// Where the number comes from.
pub const SOURCE: &str = "source";
/// How it was found.
pub const TAG: &str = "tag";
/// In place of a missing uncertainty.
pub const NOT_STATED: &str = "not stated";
/// In place of an undefined value.
pub const NOT_DEFINED: &str = "not defined";

/// Headings of the list.
pub const BUFFERS: &str = "pH buffers (value at 25 °C, u is k = 1)";
/// Heading of the standards.
pub const CONDUCTIVITY_STANDARDS: &str = "Conductivity standards (value at 25 °C, u is k = 1)";
/// Heading of the relations.
pub const RELATIONS: &str = "Relations";

/// A default standard uncertainty (k = 1) in pH.
pub fn u_ph(u: f64) -> String {
    format!("u {u} pH")
}

/// A default standard uncertainty (k = 1) in percent of the value.
pub fn u_percent(u: f64) -> String {
    format!("u {} %", plain(u))
}

/// What a standard's amount is counted against, and the numbers on its label.
pub fn counted(basis: &str, labels: &[&str]) -> String {
    match labels {
        [] => format!("by {basis}"),
        labels => format!("by {basis}; bottle {}", labels.join(", ")),
    }
}

/// Why a salinity is not defined.
pub const SALINITY_NOT_DEFINED: &str =
    "the water or the cell conducts too little for the practical salinity scale";

/// Label of a relation's coefficient when the user gave it.
pub const LINEAR_WITH_OWN_COEFFICIENT: &str =
    "linear, k25 = k / (1 + a (t - 25 °C)), with the coefficient that was given";

/// The same for an exponent.
pub const NATURAL_WITH_OWN_EXPONENT: &str = "viscosity-type natural-water compensation, k25 = k (eta(t) / eta(25 °C))^exponent, with the \
     exponent that was given";

/// An exponent for a straight line.
pub const EXPONENT_OF_ANOTHER_METHOD: &str =
    "--exponent goes with --method natural-water; a straight line takes --percent-per-kelvin";
/// A coefficient for a curve.
pub const COEFFICIENT_OF_ANOTHER_METHOD: &str =
    "--percent-per-kelvin goes with --method linear; natural water takes --exponent";

/// What a class of water means.
pub const fn class(class: Class) -> &'static str {
    match class {
        Class::Dilute => "dilute (rain, snow, soft streams, deionised water)",
        Class::Ordinary => "ordinary (most rivers, lakes, groundwaters and taps)",
        Class::Salty => "salty (brackish water and the sea)",
    }
}

/// What a tag means.
pub fn tag(tag: Tag) -> String {
    let meaning = match tag {
        Tag::Seen => ": read in a copy of the source",
        Tag::SeenAtOneRemove => ": read as another public text or program gives it",
        Tag::Computed => " by this project from the source's numbers",
        Tag::Recalled => ": not read in the source",
        Tag::CommonPractice => "",
    };
    format!("{}{meaning}", tag.words())
}

/// What a basis means.
pub const fn basis(basis: Basis) -> &'static str {
    match basis {
        Basis::Molality => "mol per kg of water",
        Basis::Molarity => "mol per litre of solution at 25 °C",
        Basis::MassFraction => "grams per kg of solution (mass fraction)",
        Basis::Label => "value on the label at 25 °C",
    }
}

/// A quantity in the unit in which it was typed.
pub const CONDUCTIVITY_MS_PER_CM: &str = "conductivity in mS/cm";

/// A number outside its range.
pub fn out_of_range(subject: &str, error: &OutOfRange) -> String {
    let OutOfRange { what, got, min, max } = *error;
    // A coefficient is typed in percent, so it is answered in percent.
    let (what, scale) = match what {
        quantity::COEFFICIENT => ("coefficient in % per kelvin", 100.0),
        what => (what, 1.0),
    };
    let [shown, min, max] = [got, min, max].map(|number| plain(number * scale));
    // A number just outside must not look like the limit that it misses.
    let got = if shown == min || shown == max { (got * scale).to_string() } else { shown };
    match what {
        quantity::SALINITY => {
            format!("{subject} is valid from {min} to {max}, but these inputs lead to {got}")
        }
        _ => format!("{subject} is valid for {what} from {min} to {max}, but {got} was given"),
    }
}

/// A conductivity below zero.
pub fn negative_conductivity(got: f64) -> String {
    format!("a conductivity in µS/cm is a number from 0 up, but {} was given", plain(got))
}

/// A name that no buffer has.
pub fn unknown_buffer(name: &str, known: &[&str]) -> String {
    format!("there is no pH buffer named `{name}`; known are {}", known.join(", "))
}

/// A name that no standard has.
pub fn unknown_standard(name: &str, known: &[&str]) -> String {
    format!("there is no conductivity standard named `{name}`; known are {}", known.join(", "))
}

/// A number with at most four decimals and no empty ones.
fn plain(number: f64) -> String {
    let text = format!("{number:.4}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}
