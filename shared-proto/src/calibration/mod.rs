//! Calibration: from readings in standards to coefficients with their covariance, and back.

pub mod conductivity;
pub mod drift;
pub mod ph;
pub mod temperature;

/// Temperatures in °C at which a probe in water is calibrated and evaluated: liquid water, a little
/// wider at the cold end for salt. Common practice, no source.
pub const TEMPERATURE_RANGE: (f64, f64) = (-5.0, 100.0);

/// True when `value` is a number from `min` to `max`, both included.
pub fn within(value: f64, (min, max): (f64, f64)) -> bool {
    value >= min && value <= max
}
