//! The pH electrode as a straight line in temperature-normalised form.
//!
//! E = E₀ − s · k(T) · (pH − 7), with k(T) the Nernst factor at the point's own temperature, s the
//! slope as a fraction of Nernst and E₀ the offset in mV at pH 7.

use serde::{Deserialize, Serialize};

/// Variances and covariance of the two coefficients of a pH line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhCovariance {
    /// Variance of the slope fraction.
    pub slope: f64,
    /// Variance of the offset in mV².
    pub offset_mv2: f64,
    /// Covariance of slope fraction and offset in mV.
    pub slope_offset_mv: f64,
}

/// The coefficients of a pH calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhCalibration {
    /// Slope as a fraction of the Nernst factor (1 = 100 %).
    pub slope_fraction: f64,
    /// Electrode potential in mV at pH 7.
    pub offset_mv: f64,
    /// How well both are known.
    pub covariance: PhCovariance,
}
