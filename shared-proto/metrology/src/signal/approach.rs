//! An exponential approach fitted to readings: how much change is still to come.
//!
//! value(t) = end − to_come · exp(−(t − now)/τ). For one τ that is a straight line, so τ is looked for
//! on a grid of thirds of an octave and every line is weighed by its sum of squares. Every τ whose
//! sum of squares is no worse than the best by what noise explains counts as possible (the
//! profile's 95 % interval).

use heapless::Vec;

use crate::least_squares::{self, Line, Observation, two_sided_95};

/// Time constants of the grid in an octave.
const PER_OCTAVE: usize = 3;
/// Octaves below the slowest time constant that are looked at: down to a sixty-fourth of it.
const OCTAVES: usize = 6;
const GRID: usize = PER_OCTAVE * OCTAVES;
/// The most readings that are fitted; of more, neighbours are taken together by their means.
const MOST_READINGS: usize = 32;
/// The shortest time constant looked for, as a part of the span: what is faster has left nothing.
const FASTEST_PART: f64 = 0.1;
/// The fewest readings that are fitted …
const LEAST_READINGS: usize = 8;
/// … and the fewest of a later half or quarter.
const LEAST_LATER: usize = 16;
/// Residuals above this many times the noise are no noise: there is more than one approach.
const MOST_SCATTER: f64 = 1.5;
/// The change still to come is told when its interval ends below this many times where it begins.
const TOLD_WITHIN: f64 = 3.0;
/// Coefficients: end, change still to come, time constant.
const COEFFICIENTS: usize = 3;

/// A reading as an approach sees it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Past {
    /// How long before the last reading, in ms.
    pub age_ms: f64,
    /// The signal.
    pub value: f64,
}

/// What readings say about an approach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Approach {
    /// Change still to come, in the signal's unit: end less present value.
    pub to_come: f64,
    /// Time constant in ms.
    pub time_constant_ms: f64,
}

/// Observations of the values against exp(age/τ).
fn against(readings: &[Past], tau_ms: f64) -> Vec<Observation, MOST_READINGS> {
    let exponential = |past: &Past| Observation::new(libm::exp(past.age_ms / tau_ms), past.value);
    readings.iter().map(exponential).collect()
}

/// A line of the values against exp(age/τ), whose slope is the present value less the end, with its τ
/// in ms.
type Possible = (Line, f64);

/// The lines of the grid, slowest first, as far as there is a line. Half a time constant squares the
/// exponential, so that few are worked out.
fn grid(readings: &[Past], span_ms: f64, slowest_ms: f64) -> [Option<Possible>; GRID] {
    let mut lines = [None; GRID];
    for phase in 0..PER_OCTAVE {
        let mut tau_ms = slowest_ms * libm::exp2(-(phase as f64) / PER_OCTAVE as f64);
        let mut observations = against(readings, tau_ms);
        for octave in 0..OCTAVES {
            if tau_ms < FASTEST_PART * span_ms {
                break;
            }
            lines[octave * PER_OCTAVE + phase] =
                least_squares::fit(observations.iter().copied()).ok().map(|line| (line, tau_ms));
            tau_ms /= 2.0;
            for observation in &mut observations {
                observation.x *= observation.x;
            }
        }
    }
    lines
}

/// The best line between those of the grid: by the parabola through the sums of squares of the grid's
/// best and its neighbours.
fn best(readings: &[Past], lines: &[Option<Possible>; GRID]) -> Option<Possible> {
    let squares = |index: usize| Some(lines.get(index)?.as_ref()?.0.sum_of_squares);
    let middle = (0..GRID).filter(|index| lines[*index].is_some()).min_by(|a, b| {
        squares(*a).unwrap_or(f64::MAX).total_cmp(&squares(*b).unwrap_or(f64::MAX))
    })?;
    let (line, tau_ms) = lines[middle]?;
    let neighbours = middle.checked_sub(1).and_then(squares).zip(squares(middle + 1));
    let Some((slower, faster)) = neighbours else {
        return Some((line, tau_ms));
    };
    let bend = slower - 2.0 * line.sum_of_squares + faster;
    if bend <= 0.0 {
        return Some((line, tau_ms));
    }
    let steps = 0.5 * (slower - faster) / bend;
    let between_ms = tau_ms * libm::exp2(-steps / PER_OCTAVE as f64);
    let between = least_squares::fit(against(readings, between_ms)).ok()?;
    let better = between.sum_of_squares < line.sum_of_squares;
    Some(if better { (between, between_ms) } else { (line, tau_ms) })
}

/// Standard deviation of the noise, from second differences: a smooth course hardly shows in them.
pub(super) fn noise_of(readings: &[Past]) -> f64 {
    let mut squares = 0.0;
    let mut count = 0_u32;
    for three in readings.windows(3) {
        let [a, b, c] = [three[0], three[1], three[2]];
        // The middle reading against the line through its neighbours, however they are spaced.
        let part = (a.age_ms - b.age_ms) / (a.age_ms - c.age_ms);
        let off = b.value - a.value - part * (c.value - a.value);
        let variances = 1.0 + part * part + (1.0 - part) * (1.0 - part);
        squares += off * off / variances;
        count += 1;
    }
    libm::sqrt(squares / f64::from(count.max(1)))
}

/// Means of neighbours, as many together as it takes for all to be fitted; the newest stand last.
fn together(readings: &[Past]) -> Vec<Past, MOST_READINGS> {
    let count = readings.len().div_ceil(MOST_READINGS).max(1);
    let mean = |some: &[Past]| {
        let parts = some.len() as f64;
        let age_ms = some.iter().map(|past| past.age_ms).sum::<f64>() / parts;
        Past { age_ms, value: some.iter().map(|past| past.value).sum::<f64>() / parts }
    };
    // From the newest on, so that what is left over is the oldest.
    let mut means: Vec<Past, MOST_READINGS> = readings.rchunks(count).map(mean).collect();
    means.reverse();
    means
}

/// Fits an approach with a time constant of up to `slowest_ms` to readings, oldest first, whose
/// standard deviation is at least `noise`, also of means of neighbours.
///
/// All readings are fitted, and if they are no single approach, the later half, or the last
/// quarter. `None` when none of them is one, or when noise or too straight a drift leaves open how
/// much is still to come.
pub fn fit(readings: &[Past], slowest_ms: f64, noise: f64) -> Option<Approach> {
    let piece = |count: usize| {
        let means = together(&readings[readings.len() - count..]);
        single(&means, slowest_ms, libm::fmax(noise, noise_of(&means)))
    };
    let later = [2, 4].map(|part| readings.len() / part).into_iter();
    core::iter::once(readings.len())
        .chain(later.filter(|count| *count >= LEAST_LATER))
        .find_map(piece)
        .flatten()
}

/// A single approach: `None` when the readings are none, `Some(None)` when its end is open.
fn single(readings: &[Past], slowest_ms: f64, noise: f64) -> Option<Option<Approach>> {
    if readings.len() < LEAST_READINGS {
        return None;
    }
    let span_ms = readings.first()?.age_ms;
    let degrees = readings.len() - COEFFICIENTS;
    let factor = two_sided_95(degrees)?;
    let lines = grid(readings, span_ms, slowest_ms);
    let (best, time_constant_ms) = best(readings, &lines)?;
    let scatter = libm::sqrt(best.sum_of_squares / degrees as f64);
    if scatter > MOST_SCATTER * noise {
        return None;
    }
    let reach = factor * libm::fmax(scatter, noise);
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    let lines = lines.iter().flatten().map(|(line, _)| line).chain([&best]);
    for line in lines.filter(|line| line.sum_of_squares <= best.sum_of_squares + reach * reach) {
        let half = reach * libm::sqrt(line.covariance().slope);
        lowest = libm::fmin(lowest, line.slope - half);
        highest = libm::fmax(highest, line.slope + half);
    }
    let (near, far) = if best.slope > 0.0 { (lowest, highest) } else { (-highest, -lowest) };
    let told = near > 0.0 && far <= TOLD_WITHIN * near;
    Some(told.then_some(Approach { to_come: -best.slope, time_constant_ms }))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::{Past, fit};

    fn readings(to_come: f64, tau_ms: f64, count: u32) -> std::vec::Vec<Past> {
        let reading = |n| {
            let age_ms = 300.0 * f64::from(count - 1 - n);
            Past { age_ms, value: 40.0 - to_come * libm::exp(age_ms / tau_ms) }
        };
        (0..count).map(reading).collect()
    }

    proptest! {
        /// Between the grid's steps of a third of an octave a parabola finds the time constant to
        /// 5 % and, over a window of one to four time constants, the change to 10 %.
        #[test]
        fn finds_a_clean_approach(size in 0.5_f64..50.0, sign: bool, tau_ms in 6_000.0..24_000.0) {
            let to_come = if sign { size } else { -size };
            let found = fit(&readings(to_come, tau_ms, 80), 120_000.0, 0.001).unwrap();
            prop_assert!(libm::fabs(found.time_constant_ms / tau_ms - 1.0) < 0.05, "{found:?}");
            prop_assert!(libm::fabs(found.to_come / to_come - 1.0) < 0.1, "{found:?}");
        }

        /// Where the noise is as large as the whole change within the window, nothing is told.
        #[test]
        fn tells_nothing_within_the_noise(to_come in 0.0..1.0, tau_ms in 30_000.0..100_000.0) {
            prop_assert_eq!(fit(&readings(to_come, tau_ms, 80), 120_000.0, 2.0), None);
        }
    }

    #[test]
    fn tells_a_slow_approach_under_a_fast_one_or_nothing() {
        // 160 mV of 1.5 s, and 18 mV of 10 s: while both are in the window, neither stands for both.
        for end_ms in (4_000..40_000).step_by(1_000) {
            let at = |age_ms: f64| f64::from(end_ms) - age_ms;
            let left =
                |ms: f64| 160.0 * libm::exp(-ms / 1_500.0) + 18.0 * libm::exp(-ms / 10_000.0);
            let count = (end_ms / 300).min(80);
            let readings: std::vec::Vec<_> = (0..count)
                .map(|n| 300.0 * f64::from(count - 1 - n))
                .map(|age_ms| Past { age_ms, value: -left(at(age_ms)) })
                .collect();
            if let Some(found) = fit(&readings, 120_000.0, 0.01) {
                let factor = found.to_come / left(f64::from(end_ms));
                assert!((0.5..2.0).contains(&factor), "{end_ms} ms: {found:?}, {factor}");
            }
        }
    }

    #[test]
    fn tells_nothing_about_a_straight_drift_or_too_few_readings() {
        let straight: std::vec::Vec<_> = (0..80)
            .map(|n| {
                let age_ms = 300.0 * f64::from(79 - n);
                // Noise of 0.01 that alternates, on 1 mV a minute.
                Past { age_ms, value: -age_ms / 60_000.0 + 0.01 * f64::from(n % 2) }
            })
            .collect();
        let found = fit(&straight, 120_000.0, 0.001);
        assert!(found.is_none_or(|found| found.time_constant_ms > 40_000.0), "{found:?}");
        assert_eq!(fit(&readings(1.0, 9_000.0, 5), 120_000.0, 0.001), None);
    }
}
