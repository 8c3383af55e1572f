//! Whether the electrode's input stands still behind its membrane.
//!
//! The input forgets a step with the time constant of membrane and cable, and no wait knows the membrane:
//! 0.1 s at 500 MΩ, a second when the same glass is 25 K colder, more when it is dry or clogged. So the
//! averages themselves say it, in one of two ways.
//!
//! - *Still*: five averages moved by next to nothing.
//! - *Moving*: as fast as a second before, and not very fast. Water does that, and a glass that answers it; a tail
//!   of up to 2 s slows down.
//!
//! What is neither stays open, until a time constant of 5 s would be over by itself.

use crate::adc::Sum;
use crate::constants::{
    ELECTRODE_NV_PER_CODE, STILL_AVERAGES, STILL_BEFORE, STILL_MOVING_NV, STILL_NV,
    STILL_THERMOMETER_US, TAIL_CELL_US, TAIL_POWER_US, WAIT_PH_US,
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
    /// For how long it may last, in µs.
    const fn lasts_us(self) -> u64 {
        match self {
            Self::Power => TAIL_POWER_US,
            Self::Cell => TAIL_CELL_US,
            Self::Thermometer => WAIT_PH_US + STILL_THERMOMETER_US,
        }
    }
}

/// The last averages of the electrode, and until when its input may be on its way.
#[derive(Clone, Copy, Debug, Default)]
pub struct Settling {
    /// Oldest first.
    averages: [Sum; STILL_AVERAGES],
    count: usize,
    /// By how many nV they moved, once for each of the last averages, oldest first.
    moved: [Option<i64>; STILL_BEFORE],
    /// In µs since the start; `None` once it was at rest.
    open_until_us: Option<u64>,
}

impl Settling {
    /// The input was moved at this time: what was seen before says nothing of it.
    pub fn disturb(&mut self, now_us: u64, step: Step) {
        let until_us = (now_us + step.lasts_us()).max(self.open_until_us.unwrap_or(0));
        *self = Self { open_until_us: Some(until_us), ..Self::default() };
    }

    /// Takes an average of 100 ms.
    pub fn push(&mut self, average: Sum) {
        self.averages.rotate_left(1);
        self.averages[STILL_AVERAGES - 1] = average;
        self.count = (self.count + 1).min(STILL_AVERAGES);
        let moved = self.moved_nv();
        if moved.is_some_and(|moved| self.is_at_rest(moved.abs())) {
            self.open_until_us = None;
        }
        self.moved.rotate_left(1);
        self.moved[STILL_BEFORE - 1] = moved;
    }

    /// True when the input may still be on its way at this time.
    pub fn is_open(&self, now_us: u64) -> bool {
        self.open_until_us.is_some_and(|until| now_us < until)
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
    fn is_at_rest(&self, moved_nv: i64) -> bool {
        let keeps_on = self.moved[0].is_some_and(|before| 4 * moved_nv >= 3 * before.abs());
        moved_nv <= STILL_NV || (moved_nv <= STILL_MOVING_NV && keeps_on)
    }
}

#[cfg(test)]
#[path = "settling_tests.rs"]
mod tests;
