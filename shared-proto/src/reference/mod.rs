//! The literature: published values and relations, each with its valid range, source and tag.
//!
//! Nothing here extrapolates. A question outside a valid range is answered with [`OutOfRange`]; a
//! relation that has no answer inside its range says 'not defined' (`None`). A result is never
//! `NaN`.

pub mod compensation;
pub mod nernst;
pub mod rtd;
pub mod thermistor;
pub mod viscosity;

/// How a published number came to this project.
///
/// For a value that a relation yields, the tag is that of the numbers which went into it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Tag {
    /// Read in a copy of the source.
    Seen,
    /// Read as another public text or program gives it, not in the source itself.
    SeenAtOneRemove,
    /// Calculated by this project from numbers of the source.
    Computed,
    /// Recalled; not read in the source.
    Recalled,
    /// Trade lore without a source.
    CommonPractice,
}

/// The words in which a tag reaches a person: the only place where they are spelt.
#[macro_export]
#[doc(hidden)]
macro_rules! tag_words {
    (Seen) => {
        "seen"
    };
    (SeenAtOneRemove) => {
        "seen at one remove"
    };
    (Computed) => {
        "computed"
    };
    (Recalled) => {
        "recalled, not checked"
    };
    (CommonPractice) => {
        "common practice, no source"
    };
}
#[doc(hidden)]
pub use tag_words;

/// A source with its tag's words behind it in brackets, as texts for people and records carry it.
#[macro_export]
macro_rules! sourced {
    ($tag:ident, $source:literal) => {
        concat!($source, " (", $crate::tag_words!($tag), ")")
    };
}
pub use sourced;

impl Tag {
    /// Every tag, the surest first.
    pub const ALL: [Self; 5] =
        [Self::Seen, Self::SeenAtOneRemove, Self::Computed, Self::Recalled, Self::CommonPractice];

    /// The name that machine-readable output gives the tag.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Seen => "seen",
            Self::SeenAtOneRemove => "seen-at-one-remove",
            Self::Computed => "computed",
            Self::Recalled => "recalled-not-checked",
            Self::CommonPractice => "common-practice",
        }
    }

    /// The words in which it reaches a person.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Seen => tag_words!(Seen),
            Self::SeenAtOneRemove => tag_words!(SeenAtOneRemove),
            Self::Computed => tag_words!(Computed),
            Self::Recalled => tag_words!(Recalled),
            Self::CommonPractice => tag_words!(CommonPractice),
        }
    }
}

/// A number with the reason why it should be believed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sourced {
    /// The number, in the unit that the function states.
    pub value: f64,
    /// Its standard uncertainty (k = 1) in the same unit, where one can be given.
    pub standard_uncertainty: Option<f64>,
    /// Where the number comes from.
    pub source: &'static str,
    /// How the source's numbers came to this project.
    pub tag: Tag,
}

/// An input outside the range in which a relation is valid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OutOfRange {
    /// Which quantity, with its unit.
    pub what: &'static str,
    /// The number that was given.
    pub got: f64,
    /// Smallest valid number.
    pub min: f64,
    /// Largest valid number.
    pub max: f64,
}

impl core::fmt::Display for OutOfRange {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        let Self { what, got, min, max } = self;
        write!(f, "{what}: {got} is not within {min} to {max}")
    }
}

impl core::error::Error for OutOfRange {}

/// Names of quantities in [`OutOfRange::what`].
pub mod quantity {
    /// Temperature.
    pub const TEMPERATURE: &str = "temperature in °C";
    /// Conductivity.
    pub const CONDUCTIVITY: &str = "conductivity in µS/cm";
    /// Gauge pressure.
    pub const PRESSURE: &str = "pressure in dbar";
    /// Practical salinity, which has the unit one.
    pub const SALINITY: &str = "practical salinity";
    /// Resistance of a thermometer.
    pub const RESISTANCE: &str = "resistance in Ω";
    /// Resistance of a thermometer at 0 °C.
    pub const RESISTANCE_AT_0_C: &str = "resistance at 0 °C in Ω";
    /// Resistance of a thermistor.
    pub const RESISTANCE_AT_25_C: &str = "resistance at 25 °C in Ω";
    /// Of a thermistor.
    pub const BETA: &str = "beta in K";
    /// Of a thermistor, a, b or c.
    pub const STEINHART_HART: &str = "Steinhart-Hart coefficient in 1/K";
    /// Temperature coefficient of conductivity.
    pub const COEFFICIENT: &str = "coefficient in 1/K";
    /// Exponent of the viscosity-type natural-water compensation, which has the unit one.
    pub const EXPONENT: &str = "exponent";
    /// The divisor 1 + a·(t − 25 °C) of a linear compensation.
    pub const DIVISOR: &str = "1 + coefficient · (temperature − 25 °C)";
}

/// Lets `got` through when it is a number from `min` to `max`, both included.
pub fn within(what: &'static str, got: f64, (min, max): (f64, f64)) -> Result<f64, OutOfRange> {
    // A NaN fails both comparisons, so it is refused here too.
    if got >= min && got <= max { Ok(got) } else { Err(OutOfRange { what, got, min, max }) }
}
