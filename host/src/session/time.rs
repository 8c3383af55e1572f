//! From probe time to UTC, the same while logging and in replay.
//!
//! A reading has the UTC of the mark before it plus what passed on the probe's clock since. Nothing is
//! interpolated: when the computer's clock is set, each side keeps its own anchor, and that is said.

use rillmark_proto::reading::{ProbeTime, Reading};

use super::entry::Mark;

/// How far UTC and another clock may part between two marks before one of them was set, in ms: more than a
/// line is late, less than a person would miss.
const PARTED_MS: u128 = 1_000;
/// The probe's clock may run wrong by one part in so many: 100 ppm, twice what usual crystals state
/// (common practice, no source).
const PROBE_PARTS: u128 = 10_000;
/// Where the clocks agree a mark is written this often.
const MARK_EVERY_MS: u64 = 600_000;

/// Why UTC does not go on evenly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The computer's clock was set.
    Set,
    /// It was, or the computer slept: the probe started anew, so nobody counted.
    SetOrSlept,
    /// The mark before came late, or the clock was set by little.
    Back,
}

/// UTC does not go on evenly before this reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClockSet {
    /// Number of the probe's start.
    pub boot: u32,
    /// Number of the reading.
    pub running: u32,
    /// By how many ms, positive forward.
    pub by_ms: i64,
    /// Why.
    pub why: Why,
}

/// Dates readings in their order by the marks before them.
#[derive(Clone, Debug, Default)]
pub struct Dating {
    anchor: Option<Mark>,
    /// The monotonic clock began anew since the last mark.
    is_new_run: bool,
    /// Readings may be missing since the last mark.
    is_after_gap: bool,
    /// By how many ms the last mark says that the clock was set.
    set: Option<(i64, Why)>,
    /// The last reading and its UTC.
    last: Option<(ProbeTime, i64)>,
}

impl Dating {
    /// Another run of the log begins; its monotonic clock says nothing about the one before.
    pub const fn begin(&mut self) {
        (self.is_new_run, self.is_after_gap) = (true, true);
    }

    /// Readings are missing from here on.
    pub const fn lose(&mut self) {
        self.is_after_gap = true;
    }

    /// Whether this has to be written before the reading that it dates: the first one, after a gap, where
    /// the computer's clocks disagree, where a reading comes before its time (no line is early), and every
    /// ten minutes.
    #[must_use]
    pub fn needs(&self, next: &Mark) -> bool {
        let Some(last) = self.anchor.filter(|last| last.boot == next.boot && !self.is_after_gap)
        else {
            return true;
        };
        let early =
            utc_ms(&last, ProbeTime { boot: next.boot, ms: next.probe_ms }).is_none_or(|utc_ms| {
                i128::from(utc_ms) - i128::from(next.at.utc_ms) > PARTED_MS as i128
            });
        let old = |now: u64, then: u64| now.abs_diff(then) >= MARK_EVERY_MS;
        early
            || old(next.probe_ms, last.probe_ms)
            || old(next.at.monotonic_ms, last.at.monotonic_ms)
            || self.by_monotonic(&last, next).is_some_and(|by| by.unsigned_abs() > PARTED_MS)
    }

    /// Takes a mark.
    pub fn mark(&mut self, next: &Mark) {
        if let Some(last) = self.anchor.replace(*next) {
            // That of a mark whose reading is gone stays to be told, unless it was set back.
            let before = self.set.take();
            self.set = match (before, self.set_between(&last, next)) {
                (Some((before, _)), Some((by, why))) => {
                    let by = before.saturating_add(by);
                    (u128::from(by.unsigned_abs()) > PARTED_MS).then_some((by, why))
                }
                (before, by) => by.or(before),
            };
        }
        (self.is_new_run, self.is_after_gap) = (false, false);
    }

    /// UTC of a reading in ms since 1970, `None` without a mark of its start; and whether the clock was set
    /// since the one before it.
    pub fn date(&mut self, reading: &Reading) -> (Option<i64>, Option<ClockSet>) {
        let time = reading.time;
        let anchor = self.anchor.filter(|anchor| anchor.boot == time.boot);
        let utc_ms = anchor.and_then(|anchor| utc_ms(&anchor, time));
        (utc_ms, self.dated(reading, utc_ms))
    }

    /// The same by a mark that comes later, when the one that belonged before the reading was lost.
    pub fn date_by(&mut self, later: &Mark, reading: &Reading) -> (Option<i64>, Option<ClockSet>) {
        let utc_ms = utc_ms(later, reading.time);
        (utc_ms, self.dated(reading, utc_ms))
    }

    /// Time never runs backwards unsaid, however little.
    fn dated(&mut self, reading: &Reading, utc_ms: Option<i64>) -> Option<ClockSet> {
        let utc_ms = utc_ms?;
        let time = reading.time;
        let back = self.last.replace((time, utc_ms)).and_then(|(then, before)| {
            let probe_went_on = then.boot != time.boot || then.ms <= time.ms;
            let back = utc_ms.saturating_sub(before);
            (back < 0 && probe_went_on).then_some((back, Why::Back))
        });
        let (by_ms, why) = self.set.take().or(back)?;
        Some(ClockSet { boot: time.boot, running: reading.running, by_ms, why })
    }

    /// How much more passed on UTC than on the monotonic clock, in ms.
    fn by_monotonic(&self, last: &Mark, next: &Mark) -> Option<i128> {
        let passed = i128::from(next.at.monotonic_ms) - i128::from(last.at.monotonic_ms);
        (!self.is_new_run).then(|| utc_passed(last, next) - passed)
    }

    fn set_between(&self, last: &Mark, next: &Mark) -> Option<(i64, Why)> {
        let parted = |by: &i128, most: u128| by.unsigned_abs() > most;
        let probe_passed = i128::from(next.probe_ms) - i128::from(last.probe_ms);
        let by_probe = (last.boot == next.boot).then(|| utc_passed(last, next) - probe_passed);
        let probe_most = PARTED_MS + probe_passed.unsigned_abs() / PROBE_PARTS;
        let (by, why) = match (self.by_monotonic(last, next), by_probe) {
            // A computer that sleeps stops its monotonic clock, but not the probe's.
            (Some(by), Some(by_probe)) if parted(&by_probe, probe_most) => {
                (if by.unsigned_abs() < by_probe.unsigned_abs() { by } else { by_probe }, Why::Set)
            }
            (None, Some(by_probe)) if parted(&by_probe, probe_most) => (by_probe, Why::Set),
            (Some(by), None) if by > 0 => (by, Why::SetOrSlept),
            (Some(by), None) => (by, Why::Set),
            _ => return None,
        };
        let by_ms = i64::try_from(by).unwrap_or(if by < 0 { i64::MIN } else { i64::MAX });
        parted(&by, PARTED_MS).then_some((by_ms, why))
    }
}

fn utc_passed(last: &Mark, next: &Mark) -> i128 {
    i128::from(next.at.utc_ms) - i128::from(last.at.utc_ms)
}

/// UTC of a mark, and what passed since on the probe's clock.
fn utc_ms(mark: &Mark, time: ProbeTime) -> Option<i64> {
    // i128 holds every sum and difference of 64-bit numbers.
    let utc = i128::from(mark.at.utc_ms) + i128::from(time.ms) - i128::from(mark.probe_ms);
    i64::try_from(utc).ok()
}

/// `2026-01-01T00:00:00.000Z`; `None` for years that the calendar does not reach.
#[must_use]
pub fn utc_text(utc_ms: i64) -> Option<String> {
    let timestamp = jiff::Timestamp::from_millisecond(utc_ms).ok()?;
    Some(timestamp.strftime("%Y-%m-%dT%H:%M:%S%.3fZ").to_string())
}

#[cfg(test)]
#[path = "time_tests.rs"]
mod tests;
