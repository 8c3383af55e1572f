//! The conductivity cell: conductivity = cell constant · conductance.

mod fit;

pub use fit::{
    ConductivityFit, ConductivityPoint, DEFAULT_CONDUCTANCE_UNCERTAINTY,
    DEFAULT_STANDARD_UNCERTAINTY, fit,
};

use serde::{Deserialize, Serialize};

use super::within;
use crate::reference::compensation;
use crate::units::{Celsius, Microsiemens, MicrosiemensPerCm};

/// Conductivities in µS/cm that a cell is trusted to give: up to the strongest salt solutions, and
/// a little below zero for noise in air. Common practice, no source.
pub const CONDUCTIVITY_RANGE: (f64, f64) = (-10.0, 1_000_000.0);

/// How a conductivity is referred to 25 °C.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Compensation {
    /// κ₂₅ = κ / (1 + a·(t − 25 °C)), with a per kelvin.
    Linear {
        /// Relative change per kelvin (0.0191 = 1.91 %/K).
        per_kelvin: f64,
    },
}

/// The coefficients of a conductivity calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct ConductivityCalibration {
    /// Cell constant in 1/cm.
    pub cell_constant_per_cm: f64,
    /// Variance of the cell constant in 1/cm².
    pub variance_per_cm2: f64,
    /// How readings of this cell are referred to 25 °C.
    pub compensation: Compensation,
}

impl ConductivityCalibration {
    /// Conductivity at the water's own temperature; `None` outside [`CONDUCTIVITY_RANGE`].
    pub fn conductivity(&self, conductance: Microsiemens) -> Option<MicrosiemensPerCm> {
        let conductivity = self.cell_constant_per_cm * conductance.get();
        within(conductivity, CONDUCTIVITY_RANGE).then_some(MicrosiemensPerCm::new(conductivity))
    }

    /// Conductance of the cell in a solution, the inverse of [`Self::conductivity`].
    ///
    /// `None` outside [`CONDUCTIVITY_RANGE`] and for a cell constant of zero.
    pub fn conductance(&self, conductivity: MicrosiemensPerCm) -> Option<Microsiemens> {
        let conductance = conductivity.get() / self.cell_constant_per_cm;
        (within(conductivity.get(), CONDUCTIVITY_RANGE) && conductance.is_finite())
            .then_some(Microsiemens::new(conductance))
    }

    /// Conductivity referred to 25 °C.
    ///
    /// `None` where [`Self::conductivity`] is, or where the compensation does not hold
    /// (temperature, coefficient: see [`compensation::to_25_linear`]).
    pub fn specific(
        &self,
        conductance: Microsiemens,
        temperature: Celsius,
    ) -> Option<MicrosiemensPerCm> {
        self.at_25(self.conductivity(conductance)?, temperature)
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
        }
    }

    /// What this cell constant makes of a point, minus the standard's value, in percent of it;
    /// `None` when the standard's value is zero.
    pub fn residual_percent(&self, point: &ConductivityPoint) -> Option<f64> {
        let found = self.cell_constant_per_cm * point.conductance.get();
        let standard = point.standard.get();
        let residual = 100.0 * (found - standard) / standard;
        residual.is_finite().then_some(residual)
    }
}

#[cfg(test)]
mod tests;
