//! Whether the electrode's input stands still behind its membrane.
//!
//! The input forgets a step with the time constant of membrane and cable, and no wait knows the membrane:
//! 0.1 s at 500 MΩ, a second when the same glass is 25 K colder, more when it is dry or clogged. So the
//! last averages themselves say it, whatever the membrane is; a bound on time says when to stop asking.

use crate::adc::Sum;
use crate::constants::{
    ELECTRODE_NV_PER_CODE, STILL_AVERAGES, STILL_BEFORE, STILL_MOVING_NV, STILL_NV,
};

/// The last averages of the electrode, and until when its input may be on its way.
#[derive(Clone, Copy, Debug, Default)]
pub struct Settling {
    /// Oldest first.
    averages: [Sum; STILL_AVERAGES],
    count: usize,
    /// By how much they moved, once for each of the last averages, oldest first.
    moved: [Option<i64>; STILL_BEFORE],
    /// `None` once it stood still.
    open_until_us: Option<u64>,
}

impl Settling {
    /// Something moved the input; what still moves after this time since the start is the electrode itself,
    /// or its water.
    pub fn disturb(&mut self, until_us: u64) {
        let until_us = until_us.max(self.open_until_us.unwrap_or(0));
        *self = Self { open_until_us: Some(until_us), ..Self::default() };
    }

    /// Takes an average of 100 ms.
    pub fn push(&mut self, average: Sum) {
        self.averages.rotate_left(1);
        self.averages[STILL_AVERAGES - 1] = average;
        self.count = (self.count + 1).min(STILL_AVERAGES);
        let moved = self.moved();
        if self.count == STILL_AVERAGES && self.stands_still(moved) {
            self.open_until_us = None;
        }
        self.moved.rotate_left(1);
        self.moved[STILL_BEFORE - 1] = moved;
    }

    /// True once the input stood still since it was disturbed.
    pub fn has_settled(&self) -> bool {
        self.open_until_us.is_none()
    }

    /// True at this time since the start when the input may still be on its way.
    pub fn is_open(&self, now_us: u64) -> bool {
        self.open_until_us.is_some_and(|until| now_us < until)
    }

    /// Averages without which nothing can be said of an input that has not settled.
    pub fn missing(&self) -> usize {
        if self.has_settled() { 0 } else { STILL_AVERAGES - self.count }
    }

    /// The last averages together, [`STILL_AVERAGES`] at most.
    pub fn last(&self, averages: usize) -> Sum {
        self.averages.iter().rev().take(averages).fold(Sum::default(), |sum, each| sum.with(each))
    }

    /// By how many nV the averages moved from the first two to the last two; `None` before there are as many,
    /// or where one left the converter's range.
    fn moved(&self) -> Option<i64> {
        let [a, b, .., d, e] = self.averages.map(|each| each.codes);
        let is_whole = self.count == STILL_AVERAGES && !self.averages.iter().any(|it| it.clipped);
        let two = i64::from(Sum::conversions(2));
        is_whole.then(|| ((d + e) - (a + b)) * ELECTRODE_NV_PER_CODE / two)
    }

    /// True when the averages moved by no more than [`STILL_NV`], or stayed at an end of the converter's range;
    /// or moved as fast as they did before, which is the water or the glass. Noise alone makes nothing stand
    /// still: where it is so large that it moves them by more, it is waited for a quiet half second.
    fn stands_still(&self, moved: Option<i64>) -> bool {
        let Some(moved) = moved.map(i64::abs) else {
            return self.averages.iter().all(|each| each.clipped);
        };
        let keeps_on = self.moved[0].is_some_and(|before| 4 * moved >= 3 * before.abs());
        moved <= STILL_NV || (moved <= STILL_MOVING_NV && keeps_on)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::vec::Vec;

    /// An average of 50 codes whose mean is this many nV.
    fn average(nv: f64) -> Sum {
        let count = Sum::conversions(1);
        let codes = libm::round(nv * f64::from(count) / ELECTRODE_NV_PER_CODE as f64) as i64;
        Sum { codes, count, clipped: false }
    }

    fn after(nv: impl IntoIterator<Item = f64>) -> Settling {
        let mut settling = Settling::default();
        settling.disturb(1_000);
        nv.into_iter().for_each(|nv| settling.push(average(nv)));
        settling
    }

    #[test]
    fn it_takes_five_averages_and_time_has_an_end() {
        let mut settling = after([0.0; 4]);
        assert_eq!((settling.missing(), settling.has_settled()), (1, false));
        assert!(settling.is_open(999) && !settling.is_open(1_000));
        settling.push(average(0.0));
        assert!(settling.has_settled() && !settling.is_open(0));
        assert_eq!(settling.missing(), 0);
        settling.disturb(500);
        assert!(settling.is_open(499) && settling.missing() == 5);
        settling.disturb(400);
        assert!(settling.is_open(499), "the longer bound stays");
    }

    /// By hand, in µV: from the first two to the last two, 24 and 26.
    #[test]
    fn a_trend_is_told_from_next_to_nothing_whatever_the_noise() {
        for sign in [1e3, -1e3] {
            let settled = |uv: [f64; 5]| after(uv.map(|uv| sign * uv)).has_settled();
            assert!(settled([0.0, 8.0, 16.0, 24.0, 32.0]));
            assert!(!settled([0.0, 9.0, 17.0, 26.0, 35.0]));
            assert!(!settled([0.0, 100.0, 50.0, 200.0, 300.0]), "noise upon a trend");
            assert!(settled([0.0, 100.0, 50.0, 20.0, 60.0]), "noise alone");
        }
    }

    /// Water that moves by 27 µV in 0.3 s is known for what it is after a second more; faster than 0.25 mV it
    /// is taken for an input on its way, and so is what falls like one.
    #[test]
    fn what_moves_evenly_is_no_input_on_its_way() {
        let takes = |uv: &dyn Fn(f64) -> f64| {
            let mut settling = Settling::default();
            settling.disturb(u64::MAX);
            (0..200).find(|n| {
                settling.push(average(1e3 * uv(0.1 * f64::from(*n))));
                settling.has_settled()
            })
        };
        assert_eq!(takes(&|s| 90.0 * s), Some(14));
        assert_eq!(takes(&|s| 900.0 * s), None);
        // A slow glass, and a slow input that has 2.5 mV to go.
        assert_eq!(takes(&|s| 2_000.0 * libm::exp(-s / 10.0)), Some(14));
        let rest_uv = |tau_s: f64| {
            let at = |s: f64| 2_500.0 * libm::exp(-s / tau_s);
            at(0.1 * f64::from(takes(&at).expect("it settles")))
        };
        assert!(rest_uv(1.2) < 100.0 && rest_uv(2.0) < 150.0, "{} {}", rest_uv(1.2), rest_uv(2.0));
    }

    /// An open input stays at the end of the scale and is not waited for; one that comes from there is.
    #[test]
    fn what_comes_into_range_is_on_its_way() {
        let settled = |clipped: [bool; 5]| {
            let mut settling = after([]);
            let codes = i64::from(i16::MIN) * 50;
            clipped.iter().for_each(|&clipped| settling.push(Sum { codes, count: 50, clipped }));
            settling.has_settled()
        };
        assert!(settled([true; 5]) && settled([false; 5]));
        assert!(
            !settled([true, true, true, true, false])
                && !settled([true, false, false, false, false])
        );
    }

    /// Whatever the time constant up to 1.2 s, less than 0.1 mV is left in the mean of the five that were
    /// found to stand still, and of the last two: a window moves by 2 · sinh(0.15 s / τ) of what is left in
    /// its middle.
    #[test]
    fn less_than_a_tenth_of_a_millivolt_is_left() {
        for tau_s in [0.1, 0.2, 0.4, 0.64, 0.8, 1.0, 1.2] {
            for from_nv in [1.65e9, -85e6, 3e5] {
                let at = |n: i32| from_nv * libm::exp(-0.1 * f64::from(n) / tau_s);
                let mut settling = Settling::default();
                settling.disturb(u64::MAX);
                let mut seen = Vec::new();
                let mut n = 0;
                while !settling.has_settled() {
                    seen.push(at(n));
                    settling.push(average(at(n)));
                    n += 1;
                }
                for averages in [2, 5] {
                    let left = seen.iter().rev().take(averages).sum::<f64>() / averages as f64;
                    assert!(libm::fabs(left) < 1e5, "{tau_s} s: {left} nV");
                }
            }
        }
    }

    /// With noise of 8 µV on each average, more than a quiet probe has, still less than 0.2 mV: the noise in a
    /// difference of means of two is one average's, so that a trend of 24 + 3 · 8 = 48 µV is found to stand still
    /// once in some hundred windows at most, and four times that is left.
    #[test]
    fn noise_hides_little() {
        let mut state = 1_u64;
        // Sum of twelve even numbers, less six: nearly normal, of deviation 1.
        let mut noise = || {
            (0..12)
                .map(|_| {
                    state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
                    (state >> 11) as f64 / (1_u64 << 53) as f64
                })
                .sum::<f64>()
                - 6.0
        };
        for tau_s in [0.2, 0.5, 1.0, 1.2] {
            let mut worst = 0.0_f64;
            for _ in 0..500 {
                let at = |n: i32| -41e6 * libm::exp(-0.1 * f64::from(n) / tau_s);
                let mut settling = Settling::default();
                settling.disturb(u64::MAX);
                let mut n = 0;
                while !settling.has_settled() {
                    settling.push(average(at(n) + 8e3 * noise()));
                    n += 1;
                }
                let left = (n - 5..n).map(at).sum::<f64>() / 5.0;
                worst = worst.max(libm::fabs(left));
            }
            assert!(worst < 2e5, "{tau_s} s: {worst} nV");
        }
    }

    #[test]
    fn the_last_averages_are_put_together() {
        let settling = after([1e6, 2e6, 3e6, 4e6, 5e6, 6e6]);
        let last = settling.last(2);
        assert_eq!((last.codes, last.count), (average(5e6).codes + average(6e6).codes, 100));
        assert_eq!(settling.last(5).count, 250);
    }
}
