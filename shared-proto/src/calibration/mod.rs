//! Calibration: from readings in standards to coefficients with their covariance, and back.

pub mod conductivity;
pub mod least_squares;
pub mod ph;
