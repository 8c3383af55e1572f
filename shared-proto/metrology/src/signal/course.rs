//! The whole course of a signal since its sensor was placed, and the time constant that it came to rest
//! with.
//!
//! A window forgets how the approach began; here it is kept, as means of more and more neighbours, however
//! long it takes.

use heapless::Vec;

use super::approach::{Past, noise_of};
use crate::least_squares::{self, Line, Observation, two_sided_95};

/// The most means that are kept.
const MOST: usize = 64;
/// Time constants of the grid in an octave …
const PER_OCTAVE: f64 = 6.0;
/// … between which the best is found to within 0.01 %.
const HALVINGS: usize = 10;
/// The fewest means that are fitted.
const LEAST: usize = 12;
/// The longest span in time constants: before that nothing is left of the approach.
const MOST_CONSTANTS: f64 = 40.0;
/// The shortest span in time constants: a shorter piece of an approach is as good as straight.
const LEAST_CONSTANTS: f64 = 1.0;
/// Residuals above this many times the noise are no noise: there is more than one approach.
const MOST_SCATTER: f64 = 1.5;
/// An approach stands out when its size is this many times the half width of its 95 % interval, …
const STANDS_OUT: f64 = 3.0;
/// … and the time constants that noise leaves possible are within this factor.
const TOLD_WITHIN: f64 = 2.0;
/// Coefficients: end, size, time constant.
const COEFFICIENTS: usize = 3;

/// Sum of neighbours that become one mean.
#[derive(Clone, Copy, Debug, Default)]
struct Sum {
    count: u32,
    ms: f64,
    value: f64,
}

/// A course, oldest first.
#[derive(Clone, Debug)]
pub struct Course {
    /// How many readings a mean is of.
    each: u32,
    filling: Sum,
    /// Probe time in ms and value.
    means: Vec<(f64, f64), MOST>,
}

impl Default for Course {
    fn default() -> Self {
        Self { each: 1, filling: Sum::default(), means: Vec::new() }
    }
}

impl Course {
    /// Takes a reading at this probe time.
    pub fn push(&mut self, ms: u64, value: f64) {
        if self.means.is_full() {
            let pairs = self.means.chunks_exact(2);
            let mean = |pair: &[(f64, f64)]| {
                (f64::midpoint(pair[0].0, pair[1].0), f64::midpoint(pair[0].1, pair[1].1))
            };
            self.means = pairs.map(mean).collect();
            self.each *= 2;
        }
        let Sum { count, ms: sum_ms, value: sum } = self.filling;
        // A probe's milliseconds fit f64's 53 bits.
        let filled = Sum { count: count + 1, ms: sum_ms + ms as f64, value: sum + value };
        self.filling = filled;
        if filled.count >= self.each {
            let parts = f64::from(filled.count);
            // There is room: half of it was made above.
            let _ = self.means.push((filled.ms / parts, filled.value / parts));
            self.filling = Sum::default();
        }
    }

    /// The time constant in s of the slow part: of the longest piece up to now that is a single approach
    /// within noise of at least `noise`, also of means. Up to `slowest_ms` is looked for. `None` where no approach stands out, or where noise leaves open how fast it was by more than a
    /// factor of two.
    #[must_use]
    pub fn time_constant_s(&self, slowest_ms: f64, noise: f64) -> Option<f64> {
        let (last, _) = *self.means.last()?;
        let past = |(ms, value): &(f64, f64)| Past { age_ms: last - ms, value: *value };
        let all: Vec<Past, MOST> = self.means.iter().map(past).collect();
        // At first it may be too steep for noise to be told by how far means are from their neighbours' line.
        let noise = libm::fmax(noise, noise_of(&all[all.len() / 2..]));
        // Quarters are left out, the oldest first.
        (0..4).find_map(|left_out| single(&all[all.len() * left_out / 4..], slowest_ms, noise))?
    }
}

/// The time constant of a single approach in s: `None` when the readings are none, `Some(None)` when it
/// cannot be told.
fn single(readings: &[Past], slowest_ms: f64, noise: f64) -> Option<Option<f64>> {
    if readings.len() < LEAST {
        return None;
    }
    let span_ms = readings.first()?.age_ms;
    let degrees = readings.len() - COEFFICIENTS;
    let line = |tau_ms: f64| {
        let exponential =
            |past: &Past| Observation::new(libm::exp(past.age_ms / tau_ms), past.value);
        Some((least_squares::fit(readings.iter().map(exponential)).ok()?, tau_ms))
    };
    let lines = || {
        (0..)
            .map(|step| slowest_ms * libm::exp2(-f64::from(step) / PER_OCTAVE))
            .take_while(|tau_ms| span_ms <= MOST_CONSTANTS * tau_ms)
            .filter_map(line)
    };
    let squares = |(line, _): &(Line, f64)| line.sum_of_squares;
    let of_grid = lines().min_by(|a, b| squares(a).total_cmp(&squares(b)))?;
    let (best, tau_ms) = between(of_grid, line);
    let scatter = libm::sqrt(best.sum_of_squares / degrees as f64);
    if scatter > MOST_SCATTER * noise {
        return None;
    }
    let reach = two_sided_95(degrees)? * libm::fmax(scatter, noise);
    let half = reach * libm::sqrt(best.covariance().slope);
    let possible = || {
        let limit = best.sum_of_squares + reach * reach;
        lines().filter(move |(line, _)| line.sum_of_squares <= limit).map(|(_, tau_ms)| tau_ms)
    };
    let slowest = possible().fold(tau_ms, libm::fmax);
    let fastest = possible().fold(tau_ms, libm::fmin);
    let told = libm::fabs(best.slope) > STANDS_OUT * half
        && slowest <= TOLD_WITHIN * fastest
        && span_ms >= LEAST_CONSTANTS * tau_ms
        && slowest < slowest_ms;
    Some(told.then_some(tau_ms / 1000.0))
}

/// The best line between the grid's best and its neighbours, by halving the step towards the better side.
fn between(of_grid: (Line, f64), line: impl Fn(f64) -> Option<(Line, f64)>) -> (Line, f64) {
    let (mut best, mut step) = (of_grid, 0.5 / PER_OCTAVE);
    for _ in 0..HALVINGS {
        for factor in [libm::exp2(step), libm::exp2(-step)] {
            best = line(best.1 * factor)
                .filter(|(line, _)| line.sum_of_squares < best.0.sum_of_squares)
                .unwrap_or(best);
        }
        step /= 2.0;
    }
    best
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::Course;

    const SLOWEST_MS: f64 = 600_000.0;

    /// A reading every 0.3 s with a noise of 0.02 that looks random and is the same in every run.
    fn course(seconds: f64, value: impl Fn(f64) -> f64) -> Course {
        let mut course = Course::default();
        let mut random = 1u64;
        for n in 0..(seconds / 0.3) as u64 {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            let noise = ((random >> 33) as f64 / f64::from(1u32 << 31) - 0.5) * 0.07;
            course.push(10_000 + 300 * n, value(0.3 * n as f64) + noise);
        }
        course
    }

    proptest! {
        /// Waited for five time constants and ten seconds, a sound approach is told within 15 %.
        #[test]
        fn finds_one_time_constant(tau in 2.0f64..150.0, size in 20.0f64..300.0, up: bool) {
            let size = if up { size } else { -size };
            let found = course(5.0 * tau + 10.0, |s| size * libm::exp(-s / tau));
            let found = found.time_constant_s(SLOWEST_MS, 0.01);
            let found = found.expect("it stands out");
            prop_assert!(libm::fabs(found / tau - 1.0) < 0.15, "{found} for {tau}");
        }

        /// A part of 10 s over a part of 60 to 150 s: what is told is about the slow one.
        #[test]
        fn finds_the_slow_part_of_two(slow in 60.0f64..150.0, part in 0.1f64..0.4) {
            let left = |s: f64| 150.0 * (part * libm::exp(-s / slow) + (1.0 - part) * libm::exp(-s / 10.0));
            let found = course(4.0 * slow, left).time_constant_s(SLOWEST_MS, 0.01);
            if let Some(found) = found {
                prop_assert!(libm::fabs(found / slow - 1.0) < 0.3, "{found} for {slow}");
            }
        }
    }

    #[test]
    fn the_slow_part_of_two_is_mostly_found() {
        let found = (0..20).filter(|n| {
            let slow = 60.0 + 4.0 * f64::from(*n);
            let left = |s: f64| 40.0 * libm::exp(-s / slow) + 110.0 * libm::exp(-s / 10.0);
            course(4.0 * slow, left).time_constant_s(SLOWEST_MS, 0.01).is_some()
        });
        assert!(found.count() >= 18);
    }

    #[test]
    fn nothing_is_told_where_no_approach_stands_out() {
        let none = |course: Course| course.time_constant_s(SLOWEST_MS, 0.01);
        assert_eq!(none(course(60.0, |_| 0.0)), None, "rest");
        assert_eq!(none(course(60.0, |s| 0.05 * s)), None, "a straight line");
        assert_eq!(none(course(2.0, |s| 100.0 * libm::exp(-s / 5.0))), None, "too short");
        assert_eq!(none(course(60.0, |s| 0.05 * libm::exp(-s / 10.0))), None, "within noise");
    }
}
