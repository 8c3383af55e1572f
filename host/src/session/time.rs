//! From probe time to UTC, the same while logging and in replay.
//!
//! A reading has the UTC of the mark before it plus what passed on the probe's clock since; of a mark that came
//! late, as the one before it says. Nothing is interpolated: when the computer's clock is set, each side keeps
//! its own anchor, and that is said.

use rillmark_proto::reading::{ProbeTime, Reading};

use super::entry::Mark;

/// How far UTC and another clock may part between two marks before one of them was set, in ms: more than a
/// line is late, less than a person would miss.
const PARTED_MS: i128 = 1_000;
/// The probe's clock may run wrong by one part in so many: 100 ppm, twice what usual crystals state
/// (common practice, no source).
const PROBE_PARTS: i128 = 10_000;
/// The longest that a line holds readings back, in ms: one that stays silent is given up and opened anew
/// after half of that. What is later is the probe's clock.
const HELD_MS: i128 = 60_000;
/// Where the clocks agree a mark is written this often.
const MARK_EVERY_MS: u64 = 600_000;

/// Why UTC does not go on evenly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Why {
    /// The computer's clock was set.
    Set,
    /// It was, or the computer slept: the probe started anew, so nobody counted.
    SetOrSlept,
    /// The clock was set by little.
    Back,
    /// The line held readings back: those before are dated so much too late.
    Late,
    /// The probe's clock did not go on as the computer's: it went back, stood still or jumped.
    Probe,
}

/// UTC does not go on evenly before this reading.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClockSet {
    /// Run of the log in this file, from 1.
    pub run: u64,
    /// Number of the probe's start.
    pub boot: u32,
    /// Number of the reading.
    pub running: u32,
    /// Its UTC in ms since 1970.
    pub utc_ms: i64,
    /// By how many ms, positive forward.
    pub by_ms: i64,
    /// Why.
    pub why: Why,
}

/// A mark as it would be had its reading come at once. i128 holds every sum and difference of 64-bit numbers.
#[derive(Clone, Copy, Debug)]
struct Anchor {
    boot: u32,
    probe_ms: i128,
    monotonic_ms: i128,
    utc_ms: i128,
}

impl Anchor {
    fn of(mark: &Mark) -> Self {
        Self {
            boot: mark.boot,
            probe_ms: mark.probe_ms.into(),
            monotonic_ms: mark.at.monotonic_ms.into(),
            utc_ms: mark.at.utc_ms.into(),
        }
    }

    fn earlier_by(self, ms: i128) -> Self {
        Self { monotonic_ms: self.monotonic_ms - ms, utc_ms: self.utc_ms - ms, ..self }
    }

    /// UTC of a reading: that of the mark, and what passed since on the probe's clock.
    fn utc_ms(&self, time: ProbeTime) -> Option<i64> {
        i64::try_from(self.utc_ms + i128::from(time.ms) - self.probe_ms).ok()
    }
}

/// What passed from one mark to the next.
struct Passed {
    utc_ms: i128,
    monotonic_ms: i128,
    probe_ms: i128,
}

impl Passed {
    const fn between(last: &Anchor, next: &Anchor) -> Self {
        Self {
            utc_ms: next.utc_ms - last.utc_ms,
            monotonic_ms: next.monotonic_ms - last.monotonic_ms,
            probe_ms: next.probe_ms - last.probe_ms,
        }
    }

    /// How much more passed on UTC than on the monotonic clock: the computer's clock was set so far, or it
    /// slept.
    const fn by_monotonic(&self) -> i128 {
        self.utc_ms - self.monotonic_ms
    }

    /// How much more passed on UTC than on the probe's clock: the computer's clock was set so far, or the
    /// line is later than it was.
    const fn by_probe(&self) -> i128 {
        self.utc_ms - self.probe_ms
    }

    /// How much later the line is than it was, as the computer's monotonic clock tells.
    const fn late(&self) -> i128 {
        self.monotonic_ms - self.probe_ms
    }

    /// How far the probe's clock may be wrong by now, rounded up.
    const fn drift(&self) -> i128 {
        (self.probe_ms / PROBE_PARTS).abs() + 1
    }
}

/// Dates readings in their order by the marks before them.
#[derive(Clone, Debug, Default)]
pub struct Dating {
    run: u64,
    anchor: Option<Anchor>,
    /// The monotonic clock began anew since the last mark.
    is_new_run: bool,
    /// Readings may be missing since the last mark.
    is_after_gap: bool,
    /// For how many ms the computer may have slept, less what passed since on the probe's clock alone: so late
    /// may come what waited meanwhile.
    slept_ms: i128,
    /// By how many ms the last mark says that UTC does not go on evenly.
    set: Option<(i128, Why)>,
    /// The last reading, its number and its UTC.
    last: Option<(ProbeTime, u32, i64)>,
}

impl Dating {
    /// Another run of the log begins; its monotonic clock says nothing about the one before.
    pub const fn begin(&mut self) {
        self.run += 1;
        (self.is_new_run, self.is_after_gap) = (true, true);
    }

    /// What came before is of another file or board, and dates nothing here.
    pub fn forget(&mut self) {
        *self = Self { run: self.run, is_new_run: true, ..Self::default() };
    }

    /// Readings are missing from here on.
    pub const fn lose(&mut self) {
        self.is_after_gap = true;
    }

    /// Whether this has to be written before the reading that it dates: the first one, after a gap, where
    /// the computer's clocks disagree, where a reading comes before its time (no line is early) or a minute
    /// behind it, and every ten minutes.
    #[must_use]
    pub fn needs(&self, next: &Mark) -> bool {
        let next = Anchor::of(next);
        let Some(last) = self.anchor.filter(|last| last.boot == next.boot && !self.is_after_gap)
        else {
            return true;
        };
        let passed = Passed::between(&last, &next);
        passed.by_probe() < -PARTED_MS
            || passed.late() > HELD_MS + passed.drift()
            || passed.probe_ms.abs() >= MARK_EVERY_MS.into()
            || passed.monotonic_ms.abs() >= MARK_EVERY_MS.into()
            || !self.is_new_run && passed.by_monotonic().abs() > PARTED_MS
    }

    /// Whether this reading does not go on from the last one by its number and the probe's clock, so that it
    /// has to be marked: where readings are gone from a file, a mark may be gone with them.
    #[must_use]
    pub fn breaks_off(&self, reading: &Reading) -> bool {
        let is_of_this_start = |(then, ..): &(ProbeTime, u32, i64)| then.boot == reading.time.boot;
        self.last.filter(is_of_this_start).is_some_and(|(then, running, _)| {
            running.checked_add(1) != Some(reading.running) || reading.time.ms <= then.ms
        })
    }

    /// Whether the probe's clock did not go on to this reading.
    fn stands(&self, reading: &Reading) -> bool {
        self.last.is_some_and(|(then, running, _)| {
            let time = reading.time;
            then.boot == time.boot && reading.running > running && time.ms <= then.ms
        })
    }

    /// Whether a mark must have been written since the last one, and is not there.
    #[must_use]
    pub fn lacks_a_mark(&self, reading: &Reading) -> bool {
        self.anchor.filter(|anchor| anchor.boot == reading.time.boot).is_some_and(|anchor| {
            (i128::from(reading.time.ms) - anchor.probe_ms).abs() >= MARK_EVERY_MS.into()
        })
    }

    /// Takes a mark.
    pub fn mark(&mut self, next: &Mark) {
        let next = Anchor::of(next);
        let (anchor, set) = match &self.anchor {
            Some(last) => self.follow(last, next),
            None => (next, None),
        };
        if let Some(passed) = self.anchor.map(|last| Passed::between(&last, &anchor)) {
            let slept = match passed.by_monotonic() {
                by if by > PARTED_MS => self.slept_ms + by,
                _ => self.slept_ms + passed.late().min(0),
            };
            self.slept_ms = if self.is_new_run { 0 } else { slept.max(0) };
        }
        self.anchor = Some(anchor);
        // That of a mark whose reading is gone stays to be told, unless it was set back.
        self.set = match (self.set.take(), set) {
            (Some((before, _)), Some((by, why))) => {
                let by = before + by;
                (by.abs() > PARTED_MS).then_some((by, why))
            }
            (before, by) => by.or(before),
        };
        (self.is_new_run, self.is_after_gap) = (false, false);
    }

    /// UTC of a reading in ms since 1970, `None` without a mark of its start; and whether UTC goes on evenly
    /// from the one before it.
    pub fn date(&mut self, reading: &Reading) -> (Option<i64>, Option<ClockSet>) {
        let time = reading.time;
        let anchor = self.anchor.filter(|anchor| anchor.boot == time.boot);
        let utc_ms = anchor.and_then(|anchor| anchor.utc_ms(time));
        (utc_ms, self.dated(reading, utc_ms))
    }

    /// The same by a mark that comes later, when the one that belonged before the reading was lost.
    pub fn date_by(&mut self, later: &Mark, reading: &Reading) -> (Option<i64>, Option<ClockSet>) {
        let utc_ms = Anchor::of(later).utc_ms(reading.time);
        (utc_ms, self.dated(reading, utc_ms))
    }

    /// Time never runs backwards unsaid, however little.
    fn dated(&mut self, reading: &Reading, utc_ms: Option<i64>) -> Option<ClockSet> {
        let utc_ms = utc_ms?;
        let time = reading.time;
        let stands = self.stands(reading);
        let uneven = self.last.and_then(|(then, _, before)| {
            let probe_went_on = then.boot != time.boot || then.ms <= time.ms;
            let back = i128::from(utc_ms) - i128::from(before);
            match back < 0 && probe_went_on {
                true => Some((back, Why::Back)),
                false => stands.then(|| (i128::from(time.ms) - i128::from(then.ms), Why::Probe)),
            }
        });
        self.last = Some((time, reading.running, utc_ms));
        let (by, why) = self.set.take().or(uneven)?;
        let by_ms = i64::try_from(by).unwrap_or(if by < 0 { i64::MIN } else { i64::MAX });
        let (run, boot, running) = (self.run, time.boot, reading.running);
        Some(ClockSet { run, boot, running, utc_ms, by_ms, why })
    }

    /// Where readings are anchored from a mark on, and by how much that is uneven.
    ///
    /// No line is early: of two marks that agree about everything else, the one of which less UTC passed on
    /// the probe's time is right, and the other one was late.
    fn follow(&self, last: &Anchor, next: Anchor) -> (Anchor, Option<(i128, Why)>) {
        let passed = Passed::between(last, &next);
        let (by, late, drift) = (passed.by_monotonic(), passed.late(), passed.drift());
        let most = PARTED_MS + drift;
        let is_back = self
            .last
            .is_some_and(|(then, ..)| then.boot == next.boot && next.probe_ms <= then.ms.into());
        // A clock that begins anew for another run is another start, whatever its number: the probe's store
        // was erased.
        let is_other_start =
            last.boot != next.boot || self.is_new_run && (is_back || passed.probe_ms < 0);
        if is_other_start {
            let why = if by > 0 { Why::SetOrSlept } else { Why::Set };
            return (next, (!self.is_new_run && by.abs() > PARTED_MS).then_some((by, why)));
        }
        if self.is_new_run {
            let by = passed.by_probe();
            return match by.abs() > most {
                true => (next, Some((by, Why::Set))),
                false => (next.earlier_by((by - drift).max(0)), None),
            };
        }
        // A computer that slept has a monotonic clock that is behind the probe's.
        let is_ahead = by <= PARTED_MS && -late > HELD_MS + drift + self.slept_ms;
        if is_back || is_ahead || late > HELD_MS + drift {
            return (next, Some((-late, Why::Probe)));
        }
        let held = (late - drift).max(0);
        let step = passed.by_probe() - held;
        let why = match () {
            () if step.abs() <= most => None,
            // The computer's own clock denies that it was set.
            () if by.abs() <= PARTED_MS => Some(Why::Late),
            () => Some(Why::Set),
        };
        (next.earlier_by(held), why.map(|why| (step, why)))
    }
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
