//! Calibration: from readings in standards to coefficients with their covariance, and back.

pub mod conductivity;
pub mod drift;
mod error;
pub mod ph;
mod scatter;
pub mod temperature;

pub use error::FitError;

/// The straight line that the fits stand on.
pub use crate::least_squares;

/// Temperatures in °C at which a probe in water is calibrated and evaluated: liquid water, a little
/// wider at the cold end for salt. Common practice, no source.
pub const TEMPERATURE_RANGE: (f64, f64) = (-5.0, 100.0);

/// Whether the thermometer is known today as it was when a sensor was calibrated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Since {
    /// As it was: its error is the same, and enters calibration and reading with the same sign.
    #[default]
    Same,
    /// It was calibrated since, or exchanged: what it was off at the calibration has nothing to do
    /// with what it is off now.
    Other,
}

/// The standard uncertainty that each of several points in one bottle is given, so that together
/// they say no more about the bottle than one of them: its error is in all of them.
pub fn of_one_bottle(standard_uncertainty: f64, points: usize) -> f64 {
    standard_uncertainty * libm::sqrt(points as f64)
}

/// True when `value` is a number from `min` to `max`, both included.
pub(crate) fn within(value: f64, (min, max): (f64, f64)) -> bool {
    value >= min && value <= max
}
