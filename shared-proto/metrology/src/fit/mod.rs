//! From readings in standards to coefficients with their covariance.

pub mod conductivity;
mod error;
pub mod ph;
mod scatter;
pub mod temperature;

pub use error::FitError;

/// The standard uncertainty that each of several points in one bottle is given, so that together
/// they say no more about the bottle than one of them: its error is in all of them.
pub fn of_one_bottle(standard_uncertainty: f64, points: usize) -> f64 {
    standard_uncertainty * libm::sqrt(points as f64)
}
