//! pH buffers: the value of each at a temperature.
//!
//! *Primary* buffers follow their published equation or table; the edition is part of the name where two
//! exist. *Technical* buffers are bottles known by the value on their label: their values here are
//! nominal, and the table printed on the bottle is better where it differs.

mod primary;
mod technical;

use super::interpolation::{self, Row};
use rillmark_proto::reference::{OutOfRange, Sourced, Tag, quantity, within};
use rillmark_proto::units::Celsius;

/// Every buffer that this project knows.
pub const ALL: &[Buffer] = &[
    primary::TETROXALATE,
    primary::TARTRATE,
    primary::CITRATE,
    primary::PHTHALATE_1962,
    primary::PHTHALATE_1977,
    primary::PHTHALATE_2002,
    primary::PHOSPHATE_1_1,
    primary::PHOSPHATE_1_3_5,
    primary::BORAX,
    primary::CARBONATE,
    primary::CALCIUM_HYDROXIDE,
    technical::T4_01,
    technical::T7_00,
    technical::T10_01,
];

/// What kind of buffer it is, and with that what its composition means.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Kind {
    /// A primary composition by molality, with a published equation or table.
    Primary,
    /// A bottle known by its label; its values here are nominal.
    Technical,
}

impl Kind {
    /// The name that machine-readable output gives the kind.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Primary => "primary",
            Self::Technical => "technical",
        }
    }
}

/// What a buffer's composition is counted against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Basis {
    /// Moles per kilogram of water.
    Molality,
    /// Saturated at 25 °C.
    Saturation,
    /// A bottle known by the pH at 25 °C on its label.
    Label,
}

impl Basis {
    /// The name that machine-readable output gives the basis.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Molality => "mol/kg",
            Self::Saturation => "saturated-25-degC",
            Self::Label => "label",
        }
    }
}

/// The coefficients of pH(S) = A/T + B + C·T + D·T², T in kelvin.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Equation {
    a: f64,
    b: f64,
    c: f64,
    d: f64,
}

impl Equation {
    fn ph(&self, kelvin: f64) -> f64 {
        self.a / kelvin + self.b + kelvin * (self.c + kelvin * self.d)
    }

    fn per_kelvin(&self, kelvin: f64) -> f64 {
        self.c + 2.0 * self.d * kelvin - self.a / (kelvin * kelvin)
    }
}

/// How a buffer's value follows from the temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Law {
    Equation(Equation),
    /// Straight lines between rows.
    Table(&'static [Row]),
}

/// A pH buffer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Buffer {
    name: &'static str,
    aliases: &'static [&'static str],
    solution: &'static str,
    kind: Kind,
    basis: Basis,
    law: Law,
    range: (f64, f64),
    source: &'static str,
    tag: Tag,
    uncertainty: Uncertainty,
}

/// A default standard uncertainty, to be used until a certificate gives a better one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Uncertainty {
    /// Standard uncertainty (k = 1), in the unit of the value; for conductivity standards relative.
    pub standard: f64,
    /// Where it comes from.
    pub source: &'static str,
    /// How it came to this project.
    pub tag: Tag,
}

/// Finds a buffer by its name, or a technical one by its label ("7.00").
pub fn by_name(name: &str) -> Option<&'static Buffer> {
    ALL.iter().find(|buffer| buffer.name == name || buffer.aliases.contains(&name))
}

impl Buffer {
    /// The name: composition and, where it matters, edition.
    pub const fn name(&self) -> &'static str {
        self.name
    }

    /// Other names that [`by_name`] knows.
    pub const fn aliases(&self) -> &'static [&'static str] {
        self.aliases
    }

    /// What is dissolved: formula and molality in mol/kg of water.
    pub const fn solution(&self) -> &'static str {
        self.solution
    }

    /// Primary or technical.
    pub const fn kind(&self) -> Kind {
        self.kind
    }

    /// What the composition is counted against.
    pub const fn basis(&self) -> Basis {
        self.basis
    }

    /// Valid temperatures in °C, lowest and highest.
    pub const fn range(&self) -> (f64, f64) {
        self.range
    }

    /// Where the values come from.
    pub const fn source(&self) -> &'static str {
        self.source
    }

    /// How the source's numbers came to this project.
    pub const fn tag(&self) -> Tag {
        self.tag
    }

    /// The default standard uncertainty of the value, in pH.
    pub const fn uncertainty(&self) -> Uncertainty {
        self.uncertainty
    }

    /// The buffer's pH at a temperature, with the default standard uncertainty.
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`Buffer::range`].
    pub fn ph(&self, temperature: Celsius) -> Result<Sourced, OutOfRange> {
        let t = within(quantity::TEMPERATURE, temperature.get(), self.range)?;
        let value = match &self.law {
            Law::Equation(equation) => equation.ph(temperature.kelvin()),
            Law::Table(rows) => interpolation::linear(rows, t),
        };
        Ok(Sourced {
            value,
            standard_uncertainty: Some(self.uncertainty.standard),
            source: self.source,
            tag: self.tag,
        })
    }

    /// How the buffer's pH changes with temperature, in 1/K: the derivative of the equation; for a
    /// table the slope over the 2 K around the temperature (over less at the table's ends).
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`Buffer::range`].
    pub fn ph_per_kelvin(&self, temperature: Celsius) -> Result<f64, OutOfRange> {
        let t = within(quantity::TEMPERATURE, temperature.get(), self.range)?;
        Ok(match &self.law {
            Law::Equation(equation) => equation.per_kelvin(temperature.kelvin()),
            Law::Table(rows) => {
                let (below, above) =
                    (libm::fmax(t - 1.0, self.range.0), libm::fmin(t + 1.0, self.range.1));
                let change =
                    interpolation::linear(rows, above) - interpolation::linear(rows, below);
                change / (above - below)
            }
        })
    }
}

#[cfg(test)]
mod tests;
