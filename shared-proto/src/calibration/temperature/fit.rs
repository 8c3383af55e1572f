//! From points beside a reference thermometer to a thermometer's correction.

use super::{TemperatureCalibration, Thermometer};
use crate::calibration::error::check;
use crate::calibration::{FitError, TEMPERATURE_RANGE};
use crate::reference::{Sourced, Tag, quantity};
use crate::units::{Celsius, Ohms};

/// How far the gain of a thermometer is from 1 before it was measured: the half width that class B
/// of IEC 60751 allows, 0.005, as a standard uncertainty of a rectangular distribution.
pub const GAIN_PRIOR: Sourced = Sourced {
    value: 0.0,
    standard_uncertainty: Some(0.002_9),
    source: "class B of IEC 60751, 0.3 K + 0.005 |t|: 0.005 / sqrt(3)",
    tag: Tag::Memory,
};

/// Standard uncertainty in K of a reference thermometer that does not state its own.
pub const DEFAULT_REFERENCE_UNCERTAINTY_K: Sourced = Sourced {
    value: 0.1,
    standard_uncertainty: None,
    source: "a liquid-in-glass or electronic reference within 0.2 K: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Standard uncertainties of a reference thermometer in K that can be meant.
const UNCERTAINTY_RANGE: (f64, f64) = (1e-4, 5.0);

/// One point: thermometer and reference side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TemperaturePoint {
    /// What the reference says.
    pub reference: Celsius,
    /// Its standard uncertainty in K, with that of both being equally warm.
    pub reference_uncertainty_k: f64,
    /// Mean settled resistance of the thermometer.
    pub resistance: Ohms,
}

/// A thermometer's correction with what the points say about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TemperatureFit {
    /// The coefficients.
    pub calibration: TemperatureCalibration,
    /// Sum of the squared residuals in units of the uncertainties stated beforehand.
    pub chi_squared: f64,
    /// Points beyond one: the gain is known beforehand within [`GAIN_PRIOR`].
    pub degrees_of_freedom: usize,
}

/// Finds offset and gain by least squares, with the gain held near 0 by [`GAIN_PRIOR`]: one point
/// gives an offset, two that lie far enough apart a gain as well.
///
/// # Errors
/// [`FitError`]: no point, numbers that are not finite or cannot be meant (reference −5 to 100 °C,
/// uncertainty 0.0001 to 5 K), or a resistance that this kind of thermometer does not have.
pub fn fit(
    points: &[TemperaturePoint],
    thermometer: Thermometer,
) -> Result<TemperatureFit, FitError> {
    if points.is_empty() {
        return Err(FitError::TooFewPoints { got: 0, need: 1 });
    }
    let (mut total, mut sum_t, mut sum_off) = (0.0, 0.0, 0.0);
    for (point, n) in points.iter().zip(1..) {
        let (weight, nominal, off) = parts(point, n, thermometer)?;
        total += weight;
        sum_t += weight * nominal;
        sum_off += weight * off;
    }
    let (at_c, offset_k) = (sum_t / total, sum_off / total);
    let prior = GAIN_PRIOR.standard_uncertainty.unwrap_or(0.0);
    let (mut spread, mut together) = (1.0 / (prior * prior), 0.0);
    for (point, n) in points.iter().zip(1..) {
        let (weight, nominal, off) = parts(point, n, thermometer)?;
        spread += weight * (nominal - at_c) * (nominal - at_c);
        together += weight * (nominal - at_c) * (off - offset_k);
    }
    let gain = together / spread;
    let mut chi_squared = gain * gain / (prior * prior);
    for (point, n) in points.iter().zip(1..) {
        let (weight, nominal, off) = parts(point, n, thermometer)?;
        let residual = off - offset_k - gain * (nominal - at_c);
        chi_squared += weight * residual * residual;
    }
    let calibration = TemperatureCalibration {
        thermometer,
        offset_k,
        gain,
        at_c,
        variance_k2: 1.0 / total,
        gain_variance: 1.0 / spread,
        offset_gain_k: 0.0,
    };
    Ok(TemperatureFit { calibration, chi_squared, degrees_of_freedom: points.len() - 1 })
}

/// Weight, temperature by the kind alone, and what is missing to the reference.
fn parts(
    point: &TemperaturePoint,
    n: usize,
    thermometer: Thermometer,
) -> Result<(f64, f64, f64), FitError> {
    let reference = check(n, quantity::TEMPERATURE, point.reference.get(), TEMPERATURE_RANGE)?;
    let what = "standard uncertainty of the reference in K";
    let uncertainty = check(n, what, point.reference_uncertainty_k, UNCERTAINTY_RANGE)?;
    let nominal = thermometer.temperature(point.resistance).map_or(f64::NAN, Celsius::get);
    let nominal = check(n, quantity::RESISTANCE, nominal, (f64::MIN, f64::MAX))?;
    Ok((1.0 / (uncertainty * uncertainty), nominal, reference - nominal))
}
