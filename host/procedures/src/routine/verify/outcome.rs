//! From the reading in a check standard to a verdict.

use super::super::collect::Mean;
use super::super::judgement::Judgement;
use super::super::limits;
use super::super::point::{self, conductance, potential};
use super::super::standard::Planned;
use super::plan::{VerifyPlan, VerifySituation};
use rillmark_metrology::decision::Tolerance;
use rillmark_metrology::decision::decide;
use rillmark_metrology::uncertainty;
use rillmark_metrology::uncertainty::Since;
use rillmark_metrology::uncertainty::conductivity::ConductivityUncertainty;
use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;
use rillmark_metrology::uncertainty::temperature::ThermometerFrontEnd;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Independence, Limit};
use rillmark_proto::record::{CalibrationResult, Point, Quantity};

/// What a reading in the check standard came to.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Outcome {
    pub(super) point: Point,
    pub(super) found: f64,
    pub(super) found_uncertainty: f64,
    pub(super) limit: Limit,
    pub(super) verdict: Verdict,
    pub(super) independence: Independence,
}

impl Outcome {
    /// Judges the mean of what settled.
    ///
    /// # Errors
    /// The refusal, when the standard has no value at this temperature, the reading none under the
    /// calibration in force, or a reference cannot be of the same bath.
    pub(super) fn of(
        standard: &Planned,
        mean: &Mean,
        plan: &VerifyPlan,
        situation: &VerifySituation,
    ) -> Result<Self, Judgement> {
        let value = point::value(1, standard, mean, situation.utc_ms)?;
        let missing = Judgement::SignalMissing {};
        let verified = situation.verified(plan.quantity).ok_or(Judgement::NothingToVerify {})?;
        let found = point::found(&verified, mean).ok_or(missing)?;
        if plan.quantity == Quantity::Temperature
            && let Some(refusal) = point::reference_far(1, value.value, found)
        {
            return Err(refusal);
        }
        let point = point::taken(standard, value, mean, None);
        let found_uncertainty =
            uncertainty(&verified, mean, point.value_per_kelvin, situation).ok_or(missing)?;
        let limit = plan.criterion.limit(point.value);
        let tolerance = Tolerance::of(&limit).map_err(|_| missing)?;
        let u = libm::hypot(found_uncertainty, point.value_uncertainty);
        let decision = decide(found - point.value, u, &tolerance).map_err(|_| missing)?;
        Ok(Self {
            point,
            found,
            found_uncertainty,
            limit,
            verdict: decision.verdict,
            independence: plan.independence(situation),
        })
    }

    /// A reading so far from the standard that another bottle is the likelier reason.
    pub(super) fn far_off(&self) -> Option<Judgement> {
        let (found, expected) = (self.found, self.point.value);
        let off = libm::fabs(found - expected);
        match self.point.signal.quantity() {
            Quantity::Ph => {
                let limit_ph = limits::LABEL_PH.value;
                (off > limit_ph).then_some(Judgement::PhCheckFarOff {
                    expected_ph: expected,
                    found_ph: found,
                    limit_ph,
                })
            }
            Quantity::Conductivity => {
                let limit_percent = limits::LABEL_PERCENT.value;
                (100.0 * off > limit_percent * expected).then_some(
                    Judgement::ConductivityCheckFarOff {
                        expected_us_cm: expected,
                        found_us_cm: found,
                        limit_percent,
                    },
                )
            }
            Quantity::Temperature => None,
        }
    }
}

/// Standard uncertainty with which the difference found − standard shows the error of the probe, from
/// everything but the standard's own value: how the reading repeats, what the front end adds from one time
/// to another, and what temperature does to reading and standard together.
///
/// What the calibration has wrong is the very error that is judged, so neither its points nor gain,
/// isopotential pH, zero or an uncalibrated range are in it
/// ([`VerificationRecord::calibration_uncertainty`](rillmark_proto::record::verification::VerificationRecord::calibration_uncertainty)
/// tells them). The same holds of the residual junction potential: a
/// check buffer is as salty as the calibration's buffers.
fn uncertainty(
    verified: &CalibrationResult,
    mean: &Mean,
    value_per_kelvin: f64,
    situation: &VerifySituation,
) -> Option<f64> {
    let in_force = &situation.in_force;
    let since = |thermometer_k| match situation.is_beside_another {
        true => Since::Other,
        false => in_force.since(thermometer_k),
    };
    let scatter = f64::from(mean.settling.scatter);
    let at = mean.temperature;
    let thermometer_k = in_force.thermometer_uncertainty(at);
    let variance = match verified {
        CalibrationResult::Ph(electrode) => {
            let potential = potential(mean.signal)?;
            let usual = uncertainty::ph::Conditions::new(potential, thermometer_k, None);
            let conditions = uncertainty::ph::Conditions {
                potential_mv: libm::fmax(usual.potential_mv, scatter),
                junction_ph: 0.0,
                since: since(electrode.shared.thermometer_k),
                ..usual
            };
            let budget = electrode.budget(potential, at, &conditions)?;
            let parts = budget.contributions.iter().map(|part| {
                use uncertainty::ph::Cause;
                match (part.cause, part.input, part.sensitivity) {
                    (
                        Cause::Calibration
                        | Cause::Gain
                        | Cause::Isopotential
                        | Cause::EarlierThermometer,
                        ..,
                    ) => 0.0,
                    (Cause::Thermometer | Cause::Gradient, Some(input), Some(by)) => {
                        input * (by - value_per_kelvin)
                    }
                    _ => part.u_ph,
                }
            });
            parts.map(|part| part * part).sum::<f64>()
        }
        CalibrationResult::Conductivity(cell) => {
            let (conductance, range) = conductance(mean.signal)?;
            let usual =
                uncertainty::conductivity::Conditions::new(conductance, range, thermometer_k);
            let conditions = uncertainty::conductivity::Conditions {
                // The scatter is in percent.
                conductance: libm::fmax(usual.conductance, scatter / 100.0),
                since: since(cell.thermometer_k),
                ..usual
            };
            let budget = cell.budget(conductance, range, &conditions)?;
            let value = budget.value.get();
            let parts = budget.contributions.iter().map(|part| {
                use uncertainty::conductivity::Cause;
                match (part.cause, part.input, part.sensitivity) {
                    (
                        Cause::Calibration | Cause::Zero | Cause::Range | Cause::EarlierThermometer,
                        ..,
                    ) => 0.0,
                    (Cause::Thermometer | Cause::Gradient, Some(input), Some(by)) => {
                        input * (value * by - value_per_kelvin)
                    }
                    _ => value * part.relative,
                }
            });
            parts.map(|part| part * part).sum::<f64>()
        }
        CalibrationResult::Temperature(verified) => {
            let front_end = verified.thermometer.front_end(at).calibrated();
            front_end * front_end + scatter * scatter
        }
    };
    let u = libm::sqrt(variance);
    u.is_finite().then_some(u)
}
