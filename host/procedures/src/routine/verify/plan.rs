//! What a verification is to be, and whether its standard is one that the calibration had not seen.

use heapless::Vec;
use rillmark_metrology::decision::Tolerance;

use super::super::bottle;
use super::super::judgement::Judgement;
use super::super::profile::Criterion;
use super::super::said::Said;
use super::super::standard::{Planned, Reference, Source};
use rillmark_metrology::decision::COVERAGE_FACTOR;
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::verification::Independence;
use rillmark_proto::record::{CalibrationResult, MAX_POINTS, Operator, Point, Quantity};
use rillmark_proto::units::Celsius;

/// The most points of earlier work that a check standard is compared with.
pub const MAX_SEEN: usize = 2 * MAX_POINTS;
const MS_PER_DAY: i64 = 86_400_000;
/// So many standard uncertainties apart, two values are those of two solutions. Common practice, no
/// source.
const SAME_WITHIN: f64 = 3.0;

/// What the operator wants.
#[derive(Clone, Debug, PartialEq)]
pub struct VerifyPlan {
    /// What is verified.
    pub quantity: Quantity,
    /// The check standard.
    pub standard: Planned,
    /// Who does it.
    pub operator: Operator,
    /// How far it may be off.
    pub criterion: Criterion,
}

/// What is the case before anything is done.
#[derive(Clone, Debug, PartialEq)]
pub struct VerifySituation {
    /// The board.
    pub board: BoardId,
    /// What is fitted to it.
    pub fitted: Fitted,
    /// The coefficients in force.
    pub in_force: Coefficients,
    /// The record they come from, for the quantity that is verified.
    pub calibration: Option<ShortId>,
    /// The calibration was made beside another thermometer than the one that is fitted.
    pub is_beside_another: bool,
    /// The points that the coefficients in force rest on.
    pub seen: Vec<Point, MAX_SEEN>,
    /// False when some of those points are not known any more.
    pub all_seen: bool,
    /// Host time at the start in ms since 1970-01-01 UTC; an expiry is judged by it.
    pub utc_ms: i64,
}

impl VerifySituation {
    /// The coefficients that are verified.
    pub(super) fn verified(&self, quantity: Quantity) -> Option<CalibrationResult> {
        let Coefficients { ph, conductivity, temperature } = &self.in_force;
        match quantity {
            Quantity::Ph => ph.map(CalibrationResult::Ph),
            Quantity::Conductivity => conductivity.map(CalibrationResult::Conductivity),
            Quantity::Temperature => temperature.map(CalibrationResult::Temperature),
        }
    }
}

impl VerifyPlan {
    /// What is to be said before the beaker.
    pub(super) fn judge(&self, situation: &VerifySituation) -> Said {
        let mut said = Said::new();
        let today = situation.utc_ms.div_euclid(MS_PER_DAY);
        if situation.fitted.serial_for(self.quantity).is_none() {
            said.say(Judgement::NotEquipped {});
        } else if situation.verified(self.quantity).is_none() || situation.calibration.is_none() {
            said.say(Judgement::NothingToVerify {});
        }
        if self.standard.source.quantity() == self.quantity {
            said.say_all(self.too_uncertain(today));
        } else {
            said.say(Judgement::StandardOfOtherQuantity { point: 1 });
        }
        bottle::judge(1, &self.standard, today, &mut said);
        said.say_all(bottle::unstated(core::slice::from_ref(&self.standard), false));
        match self.independence(situation) {
            Independence::Independent => {}
            Independence::SameLot => said.say(Judgement::CheckNotIndependent {}),
            Independence::LotUnknown => said.say(Judgement::CheckLotUnknown {}),
        }
        said
    }

    /// A standard that cannot decide is told before anybody stands in it.
    fn too_uncertain(&self, today: i64) -> Option<Judgement> {
        let at = self.standard.source.celsius_near_25();
        let value = self.standard.value(at, today).ok()?;
        let u = value.standard_uncertainty?;
        let limit = self.criterion.limit(value.value);
        let cannot_pass = Tolerance::of(&limit).ok()?.is_narrower_than_guard_bands(u);
        let (expanded, limit) = (COVERAGE_FACTOR * u, limit.upper);
        cannot_pass.then_some(Judgement::CheckCannotPass { expanded, limit })
    }

    /// Whether the check standard could show an error of those that the coefficients rest on.
    pub(super) fn independence(&self, situation: &VerifySituation) -> Independence {
        independence(&self.standard, &situation.seen, situation.all_seen)
    }
}

/// Whether a check standard could show an error of those that coefficients rest on: `seen`, and others
/// besides unless these are `all`.
pub(in crate::routine) fn independence(
    standard: &Planned,
    seen: &[Point],
    all: bool,
) -> Independence {
    if matches!(standard.source, Source::Reference(Reference::Ice { .. })) {
        // Melting ice is made anew every time.
        return Independence::Independent;
    }
    let of_point = |point: &Point| {
        if point.lot.is_empty() || standard.lot.is_empty() {
            Independence::LotUnknown
        } else if point.lot == standard.lot {
            Independence::SameLot
        } else {
            Independence::Independent
        }
    };
    let of_all = |worst: Independence, next| match (worst, next) {
        (Independence::SameLot, _) | (_, Independence::SameLot) => Independence::SameLot,
        (Independence::LotUnknown, _) | (_, Independence::LotUnknown) => Independence::LotUnknown,
        _ => Independence::Independent,
    };
    let unseen = if all { Independence::Independent } else { Independence::LotUnknown };
    let same = seen.iter().filter(|point| may_be_the_solution_of(standard, point));
    same.map(of_point).fold(unseen, of_all)
}

/// Whether a check standard can be of the solution that a point was taken in: the same name, or, since a
/// bottle with values of its own is called whatever its owner likes, the same value.
fn may_be_the_solution_of(standard: &Planned, point: &Point) -> bool {
    let published = |name: &str| {
        buffers::by_name(name).is_some() || conductivity_standards::by_name(name).is_some()
    };
    if point.standard == standard.name {
        return true;
    }
    // Two reference thermometers agree in the same water and are two all the same.
    let is_bottle = standard.source.quantity() != Quantity::Temperature;
    if !is_bottle || (published(&point.standard) && published(&standard.name)) {
        return false;
    }
    let Ok(value) = standard.source.value(Celsius::new(point.temperature_c)) else {
        return false;
    };
    let u = libm::hypot(value.standard_uncertainty.unwrap_or(0.0), point.value_uncertainty);
    libm::fabs(value.value - point.value) <= SAME_WITHIN * u
}

#[cfg(test)]
#[path = "plan_tests.rs"]
mod tests;
