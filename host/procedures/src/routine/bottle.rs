//! What is to be said about a bottle before it is used: expired, open for long, for a single use and
//! opened before, made with the wrong water, changed by air, or with nothing stated.

use super::judgement::Judgement;
use super::limits::{self, Limit};
use super::said::Said;
use super::standard::{Made, Open, Planned, TAP_PH, TAP_US_CM, volume};
use rillmark_metrology::decision::COVERAGE_FACTOR;
use rillmark_proto::record::{Quantity, Vessel, Water};

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
    made(point, planned, today, said);
    let since = match planned.made {
        Made::Sachet(dissolved) => Some(dissolved.days),
        Made::Bought | Made::Weighed => planned.opened_days,
    };
    let Some(days) = since.map(days_since) else { return };
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

/// What was done to a bottle, and what that makes of its value.
fn made(point: u8, planned: &Planned, today: i64, said: &mut Said) {
    let near_25 = planned.source.celsius_near_25();
    let Ok(taken) = planned.value(near_25, today) else { return };
    let quantity = planned.source.quantity();
    if let Made::Sachet(dissolved) = planned.made {
        match (quantity, dissolved.water) {
            (Quantity::Conductivity, Water::Tap) => {
                let (least, most) = TAP_US_CM;
                let percent = |us_cm: f64| 100.0 * us_cm / taken.value;
                let (least_percent, most_percent) = (percent(least), percent(most));
                said.say(Judgement::TapInStandard { point, least_percent, most_percent });
            }
            (Quantity::Ph, Water::Tap) => {
                said.say(Judgement::TapInBuffer { point, up_to_ph: TAP_PH });
            }
            _ => {}
        }
        if (quantity, dissolved.vessel) == (Quantity::Conductivity, Vessel::ByEye) {
            let expanded_percent = 100.0 * COVERAGE_FACTOR * volume(Vessel::ByEye);
            said.say(Judgement::WaterByEye { point, expanded_percent });
        }
    }
    let up_to = libm::fabs(planned.added(near_25, today).most);
    if up_to == 0.0 {
        return;
    }
    said.say(match (quantity, planned.open(today)) {
        (Quantity::Conductivity, _) => {
            Judgement::WaterAddsToStandard { point, up_to_us_cm: up_to, taken_us_cm: taken.value }
        }
        (_, Open::UpTo(limit_days)) => Judgement::AirMayLowerBuffer {
            point,
            limit_days,
            up_to_ph: up_to,
            taken_ph: taken.value,
        },
        (_, open) => Judgement::AirLowersBuffer {
            point,
            days: open.most_days(),
            up_to_ph: up_to,
            taken_ph: taken.value,
        },
    });
}

/// What is to be said about bottles of which nobody said how well they are known; the last one may be for
/// the closing check alone.
pub(super) fn unstated(all: &[Planned], checks_apart: bool) -> Option<Judgement> {
    let expanded = |planned: &Planned| {
        let value = planned.source.value(planned.source.celsius_near_25()).ok()?;
        Some((COVERAGE_FACTOR * planned.content(value), value.value))
    };
    let is_unstated = |planned: &&Planned| {
        planned.stated.is_none() && planned.source.quantity() != Quantity::Temperature
    };
    let bottles = all.iter().filter(is_unstated);
    let numbers = || (1..).zip(all).filter(|(_, planned)| is_unstated(planned));
    let which = numbers().fold(0, |which, (number, _): (u8, _)| which | 1 << (number - 1));
    let last = numbers().last().map(|(number, _)| number);
    let closing = last.filter(|last| checks_apart && usize::from(*last) == all.len()).unwrap_or(0);
    let standards = u8::try_from(bottles.clone().count()).unwrap_or(u8::MAX);
    let quantity = bottles.clone().next()?.source.quantity();
    let best = bottles.filter_map(expanded).map(|(expanded, value)| match quantity {
        Quantity::Conductivity => 100.0 * expanded / value,
        Quantity::Ph | Quantity::Temperature => expanded,
    });
    let best = best.reduce(libm::fmin)?;
    Some(match quantity {
        Quantity::Conductivity => {
            Judgement::StandardsUnstated { standards, which, closing, expanded_percent: best }
        }
        Quantity::Ph | Quantity::Temperature => {
            Judgement::BuffersUnstated { standards, which, closing, expanded_ph: best }
        }
    })
}

#[cfg(test)]
#[path = "bottle_tests.rs"]
mod tests;
