//! From the points to coefficients, and what is to be said about them.

use heapless::Vec;
use rillmark_metrology::fit;
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;

use super::judge::{judge_conductivity_fit, judge_ph_fit, judge_temperature_fit};
use super::judgement::{Judgement, Severity};
use super::limits;
use super::plan::{Plan, Situation};
use super::point::{beside, conductivity_point, in_force, ph_point, temperature_point};
use super::said::Said;
use rillmark_metrology::decision::COVERAGE_FACTOR;
use rillmark_metrology::fit::conductivity::ZERO_PRIOR_US;
use rillmark_proto::calibration::conductivity::Estimate;
use rillmark_proto::record::{AsLeft, CalibrationResult, MAX_POINTS, Point, Quantity};

/// What the points came to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Conclusion {
    /// New coefficients, unless no line can be drawn.
    pub(super) result: Option<CalibrationResult>,
    /// True when every point read within tolerance under the calibration in force.
    pub(super) within_tolerance: bool,
    /// What is to be said.
    pub(super) said: Said,
}

/// Fits the points and judges the outcome.
pub(super) fn conclude(
    points: &[Point],
    plan: &Plan,
    situation: &Situation,
    zero: Option<Estimate>,
) -> Conclusion {
    let mut said = Said::new();
    // A thermometer that was never calibrated has nothing that could be left in force.
    let within_tolerance = as_found(points, plan, &mut said) && in_force(plan, situation).is_some();
    // An operator who went on at two temperatures has been told already.
    let apart = apart(points);
    let news = |said: &&Judgement| !(apart && matches!(said, Judgement::TemperaturesDiffer { .. }));
    let result = match plan.quantity {
        Quantity::Ph => {
            let of = |point| ph_point(point, points);
            let points: Vec<_, MAX_POINTS> = points.iter().filter_map(of).collect();
            let slope = (points.len() == 1).then(|| Plan::slope(situation));
            let thermometer_k = situation.in_force.thermometer_k();
            let assumed = fit::ph::Assumed {
                isopotential: plan.isopotential,
                slope,
                thermometer_k,
                ..fit::ph::Assumed::default()
            };
            fit::ph::fit_assuming(&points, &assumed).ok().map(|fit| {
                said.say_all(judge_ph_fit(&fit, &points).all().iter().filter(news).copied());
                CalibrationResult::Ph(fit.calibration)
            })
        }
        Quantity::Conductivity => {
            let of = |point| conductivity_point(point, points);
            let points: Vec<_, MAX_POINTS> = points.iter().filter_map(of).collect();
            let assumed = fit::conductivity::Assumed {
                zero_us: zero.unwrap_or_else(|| zero_in_force(situation, &mut said)),
                thermometer_k: situation.in_force.thermometer_k(),
                ..fit::conductivity::Assumed::default()
            };
            fit::conductivity::fit_assuming(&points, plan.compensation, &assumed).ok().map(|fit| {
                said.say_all(
                    judge_conductivity_fit(&fit, &points).all().iter().filter(news).copied(),
                );
                CalibrationResult::Conductivity(fit.calibration)
            })
        }
        Quantity::Temperature => {
            let of = |point| temperature_point(point, points);
            let points: Vec<_, MAX_POINTS> = points.iter().filter_map(of).collect();
            fit::temperature::fit(&points, plan.kind(&situation.in_force)).ok().map(|fit| {
                said.say_all(judge_temperature_fit(&fit, &points).all().iter().copied());
                CalibrationResult::Temperature(fit.calibration)
            })
        }
    };
    let no_line = said.all().iter().any(|judgement| matches!(judgement, Judgement::NoLine {}));
    match &result {
        None if !no_line => said.say(Judgement::NoLine {}),
        None => {}
        Some(result) => history(result, situation, &mut said),
    }
    Conclusion { result, within_tolerance, said: suspects(points, said) }
}

/// The conductance in air that was measured with an earlier calibration of this cell, or what is to be
/// expected of any.
fn zero_in_force(situation: &Situation, said: &mut Said) -> Estimate {
    match situation.in_force.conductivity.map(|cell| cell.zero_us) {
        // What nobody measured is exactly 0.
        Some(zero) if zero.value != 0.0 => {
            let (zero_us, u_us) = (zero.value, zero.standard_uncertainty);
            said.say(Judgement::ZeroCarriedOver { zero_us, u_us });
            zero
        }
        _ => ZERO_PRIOR_US,
    }
}

/// Puts points that were taken before they had come to rest in front of what warns: they explain it
/// sooner than an electrode or a cell that went bad.
fn suspects(points: &[Point], said: Said) -> Said {
    if clear(&said) {
        return said;
    }
    let unsettled = points.iter().zip(1..).filter(|(point, _)| !point.settling.settled);
    let mut all = Said::new();
    all.say_all(unsettled.map(|(_, point)| Judgement::TakenUnsettled { point }));
    all.say_all(said.all().iter().copied());
    all
}

/// Whether some standard was far from the first one's temperature.
fn apart(points: &[Point]) -> bool {
    let (first, rest) = match points {
        [first, rest @ ..] => (first.temperature_c, rest),
        [] => return false,
    };
    rest.iter().zip(2..).any(|(point, n)| beside(n, first, point.temperature_c).is_some())
}

/// Whether all points read within tolerance before anything was changed.
fn as_found(points: &[Point], plan: &Plan, said: &mut Said) -> bool {
    let off = |point: &Point| {
        let difference = libm::fabs(point.as_found? - point.value);
        Some(match plan.quantity {
            Quantity::Ph | Quantity::Temperature => difference,
            Quantity::Conductivity => 100.0 * difference / point.value,
        })
    };
    let tolerance = plan.tolerance();
    let Some(largest) =
        points.iter().map(off).try_fold(0.0, |largest, off| Some(libm::fmax(largest, off?)))
    else {
        return false;
    };
    let within = !points.is_empty() && largest <= tolerance;
    said.say(match (plan.quantity, within) {
        (Quantity::Ph, true) => {
            Judgement::PhAsFoundWithinTolerance { largest_ph: largest, tolerance_ph: tolerance }
        }
        (Quantity::Ph, false) => {
            Judgement::PhAsFoundOutsideTolerance { largest_ph: largest, tolerance_ph: tolerance }
        }
        (Quantity::Conductivity, true) => Judgement::ConductivityAsFoundWithinTolerance {
            largest_percent: largest,
            tolerance_percent: tolerance,
        },
        (Quantity::Conductivity, false) => Judgement::ConductivityAsFoundOutsideTolerance {
            largest_percent: largest,
            tolerance_percent: tolerance,
        },
        (Quantity::Temperature, true) => Judgement::TemperatureAsFoundWithinTolerance {
            largest_k: largest,
            tolerance_k: tolerance,
        },
        (Quantity::Temperature, false) => Judgement::TemperatureAsFoundOutsideTolerance {
            largest_k: largest,
            tolerance_k: tolerance,
        },
    });
    within
}

/// The earlier value nearest to `now`, when even that one is farther away than `limit`.
fn far_from_all(
    now: f64,
    earlier: impl Iterator<Item = f64>,
    limit: impl Fn(f64) -> f64,
) -> Option<f64> {
    let nearest = earlier.fold(None, |nearest: Option<f64>, value| match nearest {
        Some(nearest) if libm::fabs(nearest - now) <= libm::fabs(value - now) => Some(nearest),
        _ => Some(value),
    })?;
    (libm::fabs(nearest - now) > limit(nearest)).then_some(nearest)
}

/// Was the electrode or the cell changed?
fn history(result: &CalibrationResult, situation: &Situation, said: &mut Said) {
    match result {
        CalibrationResult::Ph(new) => {
            let earlier = || {
                situation.history.iter().filter_map(|earlier| match earlier {
                    CalibrationResult::Ph(ph) => Some(ph),
                    CalibrationResult::Conductivity(_) | CalibrationResult::Temperature(_) => None,
                })
            };
            let limit_mv = limits::OFFSET_CHANGE_MV.value;
            let offsets = earlier().map(|ph| ph.offset_mv);
            if let Some(earlier_mv) = far_from_all(new.offset_mv, offsets, |_| limit_mv) {
                let offset_mv = new.offset_mv;
                said.say(Judgement::OffsetFarFromHistory { offset_mv, earlier_mv, limit_mv });
            }
            let slope_percent = 100.0 * new.slope_fraction;
            let limit_percent = limits::SLOPE_CHANGE_PERCENT.value;
            let slopes = earlier().map(|ph| 100.0 * ph.slope_fraction);
            // One warning of a slope is enough, and what to do is the same.
            let told = said.all().iter().any(|said| {
                use Judgement::{SlopeImpossible, SlopeOutOfBand, SlopeReversed};
                matches!(
                    said,
                    SlopeOutOfBand { .. } | SlopeImpossible { .. } | SlopeReversed { .. }
                )
            });
            let slopes = slopes.filter(|_| !told);
            if let Some(earlier_percent) = far_from_all(slope_percent, slopes, |_| limit_percent) {
                said.say(Judgement::SlopeFarFromHistory {
                    slope_percent,
                    earlier_percent,
                    limit_percent,
                });
            }
        }
        CalibrationResult::Conductivity(new) => {
            let earlier = situation.history.iter().filter_map(|earlier| match earlier {
                CalibrationResult::Conductivity(cell) => Some(cell.cell_constant_per_cm),
                CalibrationResult::Ph(_) | CalibrationResult::Temperature(_) => None,
            });
            let cell_constant_per_cm = new.cell_constant_per_cm;
            let limit_percent = limits::CELL_CONSTANT_CHANGE_PERCENT.value;
            let limit = |earlier: f64| earlier * limit_percent / 100.0;
            if let Some(earlier_per_cm) = far_from_all(cell_constant_per_cm, earlier, limit) {
                said.say(Judgement::CellConstantFarFromHistory {
                    cell_constant_per_cm,
                    earlier_per_cm,
                    limit_percent,
                });
            }
        }
        // A correction is judged by its own size: the maker's tolerance holds for life.
        CalibrationResult::Temperature(_) => {}
    }
}

/// What is to be said about the reading of the closing check. In a standard of its own it may be off by as
/// much as that standard: by twice its standard uncertainty `u`.
pub(super) fn judge_as_left(quantity: Quantity, as_left: &AsLeft, u: f64) -> Option<Judgement> {
    let wider = |limit: f64| libm::hypot(limit, COVERAGE_FACTOR * u);
    let AsLeft { expected, found, .. } = *as_left;
    let difference = libm::fabs(found - expected);
    match quantity {
        Quantity::Ph => {
            let limit_ph = wider(limits::AS_LEFT_PH.value);
            (difference > limit_ph).then_some(Judgement::PhAsLeftOff {
                expected_ph: expected,
                found_ph: found,
                limit_ph,
            })
        }
        Quantity::Conductivity => {
            let own = expected * limits::AS_LEFT_PERCENT.value / 100.0;
            let limit_percent = 100.0 * wider(own) / expected;
            (difference > expected * limit_percent / 100.0).then_some(
                Judgement::ConductivityAsLeftOff {
                    expected_us_cm: expected,
                    found_us_cm: found,
                    limit_percent,
                },
            )
        }
        Quantity::Temperature => {
            let limit_k = wider(limits::AS_LEFT_K.value);
            (difference > limit_k).then_some(Judgement::TemperatureAsLeftOff {
                expected_c: expected,
                found_c: found,
                limit_k,
            })
        }
    }
}

/// True when nothing in it needs an operator.
pub(super) fn clear(said: &Said) -> bool {
    said.heaviest().is_none_or(|heaviest| heaviest == Severity::Note)
}
