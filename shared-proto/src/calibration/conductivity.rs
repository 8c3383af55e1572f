//! The conductivity cell: conductivity = cell constant · conductance.

use serde::{Deserialize, Serialize};

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
