//! The verification record: what a probe made of a check standard, and whether that conforms.

use heapless::{String, Vec};
use serde::{Deserialize, Serialize};

use super::fitted::{Fitted, Serial};
use super::{CalibrationResult, MAX_OVERRIDES, Operator, Override, Point, Quantity, Signal};
use crate::calibration::{conductivity, ph};
use crate::decision::{COVERAGE_FACTOR, DecisionError, Tolerance, Verdict};
use crate::identity::{BoardId, ShortId};
use crate::reading::RawConductance;
use crate::units::{Celsius, Microsiemens, Millivolts};

/// Name of the profile that a limit is from.
pub type ProfileName = String<24>;
/// Where a limit comes from, in words.
pub type LimitSource = String<96>;

/// What the difference found − standard may be, in pH, µS/cm or K.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limit {
    /// The lowest that conforms.
    pub lower: f64,
    /// The highest that conforms.
    pub upper: f64,
    /// The profile it is from, empty for a limit of the user's own.
    pub profile: ProfileName,
    /// Where it comes from.
    pub source: LimitSource,
}

impl Limit {
    /// As the decision wants it.
    ///
    /// # Errors
    /// [`DecisionError::UnusableTolerance`] when the limits are not finite numbers in rising order.
    pub fn tolerance(&self) -> Result<Tolerance, DecisionError> {
        Tolerance::between(self.lower, self.upper)
    }
}

/// Whether the check standard could show an error of the calibration's own standards.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Independence {
    /// Another solution, or another lot of the same one.
    Independent,
    /// The same bottle, or another one of its lot.
    SameLot,
    /// The same solution, and a lot was not stated at one of the two times.
    LotUnknown,
}

/// One verification of one electrode, cell or thermometer: the probe stood in a check standard and
/// nothing was changed.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct VerificationRecord {
    /// The board it was done with.
    pub board: BoardId,
    /// What was fitted to it.
    pub fitted: Fitted,
    /// Host time at the end, milliseconds since 1970-01-01 UTC.
    pub utc_ms: i64,
    /// Who did it.
    pub operator: Operator,
    /// The calibration in force, which was verified.
    pub calibration: ShortId,
    /// The check standard and the reading in it; its `as_found` is `None`, since [`Self::found`]
    /// says it.
    pub point: Point,
    /// What the calibration made of the reading: pH, µS/cm, or °C.
    pub found: f64,
    /// Standard uncertainty with which the difference found − standard shows the probe's error, in the same
    /// unit, from everything but the standard's own value: how this reading repeats, and what the thermometer
    /// does to reading and standard. Nothing of the calibration: what that has wrong is what is verified.
    pub found_uncertainty: f64,
    /// What the difference may be.
    pub limit: Limit,
    /// What can be said: [`Self::difference`] against the limit, with
    /// [`Self::expanded_uncertainty`].
    pub verdict: Verdict,
    /// Whether the standard was one that the calibration had not seen.
    pub independence: Independence,
    /// Warnings overridden, with reasons.
    pub overrides: Vec<Override, MAX_OVERRIDES>,
}

impl VerificationRecord {
    /// What it verifies.
    #[must_use]
    pub const fn quantity(&self) -> Quantity {
        self.point.signal.quantity()
    }

    /// Serial of the electrode, cell or thermometer that it verifies; `None` when the record does
    /// not say which was fitted.
    #[must_use]
    pub const fn verified(&self) -> Option<&Serial> {
        self.fitted.serial_for(self.quantity())
    }

    /// Found − standard: pH, µS/cm, or K.
    #[must_use]
    pub fn difference(&self) -> f64 {
        self.found - self.point.value
    }

    /// Expanded uncertainty (k = 2) with which [`Self::difference`] shows the probe's error.
    ///
    /// The standard's own uncertainty counts in full, also in the bottle of the calibration: there the
    /// bottle's error is in the probe's too, and no difference shows it.
    #[must_use]
    pub fn expanded_uncertainty(&self) -> f64 {
        COVERAGE_FACTOR * libm::hypot(self.found_uncertainty, self.point.value_uncertainty)
    }

    /// Standard uncertainty of what the calibration that was verified makes wrong in this reading, in the unit
    /// of [`Self::difference`]: what its points leave, and gain, isopotential pH, zero or an uncalibrated
    /// range.
    ///
    /// It is no part of [`Self::found_uncertainty`], and belongs beside it where the difference is to tell
    /// what has changed since that calibration. `None` for a calibration of another quantity, or under which
    /// the reading has no value.
    #[must_use]
    pub fn calibration_uncertainty(&self, verified: &CalibrationResult) -> Option<f64> {
        let at = Celsius::new(self.point.temperature_c);
        match (verified, self.point.signal) {
            (CalibrationResult::Ph(electrode), Signal::PotentialNv(nv)) => {
                use ph::budget::Cause::{Calibration, Gain, Isopotential};
                let potential = Millivolts::new(f64::from(nv) / 1e6);
                let conditions = ph::budget::Conditions::new(potential, 0.0, None);
                let budget = electrode.budget(potential, at, &conditions)?;
                let parts = [Calibration, Gain, Isopotential].map(|cause| budget.of(cause).u_ph);
                Some(root_of_squares(parts))
            }
            (CalibrationResult::Conductivity(cell), Signal::Conductance(raw)) => {
                use conductivity::budget::Cause::{Calibration, Range, Zero};
                let RawConductance { conductance_ps, range } = raw;
                let conductance = Microsiemens::new(conductance_ps as f64 / 1e6);
                let conditions = conductivity::budget::Conditions::new(conductance, range, 0.0);
                let budget = cell.budget(conductance, range, &conditions)?;
                let parts = [Calibration, Zero, Range].map(|cause| budget.of(cause).relative);
                Some(libm::fabs(budget.value.get()) * root_of_squares(parts))
            }
            (CalibrationResult::Temperature(thermometer), Signal::ThermometerMilliohm(_)) => {
                Some(thermometer.standard_uncertainty(at))
            }
            _ => None,
        }
    }
}

fn root_of_squares(parts: [f64; 3]) -> f64 {
    libm::sqrt(parts.iter().map(|part| part * part).sum())
}
