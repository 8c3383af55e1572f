//! Whether the electrode's input stands still behind its membrane.
//!
//! The input forgets a step with the time constant of membrane and cable, and no wait knows the membrane:
//! 0.1 s at 500 MΩ, a second when the same glass is 25 K colder, more when it is dry or clogged. So the
//! averages themselves say it, in one of two ways.
//!
//! - *Still*: five averages moved by next to nothing. What the firmware did is known, and so is when: soon after
//!   a step, one that has far to go moves fast, faster than most water.
//! - *Moving*: as fast as a second before, and not very fast. Water does that, and a glass that answers it; a tail
//!   of up to 2 s slows down.
//!
//! What is neither stays open, until a time constant of 5 s would be over by itself.

use crate::adc::Sum;
use crate::constants::{
    ELECTRODE_NV_PER_CODE, FAST_CELL_US, FAST_NV, FAST_POWER_US, STILL_AVERAGES, STILL_BEFORE,
    STILL_MOVING_NV, STILL_NV, STILL_THERMOMETER_US, TAIL_CELL_US, TAIL_POWER_US, WAIT_PH_US,
};

/// What moved the input.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// The sensor power came on: 1.65 V at the most.
    Power,
    /// A drive of the cell ended: 41 mV at the most.
    Cell,
    /// A drive of the thermometer ended, the cell open: 0.5 mV at the most.
    Thermometer,
}

impl Step {
    /// For how long after it what has far to go moves fast, and for how long it may last, in µs.
    const fn lasts_us(self) -> [u64; 2] {
        const THERMOMETER_US: u64 = WAIT_PH_US + STILL_THERMOMETER_US;
        match self {
            Self::Power => [FAST_POWER_US, TAIL_POWER_US],
            Self::Cell => [FAST_CELL_US, TAIL_CELL_US],
            Self::Thermometer => [THERMOMETER_US; 2],
        }
    }
}

/// A step that is perhaps on its way: times since the start in µs.
#[derive(Clone, Copy, Debug)]
struct Open {
    /// Until when a tail moves so fast that [`FAST_NV`] tells it from water.
    fast_until_us: u64,
    until_us: u64,
}

/// The last averages of the electrode, and which steps its input may be on its way from.
#[derive(Clone, Copy, Debug, Default)]
pub struct Settling {
    /// Oldest first.
    averages: [Sum; STILL_AVERAGES],
    count: usize,
    /// By how many nV they moved, once for each of the last averages, oldest first.
    moved: [Option<i64>; STILL_BEFORE],
    /// By [`Step`].
    open: [Option<Open>; 3],
}

impl Settling {
    /// The input was moved at this time: what was seen before says nothing of it.
    pub fn disturb(&mut self, now_us: u64, step: Step) {
        let [fast_us, lasts_us] = step.lasts_us();
        let mut open = self.open.map(|open| open.filter(|open| now_us < open.until_us));
        if step == Step::Power {
            // Nothing that was before is as far away as this.
            open = [None; 3];
        }
        open[step as usize] =
            Some(Open { fast_until_us: now_us + fast_us, until_us: now_us + lasts_us });
        *self = Self { open, ..Self::default() };
    }

    /// Takes an average of 100 ms that ended at this time.
    pub fn push(&mut self, average: Sum, now_us: u64) {
        self.averages.rotate_left(1);
        self.averages[STILL_AVERAGES - 1] = average;
        self.count = (self.count + 1).min(STILL_AVERAGES);
        let is_early = self.of_open(now_us).all(|open| now_us <= open.fast_until_us);
        let moved = self.moved_nv();
        if moved.is_some_and(|moved| self.is_at_rest(moved.abs(), is_early)) {
            self.open = [None; 3];
        }
        self.moved.rotate_left(1);
        self.moved[STILL_BEFORE - 1] = moved;
    }

    fn of_open(&self, now_us: u64) -> impl Iterator<Item = &Open> {
        self.open.iter().flatten().filter(move |open| now_us < open.until_us)
    }

    /// True when the input may still be on its way at this time.
    pub fn is_open(&self, now_us: u64) -> bool {
        self.of_open(now_us).next().is_some()
    }

    /// Averages without which nothing can be said of an input that may be on its way.
    pub fn missing(&self, now_us: u64) -> usize {
        if self.is_open(now_us) { STILL_AVERAGES - self.count } else { 0 }
    }

    /// The last averages together, [`STILL_AVERAGES`] at most.
    pub fn last(&self, averages: usize) -> Sum {
        self.averages.iter().rev().take(averages).fold(Sum::default(), |sum, each| sum.with(each))
    }

    /// True when the input stayed at an end of the converter's range, where nothing can be seen of it: an open
    /// one does, and one that is far away yet. There is nothing to wait for, and nothing is at rest.
    pub fn is_out_of_range(&self) -> bool {
        self.count == STILL_AVERAGES && self.averages.iter().all(|each| each.clipped)
    }

    /// By how many nV the averages moved from the first two to the last two; `None` before there are as many, or
    /// where one left the converter's range.
    fn moved_nv(&self) -> Option<i64> {
        let [a, b, .., d, e] = self.averages.map(|each| each.codes);
        let is_whole = self.count == STILL_AVERAGES && !self.averages.iter().any(|it| it.clipped);
        let two = i64::from(Sum::conversions(2));
        is_whole.then(|| ((d + e) - (a + b)) * ELECTRODE_NV_PER_CODE / two)
    }

    /// True for averages that moved by next to nothing, or as fast as they did a second before. Noise alone makes
    /// nothing stand still: where it is so large that it moves them by more, it is waited for a quiet half second.
    fn is_at_rest(&self, moved_nv: i64, is_early: bool) -> bool {
        let keeps_on = self.moved[0].is_some_and(|before| 4 * moved_nv >= 3 * before.abs());
        moved_nv <= if is_early { FAST_NV } else { STILL_NV }
            || (moved_nv <= STILL_MOVING_NV && keeps_on)
    }
}

#[cfg(test)]
#[path = "settling_tests.rs"]
mod tests;
