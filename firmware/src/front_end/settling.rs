//! Whether the electrode's input stands still behind its membrane.
//!
//! The input forgets a step with the time constant of membrane and cable, and no wait knows the membrane:
//! 0.1 s at 500 MΩ, a second when the same glass is 25 K colder, more when it is dry or clogged. So the
//! averages themselves say it, in one of two ways.
//!
//! - *Still*: five averages moved by next to nothing. What the firmware did is known, and so is when: soon after
//!   a step, one that has far to go moves fast, however slow it is, and faster than water. Late it may creep,
//!   and this says nothing.
//! - *Steady*: over some 7 s they moved evenly. Water does; a tail bends, for it slows down as it goes.
//!
//! What is neither stays open, until the longest time constant that is promised for is over by itself.

use crate::adc::Sum;
use crate::constants::{
    ELECTRODE_NV_PER_CODE, FAST_CELL_US, FAST_NV, FAST_POWER_US, STEADY_BEND_NV, STEADY_BLOCK,
    STEADY_MOVING_NV, STILL_AVERAGES, STILL_CELL_US, STILL_NV, STILL_POWER_US,
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
    /// For how long after it what still moved would move fast, for how long it can be told by standing still,
    /// and for how long it may last, in µs.
    const fn lasts_us(self) -> [u64; 3] {
        const THERMOMETER_US: u64 = WAIT_PH_US + STILL_THERMOMETER_US;
        match self {
            Self::Power => [FAST_POWER_US, STILL_POWER_US, TAIL_POWER_US],
            Self::Cell => [FAST_CELL_US, STILL_CELL_US, TAIL_CELL_US],
            Self::Thermometer => [THERMOMETER_US; 3],
        }
    }
}

/// A step that is perhaps on its way: times since the start in µs.
#[derive(Clone, Copy, Debug)]
struct Open {
    /// Until when a tail moves so fast that [`FAST_NV`] tells it from water.
    fast_until_us: u64,
    /// Until when standing still tells it.
    still_until_us: u64,
    until_us: u64,
}

/// Blocks that say whether the input moves evenly: three in each third.
const BLOCKS: usize = 9;

/// The last averages of the electrode, and which steps its input may be on its way from.
#[derive(Clone, Copy, Debug, Default)]
pub struct Settling {
    /// Oldest first.
    averages: [Sum; STILL_AVERAGES],
    count: usize,
    /// Whole blocks of [`STEADY_BLOCK`] averages, oldest first, and how many there are.
    blocks: [Sum; BLOCKS],
    blocks_count: usize,
    /// The block that is being filled.
    block: Sum,
    /// By [`Step`].
    open: [Option<Open>; 3],
}

impl Settling {
    /// The input was moved at this time: what was seen before says nothing of it.
    pub fn disturb(&mut self, now_us: u64, step: Step) {
        let [fast_us, still_us, lasts_us] = step.lasts_us();
        let mut open = self.open.map(|open| open.filter(|open| now_us < open.until_us));
        if step == Step::Power {
            // Nothing that was before is as far away as this.
            open = [None; 3];
        }
        open[step as usize] = Some(Open {
            fast_until_us: now_us + fast_us,
            still_until_us: now_us + still_us,
            until_us: now_us + lasts_us,
        });
        *self = Self { open, ..Self::default() };
    }

    /// Takes an average of 100 ms that ended at this time.
    pub fn push(&mut self, average: Sum, now_us: u64) {
        self.averages.rotate_left(1);
        self.averages[STILL_AVERAGES - 1] = average;
        self.count = (self.count + 1).min(STILL_AVERAGES);
        let is_early = self.of_open(now_us).all(|open| now_us <= open.still_until_us);
        let is_steady = self.watch(average) && self.is_steady();
        let is_first = self.of_open(now_us).all(|open| now_us <= open.fast_until_us);
        let most_nv = if is_first { FAST_NV } else { STILL_NV };
        if is_steady || (is_early && self.stands_still(most_nv)) {
            self.open = [None; 3];
        }
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

    /// True when the averages moved from the first two to the last two by no more than this. Noise alone makes
    /// nothing stand still: where it is so large that it moves them by more, it is waited for a quiet half second.
    fn stands_still(&self, most_nv: i64) -> bool {
        if self.count < STILL_AVERAGES || self.averages.iter().any(|each| each.clipped) {
            return false;
        }
        let [a, b, .., d, e] = self.averages.map(|each| each.codes);
        ((d + e) - (a + b)).abs() * ELECTRODE_NV_PER_CODE
            <= most_nv * i64::from(Sum::conversions(2))
    }

    /// Takes an average into the long watch; true when that made its last block whole and there are enough.
    fn watch(&mut self, average: Sum) -> bool {
        if average.clipped {
            (self.block, self.blocks_count) = (Sum::default(), 0);
            return false;
        }
        self.block = self.block.with(&average);
        if self.block.count < Sum::conversions(STEADY_BLOCK) {
            return false;
        }
        self.blocks.rotate_left(1);
        self.blocks[BLOCKS - 1] = core::mem::take(&mut self.block);
        self.blocks_count = (self.blocks_count + 1).min(BLOCKS);
        self.blocks_count == BLOCKS
    }

    /// True when the three thirds lie on a line but for [`STEADY_BEND_NV`].
    fn is_steady(&self) -> bool {
        let third = |n: usize| {
            let sum = self.blocks[3 * n..3 * n + 3].iter().map(|each| each.codes).sum::<i64>();
            sum * ELECTRODE_NV_PER_CODE / i64::from(Sum::conversions(3 * STEADY_BLOCK))
        };
        let (moved, bend) = (third(2) - third(0), third(2) - 2 * third(1) + third(0));
        bend.abs() <= STEADY_BEND_NV && moved.abs() <= STEADY_MOVING_NV
    }
}

#[cfg(test)]
#[path = "settling_tests.rs"]
mod tests;
