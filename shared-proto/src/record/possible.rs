//! Which results can be at all: what lies outside was never found by a calibration, and a record that says
//! so is refused by probe and host.
//!
//! The ranges are own choices, each far wider than what the guided calibration keeps (`limits` of the procedures), so
//! that whatever anybody calibrated stays readable.

use crate::calibration::conductivity::{ConductivityCalibration, Estimate};
use crate::calibration::ph::{PH_RANGE, PhCalibration, PhCovariance};
use crate::calibration::temperature::TemperatureCalibration;
use crate::calibration::{TEMPERATURE_RANGE, within};
use crate::record::CalibrationResult;
use crate::units::Celsius;

/// Slope as a fraction of Nernst: a calibration keeps 0.80 to 1.05. Near zero any potential is any pH, and
/// below it pH is mirrored.
pub const SLOPE_FRACTION: (f64, f64) = (0.1, 2.0);
/// Potential in mV at pH 7: a reading's nanovolts reach ±2147 mV.
pub const OFFSET_MV: (f64, f64) = (-2200.0, 2200.0);
/// Cell constant in 1/cm: a calibration keeps 0.005 to 100.
pub const CELL_CONSTANT_PER_CM: (f64, f64) = (1e-4, 1e4);
/// Resistance in series with the cell in Ω: leads and electrodes have some ohms, and a fit leaves little
/// below zero.
pub const SERIES_OHM: (f64, f64) = (-1e4, 1e4);
/// Conductance in µS that remains in air: a calibration warns of 0.5.
pub const ZERO_US: (f64, f64) = (-1e3, 1e3);
/// A range's factor: tables give 0.5 to 2.
pub const RANGE_FACTOR: (f64, f64) = (0.01, 100.0);
/// A thermometer's correction in K: a calibration refuses a reference 10 K from what the probe reads.
pub const THERMOMETER_OFFSET_K: (f64, f64) = (-100.0, 100.0);
/// A thermometer's correction for each kelvin: at −1 every resistance is one temperature.
pub const THERMOMETER_GAIN: (f64, f64) = (-0.5, 0.5);

/// By how much a covariance may exceed the product of the two standard uncertainties, relative to it:
/// rounding.
const ROUNDING: f64 = 1e-6;

/// True for coefficients within these ranges, variances and uncertainties not below zero, and a
/// covariance that its two variances allow.
pub(super) fn is_possible(result: &CalibrationResult) -> bool {
    match result {
        CalibrationResult::Ph(ph) => ph_is_possible(ph),
        CalibrationResult::Conductivity(cell) => cell_is_possible(cell),
        CalibrationResult::Temperature(thermometer) => thermometer_is_possible(thermometer),
    }
}

fn ph_is_possible(ph: &PhCalibration) -> bool {
    let PhCovariance { slope, offset_mv2, slope_offset_mv } = ph.covariance;
    within(ph.slope_fraction, SLOPE_FRACTION)
        && within(ph.offset_mv, OFFSET_MV)
        && within(ph.at_c, TEMPERATURE_RANGE)
        && within(ph.isopotential.ph, PH_RANGE)
        && ph.isopotential.standard_uncertainty >= 0.0
        && ph.shared.thermometer_k >= 0.0
        && are_of_one_matrix(slope, offset_mv2, slope_offset_mv)
}

fn cell_is_possible(cell: &ConductivityCalibration) -> bool {
    let estimate_within = |estimate: &Estimate, range| {
        within(estimate.value, range) && estimate.standard_uncertainty >= 0.0
    };
    let series = cell.series_ohm.standard_uncertainty;
    within(cell.cell_constant_per_cm, CELL_CONSTANT_PER_CM)
        && estimate_within(&cell.series_ohm, SERIES_OHM)
        && estimate_within(&cell.zero_us, ZERO_US)
        && cell.thermometer_k >= 0.0
        && cell.range_factor.iter().flatten().all(|factor| within(*factor, RANGE_FACTOR))
        && are_of_one_matrix(cell.variance_per_cm2, series * series, cell.cell_series_ohm_per_cm)
}

fn thermometer_is_possible(calibration: &TemperatureCalibration) -> bool {
    // A kind that its maker's numbers do not make, makes no resistance either.
    calibration.thermometer.resistance(Celsius::new(25.0)).is_some()
        && within(calibration.offset_k, THERMOMETER_OFFSET_K)
        && within(calibration.gain, THERMOMETER_GAIN)
        && within(calibration.at_c, TEMPERATURE_RANGE)
        && are_of_one_matrix(
            calibration.variance_k2,
            calibration.gain_variance,
            calibration.offset_gain_k,
        )
}

/// True when two variances and a covariance can belong together: none of the variances, nor that of any sum of
/// the two, is below zero. Otherwise errors would be taken off each other that do not cancel.
fn are_of_one_matrix(one: f64, other: f64, covariance: f64) -> bool {
    // Roots first: the product of the variances may be too small for a number.
    let most = libm::sqrt(one) * libm::sqrt(other);
    one >= 0.0 && other >= 0.0 && libm::fabs(covariance) <= most * (1.0 + ROUNDING)
}
