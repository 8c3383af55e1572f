//! What later measurements in standards say of the coefficients in force.

use crate::drift::Check;
use crate::drift::Drifting;
use crate::uncertainty::conductivity::DEFAULT_CONDUCTANCE_UNCERTAINTY;
use crate::uncertainty::ph::DEFAULT_POTENTIAL_UNCERTAINTY;
use crate::verification::Verified;
use rillmark_proto::calibration::drift::SensorDrift;
use rillmark_proto::calibration::ph::{OFFSET_PH, PhCalibration};
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, Point};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;

/// Of an electrode without loss at 25 °C.
const NOMINAL_MV_PER_PH: f64 = 59.16;
/// Buffers closer together than this in pH say nothing of the slope. Own choice.
const LEAST_APART_PH: f64 = 1.0;

/// What a verification says of the drifting coefficient: the offset, the cell constant or the
/// thermometer's offset. `days` is its time since the calibration.
///
/// A single check cannot tell offset from slope: it is taken as one of the offset, less sure by what the
/// slope may have drifted. What the calibration had wrong from the beginning is in the difference too: the
/// second answer is its standard uncertainty, in the coefficient's unit. In the calibration's own bottle part
/// of both cancels; that is left out, on the safe side.
pub(super) fn of_verification(
    verification: &VerificationRecord,
    calibration: &CalibrationResult,
    drift: &SensorDrift,
    days: f64,
) -> (Check, f64) {
    let point = &verification.point;
    let per_unit = per_unit(calibration, point);
    let u = libm::hypot(verification.found_uncertainty, point.value_uncertainty);
    let from_the_beginning = verification.calibration_uncertainty(calibration).unwrap_or(0.0);
    let slope_mv = match (calibration, drift) {
        (CalibrationResult::Ph(_), SensorDrift::Electrode { slope, .. }) => {
            libm::sqrt(slope.growth(days)) * per_ph_mv(point) * (point.value - OFFSET_PH)
        }
        _ => 0.0,
    };
    let check = Check {
        days,
        difference: per_unit * verification.difference(),
        standard_uncertainty: libm::hypot(per_unit * u, slope_mv),
    };
    (check, libm::fabs(per_unit) * from_the_beginning)
}

/// What a calibration says on its own day that left the coefficients as they were: the most that was found
/// in one of its standards. Errors of both signs do not take each other away, and one that the coefficient
/// which drifts cannot have made is doubt all the same. `None` for one that adjusted them.
pub(super) fn of_left_unadjusted(calibration: &CalibrationRecord) -> Option<Check> {
    if calibration.outcome == Outcome::Adjusted {
        return None;
    }
    let (mut count, mut most, mut variance) = (0.0, 0.0, 0.0);
    for point in &calibration.points {
        let Some(found) = point.as_found else { continue };
        let per_unit = per_unit(&calibration.result, point);
        let signal = match calibration.result {
            CalibrationResult::Ph(_) => DEFAULT_POTENTIAL_UNCERTAINTY.value,
            CalibrationResult::Conductivity(_) => DEFAULT_CONDUCTANCE_UNCERTAINTY.value,
            CalibrationResult::Temperature(_) => 0.0,
        };
        let u = libm::hypot(per_unit * point.value_uncertainty, signal);
        let off = per_unit * (found - point.value);
        count += 1.0;
        variance += u * u;
        if libm::fabs(off) > libm::fabs(most) {
            most = off;
        }
    }
    (count > 0.0).then(|| Check {
        days: 0.0,
        difference: most,
        standard_uncertainty: libm::sqrt(variance) / count,
    })
}

/// What it says of the slope fraction, from the standards in which it found the least and the most: `None`
/// for one that adjusted it, and from a single standard.
pub(super) fn of_slope_left(calibration: &CalibrationRecord) -> Option<Check> {
    let (CalibrationResult::Ph(ph), true) =
        (&calibration.result, calibration.outcome != Outcome::Adjusted)
    else {
        return None;
    };
    let off =
        |point: &Point| Some((point.value, point.as_found? - point.value, point.value_uncertainty));
    let all = || calibration.points.iter().filter_map(off);
    let low = all().min_by(|one, other| one.0.total_cmp(&other.0))?;
    let high = all().max_by(|one, other| one.0.total_cmp(&other.0))?;
    let apart = high.0 - low.0;
    let signal_ph = libm::sqrt(2.0) * DEFAULT_POTENTIAL_UNCERTAINTY.value / NOMINAL_MV_PER_PH;
    let u = libm::hypot(libm::hypot(low.2, high.2), signal_ph);
    (apart >= LEAST_APART_PH).then(|| Check {
        days: 0.0,
        difference: ph.slope_fraction * (high.1 - low.1) / apart,
        standard_uncertainty: ph.slope_fraction * u / apart,
    })
}

/// mV for each pH at a point's temperature, of an electrode without loss.
fn per_ph_mv(point: &Point) -> f64 {
    nernst::millivolts_per_ph(Celsius::new(point.temperature_c))
}

/// How much the drifting coefficient has moved for a value that is found too high by one.
fn per_unit(calibration: &CalibrationResult, point: &Point) -> f64 {
    match calibration {
        CalibrationResult::Ph(PhCalibration { slope_fraction, .. }) => {
            -slope_fraction * per_ph_mv(point)
        }
        // A cell constant that is too large finds too much.
        CalibrationResult::Conductivity(_) => 1.0 / point.value,
        CalibrationResult::Temperature(_) => 1.0,
    }
}
