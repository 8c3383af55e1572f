//! The verification record: what a probe made of a check standard, and whether that conforms.

use heapless::{String, Vec};
use serde::{Deserialize, Serialize};

use super::fitted::{Fitted, Serial};
use super::{MAX_OVERRIDES, Operator, Override, Point, Quantity};
use crate::identity::{BoardId, ShortId};

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
    /// its expanded uncertainty (k = 2).
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
}

/// What can be said about conformity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Verdict {
    /// It conforms: inside by at least the expanded uncertainty.
    Pass,
    /// It does not conform: outside by more than the expanded uncertainty.
    Fail,
    /// The expanded uncertainty straddles a limit.
    CannotTell,
}

impl Verdict {
    /// The name that machine-readable output gives the verdict.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Fail => "fail",
            Self::CannotTell => "cannot-tell",
        }
    }
}
