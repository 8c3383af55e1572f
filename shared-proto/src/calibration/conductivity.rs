//! The conductivity cell: from the conductance between its electrodes to the water's conductivity.
//!
//! κ = K · f · (1/(1/G − R) − G₀): the leads' series resistance R is taken off the measured
//! conductance G, then the conductance G₀ that remains with the cell in air; K is the cell constant
//! and f the factor of the range that measured it (1 unless the ranges disagree).

use serde::{Deserialize, Serialize};

use super::within;
use crate::circuit::parts::{self, Part};
use crate::reference::compensation;
use crate::units::{Celsius, Microsiemens, MicrosiemensPerCm};

/// Conductivities in µS/cm that a cell is trusted to give: up to the strongest salt solutions, and
/// a little below zero for noise in air. Common practice, no source.
pub const CONDUCTIVITY_RANGE: (f64, f64) = (-10.0, 1_000_000.0);

/// One S in µS, or one MΩ in Ω: 1/µS is MΩ.
pub const OHM_PER_PER_MICROSIEMENS: f64 = 1e6;

/// The range resistor a conductance was measured against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub enum Range {
    /// 1 kΩ: cells of 20 Ω to 2 kΩ.
    Ohm1k,
    /// 10 kΩ: cells of 2 kΩ to 20 kΩ.
    Ohm10k,
    /// 100 kΩ: cells of 20 kΩ to 200 kΩ.
    Ohm100k,
}

impl Range {
    /// How many there are.
    pub const COUNT: usize = 3;
    /// All of them, in order.
    pub const ALL: [Self; Self::COUNT] = [Self::Ohm1k, Self::Ohm10k, Self::Ohm100k];

    /// The range that measures a conductance in µS when nothing was measured before.
    pub const fn for_conductance(conductance: Microsiemens) -> Self {
        match conductance.get() {
            us if us >= 500.0 => Self::Ohm1k,
            us if us >= 50.0 => Self::Ohm10k,
            _ => Self::Ohm100k,
        }
    }

    /// The resistor of this range.
    pub const fn resistor(self) -> &'static Part {
        match self {
            Self::Ohm1k => &parts::RANGE_1K,
            Self::Ohm10k => &parts::RANGE_10K,
            Self::Ohm100k => &parts::RANGE_100K,
        }
    }
}

/// How a conductivity is referred to 25 °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Compensation {
    /// κ₂₅ = κ / (1 + a·(t − 25 °C)), with a per kelvin.
    Linear {
        /// Relative change per kelvin (0.0191 = 1.91 %/K).
        per_kelvin: f64,
    },
    /// κ₂₅ = κ · (η(t)/η(25 °C))^exponent, with the viscosity η of water: the viscosity-type
    /// natural-water compensation.
    NaturalWater {
        /// 0.929 unless the user has measured another.
        exponent: f64,
    },
}

/// A small quantity with its standard uncertainty, both in the same unit.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Estimate {
    /// The value.
    pub value: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

/// The coefficients of a conductivity calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConductivityCalibration {
    /// Cell constant in 1/cm.
    pub cell_constant_per_cm: f64,
    /// Variance of the cell constant in 1/cm², of errors that are each point's own.
    pub variance_per_cm2: f64,
    /// Resistance in series with the cell in Ω.
    pub series_ohm: Estimate,
    /// Covariance of cell constant and series resistance in Ω/cm.
    pub cell_series_ohm_per_cm: f64,
    /// Conductance that remains with the cell in air, in µS.
    pub zero_us: Estimate,
    /// Relative change of the cell constant for each kelvin that the thermometer reads too high.
    pub relative_per_kelvin: f64,
    /// Standard uncertainty in K of the thermometer at 25 °C when the cell was calibrated.
    pub thermometer_k: f64,
    /// Relative change of the cell constant for each µS that the zero is taken too high.
    pub relative_per_zero_us: f64,
    /// Factor of each [`Range`], in their order; `None` where no point was measured on it, which
    /// counts as 1.
    pub range_factor: [Option<f64>; Range::COUNT],
    /// How readings of this cell are referred to 25 °C.
    pub compensation: Compensation,
}

impl ConductivityCalibration {
    /// A cell constant taken as exact, with nothing in series and no zero.
    pub const fn exact(cell_constant_per_cm: f64, compensation: Compensation) -> Self {
        const NONE: Estimate = Estimate { value: 0.0, standard_uncertainty: 0.0 };
        Self {
            cell_constant_per_cm,
            variance_per_cm2: 0.0,
            series_ohm: NONE,
            cell_series_ohm_per_cm: 0.0,
            zero_us: NONE,
            relative_per_kelvin: 0.0,
            thermometer_k: 0.0,
            relative_per_zero_us: 0.0,
            range_factor: [None; Range::COUNT],
            compensation,
        }
    }

    /// Standard uncertainty of the cell constant in 1/cm, what the points share included: the errors
    /// of thermometer and zero.
    pub fn standard_uncertainty(&self) -> f64 {
        let thermometer = self.relative_per_kelvin * self.thermometer_k;
        let zero = self.relative_per_zero_us * self.zero_us.standard_uncertainty;
        let shared = self.cell_constant_per_cm * libm::hypot(thermometer, zero);
        libm::sqrt(self.variance_per_cm2 + shared * shared)
    }

    /// The factor of a range.
    fn factor(&self, range: Range) -> f64 {
        self.range_factor[range as usize].unwrap_or(1.0)
    }

    /// Conductivity at the water's own temperature; `None` outside [`CONDUCTIVITY_RANGE`].
    pub fn conductivity(
        &self,
        conductance: Microsiemens,
        range: Range,
    ) -> Option<MicrosiemensPerCm> {
        let (series, zero) = (self.series_ohm.value, self.zero_us.value);
        let conductance = without_series(conductance.get(), series) - zero;
        let conductivity = self.cell_constant_per_cm * self.factor(range) * conductance;
        within(conductivity, CONDUCTIVITY_RANGE).then_some(MicrosiemensPerCm::new(conductivity))
    }

    /// Conductance that is measured in a solution, the inverse of [`Self::conductivity`].
    ///
    /// `None` outside [`CONDUCTIVITY_RANGE`] and for a cell constant of zero.
    pub fn conductance(
        &self,
        conductivity: MicrosiemensPerCm,
        range: Range,
    ) -> Option<Microsiemens> {
        let of_water = conductivity.get() / (self.cell_constant_per_cm * self.factor(range));
        let conductance = with_series(of_water + self.zero_us.value, self.series_ohm.value);
        (within(conductivity.get(), CONDUCTIVITY_RANGE) && conductance.is_finite())
            .then_some(Microsiemens::new(conductance))
    }

    /// Conductivity referred to 25 °C.
    ///
    /// `None` where [`Self::conductivity`] is, or where the compensation does not hold
    /// (temperature, coefficient: see [`compensation`]).
    pub fn specific(
        &self,
        conductance: Microsiemens,
        range: Range,
        temperature: Celsius,
    ) -> Option<MicrosiemensPerCm> {
        self.at_25(self.conductivity(conductance, range)?, temperature)
    }

    /// A conductivity found by [`Self::conductivity`], referred to 25 °C; `None` as
    /// [`Self::specific`].
    pub fn at_25(
        &self,
        conductivity: MicrosiemensPerCm,
        temperature: Celsius,
    ) -> Option<MicrosiemensPerCm> {
        match self.compensation {
            Compensation::Linear { per_kelvin } => {
                compensation::to_25_linear(conductivity, temperature, per_kelvin).ok()
            }
            Compensation::NaturalWater { exponent } => {
                compensation::to_25_natural_water(conductivity, temperature, exponent).ok()
            }
        }
    }
}

/// The conductance in µS behind a series resistance in Ω.
pub fn without_series(conductance_us: f64, series_ohm: f64) -> f64 {
    conductance_us / (1.0 - conductance_us * series_ohm / OHM_PER_PER_MICROSIEMENS)
}

/// The conductance in µS that is measured through a series resistance in Ω.
fn with_series(conductance_us: f64, series_ohm: f64) -> f64 {
    conductance_us / (1.0 + conductance_us * series_ohm / OHM_PER_PER_MICROSIEMENS)
}
