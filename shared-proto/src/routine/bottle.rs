//! What is to be said about a bottle before it is used: expired, open for long, or for a single use
//! and opened before.

use super::judgement::Judgement;
use super::limits::{self, Limit};
use super::said::Said;
use super::standard::Planned;
use crate::record::Quantity;

/// For how many days an open bottle of this kind is used, unless the plan says otherwise.
///
/// The kind follows from the value at 25 °C: an alkaline buffer and a weak conductivity standard take
/// up carbon dioxide from the air and keep less long.
pub fn default_opened_limit(planned: &Planned) -> Limit<u16> {
    let label = planned.source.near_25();
    match planned.source.quantity() {
        Quantity::Ph => match label {
            Some(ph) if ph > limits::ALKALINE_PH.value => limits::OPENED_ALKALINE_DAYS,
            _ => limits::OPENED_BUFFER_DAYS,
        },
        Quantity::Conductivity => match label {
            Some(us_cm) if us_cm < limits::WEAK_STANDARD_US_CM.value => limits::OPENED_WEAK_DAYS,
            _ => limits::OPENED_STANDARD_DAYS,
        },
        // A reference thermometer is no bottle: nothing of it is used up.
        Quantity::Temperature => limits::OPENED_NEVER_DAYS,
    }
}

/// Judges one bottle, number `point` counted from 1, on a day counted from 1970-01-01.
pub(super) fn judge(point: u8, planned: &Planned, today: i64, said: &mut Said) {
    let days_since = |day: i32| {
        let days = today.saturating_sub(i64::from(day));
        days.clamp(i64::from(-i32::MAX), i64::from(i32::MAX)) as i32
    };
    if let Some(days @ 1..) = planned.expiry_days.map(days_since) {
        said.say(match planned.source.quantity() {
            Quantity::Ph | Quantity::Conductivity => Judgement::StandardExpired { point, days },
            Quantity::Temperature => Judgement::ReferenceOverdue { point, days },
        });
    }
    let Some(days) = planned.opened_days.map(days_since) else { return };
    // A day is counted in UTC, so a bottle opened in the east this morning is a day ahead.
    if days < -1 {
        said.say(Judgement::OpenedInFuture { point, days: -days });
    } else if planned.single_use {
        if days > 0 {
            said.say(Judgement::SingleUseOpenedBefore { point, days });
        }
    } else {
        let default = || default_opened_limit(planned).value;
        let limit_days = planned.opened_limit_days.unwrap_or_else(default);
        if days > i32::from(limit_days) {
            said.say(Judgement::StandardLongOpen { point, days, limit_days });
        }
    }
}

#[cfg(test)]
#[path = "bottle_tests.rs"]
mod tests;
