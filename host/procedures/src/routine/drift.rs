//! What a calibration tells about its sensor's drift, from the record before it and nothing else.

use heapless::Vec;
use rillmark_metrology::drift::Drifting;
use rillmark_metrology::fit;

use super::limits;
use super::point::{conductivity_point, ph_point, temperature_point};
use rillmark_metrology::drift::Check;
use rillmark_metrology::fit::ph::SlopePrior;
use rillmark_proto::calibration::conductivity::ConductivityCalibration;
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::calibration::temperature::TemperatureCalibration;
use rillmark_proto::record::fitted::Serial;
use rillmark_proto::record::{
    CalibrationRecord, CalibrationResult, Incident, MAX_POINTS, Outcome, Point,
};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;

const MS_PER_DAY: f64 = 86_400_000.0;

/// The most coefficients that drift in one sensor.
const MOST: usize = 2;

/// What came of a calibration, as far as its drift is concerned.
#[derive(Clone, Copy)]
pub(super) struct Made<'a> {
    pub(super) points: &'a [Point],
    /// The coefficients in force from now on.
    pub(super) result: &'a CalibrationResult,
    pub(super) outcome: Outcome,
    pub(super) utc_ms: i64,
    /// Of the sensor that was calibrated.
    pub(super) serial: Option<&'a Serial>,
    /// What happened to it since the calibration before.
    pub(super) incident: Option<Incident>,
    /// Days since then that it was stored.
    pub(super) stored_days: Option<u16>,
}

/// How the sensor drifts as far as is known after a calibration: what the record before says, and the
/// difference of the two over the days in use. Calibrations further apart than [`limits::TEACHES_DAYS`], or
/// dated backwards, teach nothing. The difference is that of what the points of either found,
/// also where the coefficients were left as they were.
pub(super) fn now_known(made: &Made<'_>, before: Option<&CalibrationRecord>) -> SensorDrift {
    let usual = made.result.usual_drift();
    let is_of_it =
        |before: &&CalibrationRecord| made.serial.is_some() && before.calibrated() == made.serial;
    let Some(before) = before.filter(is_of_it) else { return usual };
    let known = before.drift;
    match made.incident {
        Some(Incident::Dried | Incident::Knocked) => usual,
        Some(Incident::Cleaned | Incident::Refilled) => {
            together(&known, &usual, |_, known, kind| known.renewed(kind))
        }
        None => {
            let stored = f64::from(made.stored_days.unwrap_or(0));
            let passed = made.utc_ms.saturating_sub(before.utc_ms) as f64 / MS_PER_DAY;
            // Either clock may have been wrong: a drift learnt from that would stay for good.
            if !(0.0..=limits::TEACHES_DAYS.value).contains(&passed) {
                return known;
            }
            let days = passed - stored;
            let earlier = found(&before.points, &before.result, before.outcome);
            let later = found(made.points, made.result, made.outcome);
            let differences = earlier.zip(later).map(|(earlier, later)| {
                differences(&earlier, &later, before.points.len().min(made.points.len()))
            });
            together(&known, &usual, |at, known, kind| {
                let difference =
                    differences.as_ref().and_then(|all| all.get(at).copied().flatten());
                difference.map_or(*known, |(difference, standard_uncertainty)| {
                    known.after(&Check { days, difference, standard_uncertainty }, kind)
                })
            })
        }
    }
}

/// Every coefficient's drift anew, by its place.
fn together(
    known: &SensorDrift,
    usual: &SensorDrift,
    next: impl Fn(usize, &Drift, &Drift) -> Drift,
) -> SensorDrift {
    match (known, usual) {
        (
            SensorDrift::Electrode { offset_mv, slope },
            SensorDrift::Electrode { offset_mv: usual_mv, slope: usual_slope },
        ) => SensorDrift::Electrode {
            offset_mv: next(0, offset_mv, usual_mv),
            slope: next(1, slope, usual_slope),
        },
        (SensorDrift::Cell { relative }, SensorDrift::Cell { relative: usual }) => {
            SensorDrift::Cell { relative: next(0, relative, usual) }
        }
        (SensorDrift::Thermometer { offset_k }, SensorDrift::Thermometer { offset_k: usual }) => {
            SensorDrift::Thermometer { offset_k: next(0, offset_k, usual) }
        }
        // A record's drift is of the quantity that it calibrates.
        _ => *usual,
    }
}

/// What the points themselves found: the coefficients, or, where those of before were left in force, the
/// line that the points would have given.
fn found(
    points: &[Point],
    result: &CalibrationResult,
    outcome: Outcome,
) -> Option<CalibrationResult> {
    if outcome == Outcome::Adjusted {
        return Some(*result);
    }
    match result {
        CalibrationResult::Ph(left) => {
            let of: Vec<_, MAX_POINTS> =
                points.iter().filter_map(|point| ph_point(point, points)).collect();
            let assumed = fit::ph::Assumed {
                isopotential: left.isopotential,
                slope: (of.len() == 1).then(|| SlopePrior::earlier(left)),
                thermometer_k: left.shared.thermometer_k,
                ..fit::ph::Assumed::default()
            };
            let fit = fit::ph::fit_assuming(&of, &assumed).ok()?;
            Some(CalibrationResult::Ph(fit.calibration))
        }
        CalibrationResult::Conductivity(left) => {
            let of: Vec<_, MAX_POINTS> =
                points.iter().filter_map(|point| conductivity_point(point, points)).collect();
            let assumed = fit::conductivity::Assumed {
                zero_us: left.zero_us,
                thermometer_k: left.thermometer_k,
                ..fit::conductivity::Assumed::default()
            };
            let fit = fit::conductivity::fit_assuming(&of, left.compensation, &assumed).ok()?;
            Some(CalibrationResult::Conductivity(fit.calibration))
        }
        CalibrationResult::Temperature(left) => {
            let of: Vec<_, MAX_POINTS> =
                points.iter().filter_map(|point| temperature_point(point, points)).collect();
            let fit = fit::temperature::fit(&of, left.thermometer).ok()?;
            Some(CalibrationResult::Temperature(fit.calibration))
        }
    }
}

/// What the coefficients changed by, each with the standard uncertainty that the two calibrations' own
/// errors make of the change. A slope that a single buffer took over from before is no difference.
fn differences(
    earlier: &CalibrationResult,
    later: &CalibrationResult,
    points: usize,
) -> [Option<(f64, f64)>; MOST] {
    use CalibrationResult::{Conductivity, Ph, Temperature};
    match (earlier, later) {
        (Ph(earlier), Ph(later)) => {
            [Some(offset(earlier, later)), (points > 1).then(|| slope(earlier, later))]
        }
        (Conductivity(earlier), Conductivity(later)) => [Some(cell(earlier, later)), None],
        (Temperature(earlier), Temperature(later)) if earlier.thermometer == later.thermometer => {
            [Some(thermometer(earlier, later)), None]
        }
        _ => [None, None],
    }
}

/// In mV, the later offset referred to the temperature of the earlier one: there the lines meet at the
/// isopotential pH, which is not known exactly.
fn offset(earlier: &PhCalibration, later: &PhCalibration) -> (f64, f64) {
    let slope_at = |at_c| later.slope_fraction * nernst::millivolts_per_ph(Celsius::new(at_c));
    let turned = slope_at(earlier.at_c) - slope_at(later.at_c);
    let referred = later.offset_mv + turned * (later.isopotential.ph - 7.0);
    let of_isopotential = turned * later.isopotential.standard_uncertainty;
    let variance = earlier.covariance.offset_mv2
        + later.covariance.offset_mv2
        + of_isopotential * of_isopotential;
    (referred - earlier.offset_mv, libm::sqrt(variance))
}

fn slope(earlier: &PhCalibration, later: &PhCalibration) -> (f64, f64) {
    let variance = earlier.covariance.slope + later.covariance.slope;
    (later.slope_fraction - earlier.slope_fraction, libm::sqrt(variance))
}

/// Relative.
fn cell(earlier: &ConductivityCalibration, later: &ConductivityCalibration) -> (f64, f64) {
    let relative = |cell: &ConductivityCalibration| {
        libm::sqrt(cell.variance_per_cm2) / cell.cell_constant_per_cm
    };
    let ratio = later.cell_constant_per_cm / earlier.cell_constant_per_cm;
    (libm::log(ratio), libm::hypot(relative(earlier), relative(later)))
}

/// In K, at the temperature of the later one.
fn thermometer(earlier: &TemperatureCalibration, later: &TemperatureCalibration) -> (f64, f64) {
    let at = Celsius::new(later.at_c);
    let was = earlier.offset_k + earlier.gain * (later.at_c - earlier.at_c);
    let u = libm::hypot(earlier.standard_uncertainty(at), later.standard_uncertainty(at));
    (later.offset_k - was, u)
}

#[cfg(test)]
#[path = "drift_tests.rs"]
mod tests;
