//! The expected value must match the label: is this the bottle that the operator says it is?

use super::{conductance, potential};
use crate::routine::collect::Mean;
use crate::routine::judgement::Judgement;
use crate::routine::limits;
use crate::routine::plan::{Plan, Situation};
use crate::routine::recognise::{Known, NOMINAL_ELECTRODE, Recognition, Seen, recognise};
use crate::routine::standard::Source;
use rillmark_metrology::fit::ph::PhPoint;
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_metrology::uncertainty::reading::Circumstances;
use rillmark_proto::record::Signal;
use rillmark_proto::units::Ph;

const MS_PER_DAY: f64 = 86_400_000.0;

/// Judges a mean in a standard of the plan, number `point` counted from 1, that should give
/// `expected` and of which the calibration in force makes `as_found`. `None` when it matches, or when
/// nothing can tell.
///
/// What is nowhere near its label is refused; so is what fits another bottle of the plan instead. A
/// smaller difference that fits a solution which is not in the plan is only warned of: an electrode
/// may also have changed by that much.
pub(super) fn judge(
    point: u8,
    expected: f64,
    as_found: Option<f64>,
    mean: &Mean,
    plan: &Plan,
    situation: &Situation,
) -> Option<Judgement> {
    let known = known(plan, situation)?;
    let (found, seen) = match mean.signal {
        Signal::PotentialNv(_) => {
            let mv = potential(mean.signal)?;
            // A residual has no range of pH: a potential far from any buffer is told as well.
            let nominal = || {
                let buffer = PhPoint {
                    buffer: Ph::new(expected),
                    buffer_uncertainty: None,
                    buffer_per_kelvin: 0.0,
                    potential: mv,
                    temperature: mean.temperature,
                    bottle: None,
                };
                buffer.residual(&NOMINAL_ELECTRODE).map(|residual| expected + residual)
            };
            (as_found.or_else(nominal)?, Seen::Potential(mv))
        }
        Signal::Conductance(_) => {
            let (conductance, range) = conductance(mean.signal)?;
            let seen = Seen::Conductance(conductance, range);
            (as_found.or_else(|| known.found(seen, mean.temperature))?, seen)
        }
        Signal::ThermometerMilliohm(_) => return None,
    };
    let far = far(point, expected, found, &known);
    let compare = |standards: &mut dyn Iterator<Item = Source>| {
        other(&recognise(&known, seen, mean.temperature, 0.0, standards), expected, &known)
    };
    if far.is_none() && !is_elsewhere(found, expected, &known) {
        return None;
    }
    let of_the_plan = compare(&mut plan.standards.iter().map(|planned| planned.source.clone()));
    let all = || match mean.signal {
        Signal::PotentialNv(_) => compare(&mut buffers::ALL.iter().map(Source::Buffer)),
        Signal::Conductance(_) => {
            compare(&mut conductivity_standards::ALL.iter().map(Source::Solution))
        }
        Signal::ThermometerMilliohm(_) => None,
    };
    match (of_the_plan, far) {
        (Some(other), _) => Some(looks_like(point, expected, found, other, &known)),
        (None, Some(far)) => {
            let named = all().map(|other| looks_like(point, expected, found, other, &known));
            Some(named.unwrap_or(far))
        }
        (None, None) => match known {
            Known::Electrode { .. } => all().map(|looks_like_ph| Judgement::MayBeOtherBuffer {
                point,
                expected_ph: expected,
                found_ph: found,
                looks_like_ph,
            }),
            Known::AnyElectrode | Known::Cell { .. } | Known::NominalCell { .. } => None,
        },
    }
}

/// What is known about the sensor before this calibration; `None` for a cell of which nothing is.
fn known(plan: &Plan, situation: &Situation) -> Option<Known> {
    use rillmark_proto::record::Quantity;
    // A day in the clock's future is two clocks that disagree a little; with more the age is not known.
    let drifted = situation.before.as_ref().and_then(|before| {
        let days = situation.utc_ms.saturating_sub(before.utc_ms) as f64 / MS_PER_DAY;
        (days > -1.0).then(|| Circumstances::drifted(&before.drift, days))
    });
    match plan.quantity {
        Quantity::Ph => Some(match situation.in_force.ph {
            Some(calibration) => Known::Electrode { calibration, drifted },
            None => Known::AnyElectrode,
        }),
        Quantity::Conductivity => match situation.in_force.conductivity {
            Some(calibration) => Some(Known::Cell { calibration, drifted }),
            None => plan
                .nominal_cell_constant
                .map(|cell_constant_per_cm| Known::NominalCell { cell_constant_per_cm }),
        },
        Quantity::Temperature => None,
    }
}

fn percent_off(found: f64, expected: f64) -> f64 {
    libm::fabs(found / expected - 1.0) * 100.0
}

/// The refusal of what is nowhere near its label.
fn far(point: u8, expected: f64, found: f64, known: &Known) -> Option<Judgement> {
    let buffer = |limit_ph: f64| libm::fabs(found - expected) > limit_ph;
    let standard = |limit_percent: f64| {
        (percent_off(found, expected) > limit_percent).then_some(Judgement::StandardNotAsLabelled {
            point,
            expected_us_cm: expected,
            found_us_cm: found,
            limit_percent,
        })
    };
    match known {
        Known::Electrode { .. } => {
            let limit_ph = limits::LABEL_PH.value;
            buffer(limit_ph).then_some(Judgement::BufferNotAsLabelled {
                point,
                expected_ph: expected,
                found_ph: found,
                limit_ph,
            })
        }
        Known::AnyElectrode => {
            let limit_ph = limits::LABEL_NOMINAL_PH.value;
            buffer(limit_ph).then_some(Judgement::BufferFarFromNominal {
                point,
                expected_ph: expected,
                found_ph: found,
                limit_ph,
            })
        }
        Known::Cell { .. } => standard(limits::LABEL_PERCENT.value),
        Known::NominalCell { .. } => standard(limits::LABEL_NOMINAL_PERCENT.value),
    }
}

/// Whether a value is so far from the expected one that it can be that of another bottle.
fn is_elsewhere(value: f64, expected: f64, known: &Known) -> bool {
    match known {
        Known::Electrode { .. } | Known::AnyElectrode => {
            libm::fabs(value - expected) >= limits::OTHER_PH.value
        }
        Known::Cell { .. } | Known::NominalCell { .. } => {
            percent_off(value, expected) >= limits::OTHER_PERCENT.value
        }
    }
}

/// The value near 25 °C of what was recognised, if it is not the expected one.
fn other(recognition: &Recognition, expected: f64, known: &Known) -> Option<f64> {
    let near = recognition.looks_like().filter(|near| is_elsewhere(near.value, expected, known))?;
    (!recognition.is_near(expected)).then_some(near.near_25)
}

fn looks_like(point: u8, expected: f64, found: f64, looks_like: f64, known: &Known) -> Judgement {
    match known {
        Known::Electrode { .. } | Known::AnyElectrode => Judgement::LooksLikeOtherBuffer {
            point,
            expected_ph: expected,
            found_ph: found,
            looks_like_ph: looks_like,
        },
        Known::Cell { .. } | Known::NominalCell { .. } => Judgement::LooksLikeOtherStandard {
            point,
            expected_us_cm: expected,
            found_us_cm: found,
            looks_like_us_cm: looks_like,
        },
    }
}
