//! What `log` and `replay` say alike of a session.

use serde_json::{Value, json};

use super::output::Table;
use crate::session::ends::Ends;
use crate::session::time::{ClockSet, Why};
use crate::words::en::session as words;

/// The most clock settings that are named one by one.
const NAMED: usize = 10;

/// Where the computer's clock was set, as JSON.
pub(super) fn clock_sets_json(sets: &[ClockSet]) -> Value {
    let each = |set: &ClockSet| {
        json!({
            "boot": set.boot,
            "running": set.running,
            "by_ms": set.by_ms,
            "why": match set.why {
                Why::Set => "set",
                Why::SetOrSlept => "set-or-slept",
                Why::Back => "back",
            },
        })
    };
    sets.iter().map(each).collect()
}

/// One of them in words.
pub(super) fn clock_sentence(set: &ClockSet) -> String {
    match set.why {
        Why::Set => words::clock_set(set.running, set.by_ms),
        Why::SetOrSlept => words::clock_set_or_slept(set.running, set.by_ms),
        Why::Back => words::clock_back(set.running, set.by_ms),
    }
}

/// The same for people.
pub(super) fn clock_set_rows(sets: &Ends<ClockSet>, table: &mut Table) {
    for set in sets.iter().take(NAMED) {
        table.row([words::CLOCK.to_owned(), clock_sentence(set)]);
    }
    if let Some(more) = sets.count().checked_sub(NAMED as u64).filter(|more| *more > 0) {
        table.row([words::CLOCK.to_owned(), words::set_more(more)]);
    }
}

/// Readings of a probe whose store was damaged.
pub(super) fn store_fault_row(readings: u64, table: &mut Table) {
    if readings > 0 {
        table.row([words::STORE_FAULT.to_owned(), words::store_fault(readings)]);
    }
}

/// Readings that came twice.
pub(super) fn doubled_rows(duplicates: u64, contradictions: u64, table: &mut Table) {
    if duplicates > 0 {
        table.row([words::DUPLICATES.to_owned(), words::duplicates(duplicates)]);
    }
    if contradictions > 0 {
        table.row([words::CONTRADICTIONS.to_owned(), words::contradictions(contradictions)]);
    }
}
