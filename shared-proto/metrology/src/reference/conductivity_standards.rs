//! Potassium chloride conductivity standards: the conductivity of each at a temperature.
//!
//! Two solutions of '0.01' differ by 0.3 %: 0.01 mol per kilogram of water (1408 µS/cm at 25 °C)
//! and 0.01 mol per litre (1413 µS/cm). So the basis is part of a standard's type and name.

mod values;

use super::buffers::Uncertainty;
use super::interpolation::{self, Row};
use rillmark_proto::record::Basis;
use rillmark_proto::reference::{OutOfRange, Sourced, Tag, quantity, within};
use rillmark_proto::units::{Celsius, MicrosiemensPerCm};

/// Every conductivity standard that this project knows.
pub const ALL: &[Standard] = &[
    values::MOLAL_0_01,
    values::MOLAL_0_1,
    values::MOLAL_1,
    values::LABEL_84,
    values::MOLAR_0_001,
    values::MOLAR_0_01,
    values::MOLAR_0_1,
    values::LABEL_12880,
    values::DEMAL_0_01,
    values::DEMAL_0_1,
];

/// How a standard's conductivity follows from the temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Law {
    /// The published table, by the cubic through the four nearest rows.
    Table(&'static [Row]),
    /// A value at 25 °C in µS/cm, times the temperature shape of another solution's table.
    Shape { at_25: f64, of: &'static [Row] },
}

/// A conductivity standard.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standard {
    name: &'static str,
    aliases: &'static [&'static str],
    basis: Basis,
    amount: f64,
    law: Law,
    range: (f64, f64),
    source: &'static str,
    tag: Tag,
    uncertainty: Uncertainty,
}

/// Finds a standard by its name, or by the usual number on its label ("1413", "1408").
pub fn by_name(name: &str) -> Option<&'static Standard> {
    ALL.iter().find(|standard| standard.name == name || standard.aliases.contains(&name))
}

impl Standard {
    /// The name: salt, amount and basis.
    pub const fn name(&self) -> &'static str {
        self.name
    }

    /// Other names that [`by_name`] knows.
    pub const fn aliases(&self) -> &'static [&'static str] {
        self.aliases
    }

    /// What the amount is counted against.
    pub const fn basis(&self) -> Basis {
        self.basis
    }

    /// The amount in the unit of the basis; for [`Basis::Label`] the label's µS/cm at 25 °C.
    pub const fn amount(&self) -> f64 {
        self.amount
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

    /// The default *relative* standard uncertainty of the value.
    pub const fn relative_uncertainty(&self) -> Uncertainty {
        self.uncertainty
    }

    /// The standard's conductivity at a temperature in µS/cm, with the default standard uncertainty.
    ///
    /// Between rows of a table the interpolation adds less than 0.002 %, far below the uncertainty
    /// of the rows (0.03 % and more).
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`Standard::range`].
    pub fn conductivity(&self, temperature: Celsius) -> Result<Sourced, OutOfRange> {
        let t = within(quantity::TEMPERATURE, temperature.get(), self.range)?;
        let value = match self.law {
            Law::Table(rows) => interpolation::cubic(rows, t),
            Law::Shape { at_25, of } => {
                at_25 * (interpolation::cubic(of, t) / interpolation::cubic(of, 25.0))
            }
        };
        Ok(Sourced {
            value,
            standard_uncertainty: Some(value * self.uncertainty.standard),
            source: self.source,
            tag: self.tag,
        })
    }

    /// The same as a quantity, without its provenance.
    ///
    /// # Errors
    /// [`OutOfRange`] outside [`Standard::range`].
    pub fn value(&self, temperature: Celsius) -> Result<MicrosiemensPerCm, OutOfRange> {
        self.conductivity(temperature).map(|sourced| MicrosiemensPerCm::new(sourced.value))
    }
}

#[cfg(test)]
mod tests;
