//! The table printed on a bottle: its own values against temperature.

use heapless::Vec;

use rillmark_proto::record::Quantity;
use rillmark_proto::reference::{OutOfRange, quantity};

/// The most rows of a table copied from a bottle.
pub const MAX_ROWS: usize = 12;
/// How far in °C a table of a single row reaches to either side. Common practice, no source.
pub const SINGLE_ROW_REACH_C: f64 = 1.0;
/// Values that a bottle can have: pH, or µS/cm.
const PH_VALUES: (f64, f64) = (0.0, 14.0);
const CONDUCTIVITY_VALUES_US_CM: (f64, f64) = (1.0, 1_000_000.0);
const TEMPERATURE_VALUES_C: (f64, f64) = (0.0, 100.0);

/// The standard uncertainty (k = 1) of a bottle's values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Stated {
    /// In the unit of the values, the same at every temperature.
    Absolute(f64),
    /// As a fraction of each value.
    Relative(f64),
}

impl Stated {
    const fn number(self) -> f64 {
        match self {
            Self::Absolute(number) | Self::Relative(number) => number,
        }
    }

    /// It at a value, in the value's unit.
    pub(super) fn of(self, value: f64) -> f64 {
        match self {
            Self::Absolute(number) => number,
            Self::Relative(fraction) => fraction * value,
        }
    }
}

/// The table printed on a bottle: (temperature in °C, value), with its standard uncertainty.
#[derive(Clone, Debug, PartialEq)]
pub struct Printed {
    quantity: Quantity,
    rows: Vec<(f64, f64), MAX_ROWS>,
    uncertainty: Stated,
}

/// Why a printed table cannot be used.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PrintedError {
    /// There is no row.
    Empty,
    /// There are more rows than a table holds.
    TooMany {
        /// The most rows.
        most: usize,
    },
    /// A number is not finite, a value is not one that a bottle can have, temperatures do not rise
    /// from row to row, or a temperature is outside 0 to 100 °C.
    Row {
        /// The row, counted from 1.
        row: usize,
    },
    /// The standard uncertainty is not a number above zero, or not below the values themselves.
    Uncertainty {
        /// The number given.
        got: f64,
    },
}

impl Printed {
    /// Checks a table copied from a bottle: (temperature in °C, value) with rising temperatures, and
    /// the standard uncertainty (k = 1) of the values; pH or µS/cm by `quantity`.
    ///
    /// # Errors
    /// [`PrintedError`] with the row that is wrong.
    pub fn try_new(
        quantity: Quantity,
        rows: &[(f64, f64)],
        uncertainty: Stated,
    ) -> Result<Self, PrintedError> {
        if rows.is_empty() {
            return Err(PrintedError::Empty);
        }
        let got = uncertainty.number();
        if !(got.is_finite() && got > 0.0) {
            return Err(PrintedError::Uncertainty { got });
        }
        let (min, max) = match quantity {
            Quantity::Ph => PH_VALUES,
            Quantity::Conductivity => CONDUCTIVITY_VALUES_US_CM,
            Quantity::Temperature => TEMPERATURE_VALUES_C,
        };
        let mut before = -f64::EPSILON;
        for (at, &(t, value)) in rows.iter().enumerate() {
            // NaN fails every comparison.
            if !(t > before && t <= 100.0 && value >= min && value <= max) {
                return Err(PrintedError::Row { row: at + 1 });
            }
            if uncertainty.of(value) >= value {
                return Err(PrintedError::Uncertainty { got });
            }
            before = t;
        }
        let rows = Vec::from_slice(rows).map_err(|_| PrintedError::TooMany { most: MAX_ROWS })?;
        Ok(Self { quantity, rows, uncertainty })
    }

    /// pH or conductivity.
    pub(super) const fn quantity(&self) -> Quantity {
        self.quantity
    }

    /// What it came with.
    pub(super) const fn stated(&self) -> Stated {
        self.uncertainty
    }

    /// Standard uncertainty of a value of the table, in its unit.
    pub(super) fn uncertainty(&self, value: f64) -> f64 {
        self.uncertainty.of(value)
    }

    /// Usable temperatures in °C.
    pub(super) fn range(&self) -> (f64, f64) {
        match self.rows.as_slice() {
            [] => (f64::INFINITY, f64::NEG_INFINITY),
            [(t, _)] => (t - SINGLE_ROW_REACH_C, t + SINGLE_ROW_REACH_C),
            [(first, _), .., (last, _)] => (*first, *last),
        }
    }

    /// The value at a temperature, by straight lines between the rows.
    pub(super) fn value(&self, temperature: f64) -> Result<f64, OutOfRange> {
        let (min, max) = self.range();
        if !(temperature >= min && temperature <= max) {
            return Err(OutOfRange { what: quantity::TEMPERATURE, got: temperature, min, max });
        }
        let above = self.rows.iter().position(|(t, _)| *t >= temperature);
        Ok(match above {
            // Beyond the only row or exactly on the first: the row itself.
            None => self.rows[self.rows.len() - 1].1,
            Some(0) => self.rows[0].1,
            Some(at) => {
                let ((t0, v0), (t1, v1)) = (self.rows[at - 1], self.rows[at]);
                v0 + (v1 - v0) * ((temperature - t0) / (t1 - t0))
            }
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn printed(rows: &[(f64, f64)]) -> Result<Printed, PrintedError> {
        Printed::try_new(Quantity::Ph, rows, Stated::Absolute(0.01))
    }

    #[test]
    fn a_printed_table_runs_straight_and_never_beyond_its_ends() {
        let table = printed(&[(20.0, 7.02), (25.0, 7.00), (30.0, 6.98)]).unwrap();
        for (t, expected) in [(20.0, 7.02), (22.5, 7.01), (25.0, 7.00), (27.5, 6.99), (30.0, 6.98)]
        {
            assert!(libm::fabs(table.value(t).unwrap() - expected) < 1e-12, "{t}");
        }
        for t in [19.999, 30.001, f64::NAN] {
            assert_eq!(table.value(t).unwrap_err().min, 20.0);
        }
    }

    #[test]
    fn a_single_value_holds_near_its_temperature() {
        let table = printed(&[(25.0, 7.00)]).unwrap();
        for t in [24.0, 25.0, 26.0] {
            assert_eq!(table.value(t), Ok(7.0));
        }
        assert!(table.value(23.9).is_err() && table.value(26.1).is_err());
    }

    #[test]
    fn a_table_that_no_bottle_has_is_refused_with_its_row() {
        let falling = [(25.0, 7.0), (20.0, 7.02)];
        assert_eq!(printed(&falling), Err(PrintedError::Row { row: 2 }));
        assert_eq!(printed(&[(25.0, 14.2)]), Err(PrintedError::Row { row: 1 }));
        assert_eq!(printed(&[(f64::NAN, 7.0)]), Err(PrintedError::Row { row: 1 }));
        assert_eq!(printed(&[(-1.0, 7.0)]), Err(PrintedError::Row { row: 1 }));
        assert_eq!(printed(&[]), Err(PrintedError::Empty));
        let long: std::vec::Vec<_> = (0..13).map(|t| (f64::from(t), 7.0)).collect();
        assert_eq!(printed(&long), Err(PrintedError::TooMany { most: 12 }));
        let no_uncertainty = |u| Printed::try_new(Quantity::Ph, &[(25.0, 7.0)], u);
        for got in [0.0, -0.01, f64::INFINITY] {
            let error = Err(PrintedError::Uncertainty { got });
            assert_eq!(no_uncertainty(Stated::Absolute(got)), error);
            assert_eq!(no_uncertainty(Stated::Relative(got)), error);
        }
        for all_of_it in [Stated::Absolute(7.0), Stated::Relative(1.0)] {
            assert!(no_uncertainty(all_of_it).is_err());
        }
    }

    #[test]
    fn an_uncertainty_is_absolute_or_a_fraction_of_each_value() {
        let rows = [(20.0, 1000.0), (25.0, 1100.0)];
        let table = |u| Printed::try_new(Quantity::Conductivity, &rows, u).unwrap();
        assert_eq!(table(Stated::Absolute(5.0)).uncertainty(1100.0), 5.0);
        assert_eq!(table(Stated::Relative(0.005)).uncertainty(1000.0), 5.0);
    }
}
