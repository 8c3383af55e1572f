//! What `log` and `replay` say alike of a session.

use serde_json::{Value, json};

use super::output::Table;
use super::record_view::utc;
use crate::session::ends::Ends;
use crate::session::time::{ClockSet, Why, utc_text};
use crate::words::en::session as words;

/// The most clock settings that are named one by one.
const NAMED: usize = 10;

/// Where the computer's clock was set, as JSON.
pub(super) fn clock_sets_json(sets: &[ClockSet]) -> Value {
    let each = |set: &ClockSet| {
        json!({
            "run": set.run,
            "boot": set.boot,
            "running": set.running,
            "utc": utc_text(set.utc_ms),
            "by_ms": set.by_ms,
            "why": match set.why {
                Why::Set => "set",
                Why::SetOrSlept => "set-or-slept",
                Why::Back => "back",
                Why::Late => "late",
                Why::Probe => "probe",
            },
        })
    };
    sets.iter().map(each).collect()
}

/// One of them in words.
pub(super) fn clock_sentence(set: &ClockSet) -> String {
    let before = words::before(set.running, &utc(set.utc_ms));
    match set.why {
        Why::Set => words::clock_set(&before, set.by_ms),
        Why::SetOrSlept => words::clock_set_or_slept(&before, set.by_ms),
        Why::Back => words::clock_back(&before, set.by_ms),
        Why::Late => words::line_late(&before, set.by_ms),
        Why::Probe => words::probe_clock(&before, set.by_ms),
    }
}

/// The same for people.
pub(super) fn clock_set_rows(sets: &Ends<ClockSet>, table: &mut Table) {
    let several = sets.iter().any(|set| set.run > 1);
    for set in sets.iter().take(NAMED) {
        let said = match several {
            true => words::in_run(set.run, &clock_sentence(set)),
            false => clock_sentence(set),
        };
        table.row([words::CLOCK.to_owned(), said]);
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
