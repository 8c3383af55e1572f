//! What readings in one beaker say: how fast the electrode answered and how it rests.

use heapless::Vec;

use super::evidence::Rest;
use super::limits;
use crate::least_squares::{self, Observation};

/// How much of the end counts as rest, in ms.
pub const REST_MS: u64 = 60_000;
/// Readings in one mean, so that what alternates from reading to reading drops out.
const BLOCK: usize = 8;
/// Three readings are evenly spaced when their distances differ by less than this part of the longer
/// one: a pause for the thermometer would bend a drift.
const EVEN: f64 = 0.2;
/// Fewest means that a rest is told from.
const LEAST_BLOCKS: usize = 6;
/// The most means of one rest: 60 s at four readings a second, with room.
const MAX_BLOCKS: usize = 64;

/// A potential at a moment: probe time in ms, and mV.
pub type Moment = (u64, f64);

/// How the end of a beaker's readings rests; `None` when there are too few of them.
pub fn rest(readings: &[Moment]) -> Option<Rest> {
    let end = readings.last()?.0;
    let from = readings.partition_point(|(ms, _)| ms + REST_MS < end);
    let readings = &readings[from..];
    // Sparse readings are not averaged: too few means would be left.
    let block = BLOCK.min(readings.len() / (2 * LEAST_BLOCKS)).max(1);
    let mut blocks: Vec<Observation, MAX_BLOCKS> = Vec::new();
    for chunk in readings.chunks_exact(block) {
        let count = chunk.len() as f64;
        let minutes =
            chunk.iter().map(|(ms, _)| (end - ms) as f64).sum::<f64>() / count / -60_000.0;
        let mv = chunk.iter().map(|(_, mv)| mv).sum::<f64>() / count;
        if blocks.push(Observation::new(minutes, mv)).is_err() {
            break;
        }
    }
    if blocks.len() < LEAST_BLOCKS {
        return None;
    }
    let line = least_squares::fit(blocks.iter().copied()).ok()?;
    let mean = blocks.iter().map(|block| block.y).sum::<f64>() / blocks.len() as f64;
    Some(Rest {
        potential_mv: mean,
        drift_mv_per_min: line.slope,
        scatter_mv: line.residual_variance().map_or(0.0, libm::sqrt),
        shake_mv: shake(readings),
    })
}

/// Scatter from one reading to the next in mV: second differences, which a drift does not touch,
/// scaled so that independent readings of deviation 1 give 1.
pub fn shake(readings: &[Moment]) -> Option<f64> {
    let (mut sum, mut count) = (0.0, 0_u32);
    for three in readings.windows(3) {
        let [(a, x), (b, y), (c, z)] = [three[0], three[1], three[2]];
        let (one, other) = ((b - a) as f64, (c - b) as f64);
        if libm::fabs(one - other) > EVEN * libm::fmax(one, other) {
            continue;
        }
        let bent = x - 2.0 * y + z;
        sum += bent * bent;
        count += 1;
    }
    (count >= 8).then(|| libm::sqrt(sum / f64::from(count) / 6.0))
}

/// Time in s until 95 % of the step from `before` to where the readings ended was made; `None` when
/// the step is below [`limits::LEAST_STEP_MV`] or the electrode too restless to tell.
pub fn response_s(before_mv: f64, placed_ms: u64, readings: &[Moment]) -> Option<f64> {
    let end = readings.last()?.0;
    let from = readings.partition_point(|(ms, _)| ms + REST_MS / 4 < end);
    let last = &readings[from..];
    let final_mv = last.iter().map(|(_, mv)| mv).sum::<f64>() / last.len() as f64;
    let step = libm::fabs(final_mv - before_mv);
    let Rest { scatter_mv, drift_mv_per_min, .. } = rest(readings)?;
    let moves = libm::fmax(scatter_mv, libm::fabs(drift_mv_per_min));
    if step < limits::LEAST_STEP_MV || moves > limits::STEP_MOVES * step {
        return None;
    }
    let outside = |&&(_, mv): &&Moment| libm::fabs(mv - final_mv) > 0.05 * step;
    let arrived = readings.iter().rev().find(outside).map_or(placed_ms, |(ms, _)| *ms);
    Some(arrived.saturating_sub(placed_ms) as f64 / 1000.0)
}

#[cfg(test)]
#[path = "beaker_tests.rs"]
mod tests;
