//! What readings in one beaker say: how fast the electrode answered and how it rests.

use heapless::Vec;

use super::evidence::Rest;
use super::limits;
use rillmark_metrology::least_squares;
use rillmark_metrology::least_squares::Observation;

/// How much of the end counts as rest, in ms.
pub const REST_MS: u64 = 60_000;
/// Fewest triples of readings that a shaking is told from.
const LEAST_TRIPLES: u32 = 8;
/// Readings that come as often as this, in ms, are too near each other for the electrode to wander.
const OFTEN_MS: u64 = 1_000;
/// Where they come more seldom, a shaking is most of the scatter, and a wandering shakes less than
/// this part of it.
const ALONE: f64 = 0.6;
/// Readings in one mean, so that what alternates from reading to reading drops out.
const BLOCK: usize = 8;
/// Three readings follow each other when their distances differ by less than this part of the longer one: over
/// a pause for the thermometer an electrode wanders. A full reading that waits for its electrode is later by
/// less.
const EVEN: f64 = 0.6;
/// Fewest means that a rest is told from.
const LEAST_BLOCKS: usize = 6;
/// The most means of one rest: 60 s at four readings a second, with room.
const MAX_BLOCKS: usize = 64;

/// A potential at a moment: probe time in ms, and mV.
pub type Moment = (u64, f64);

/// The readings that count as rest.
fn end(readings: &[Moment]) -> &[Moment] {
    let end = readings.last().map_or(0, |(ms, _)| *ms);
    &readings[readings.partition_point(|(ms, _)| ms + REST_MS < end)..]
}

/// How the end of a beaker's readings rests; `None` when there are too few of them.
pub fn rest(readings: &[Moment]) -> Option<Rest> {
    let readings = end(readings);
    let end = readings.last()?.0;
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
    })
}

/// Scatter from one reading to the next in mV, at the end of a stay: distances of a reading from the line
/// through its neighbours, which a drift does not touch, scaled so that independent readings of deviation 1
/// give 1. `None` when there
/// are too few readings, or when they come so seldom that it may as well be a wandering.
pub fn shake_mv(readings: &[Moment]) -> Option<f64> {
    let readings = end(readings);
    let (mut sum, mut count) = (0.0, 0_u32);
    for three in readings.windows(3) {
        let [(a, x), (b, y), (c, z)] = [three[0], three[1], three[2]];
        let (one, other) = ((b - a) as f64, (c - b) as f64);
        // Readings of one time, which a damaged session may have, have no line through them.
        if one + other <= 0.0 || libm::fabs(one - other) > EVEN * libm::fmax(one, other) {
            continue;
        }
        let (before, after) = (other / (one + other), one / (one + other));
        let away = y - before * x - after * z;
        sum += away * away / (1.0 + before * before + after * after);
        count += 1;
    }
    if count < LEAST_TRIPLES {
        return None;
    }
    let shake = libm::sqrt(sum / f64::from(count));
    let (first, last) = (readings.first()?.0, readings.last()?.0);
    let seldom = last - first > OFTEN_MS * readings.len() as u64;
    let wanders = seldom
        && shake > limits::SHAKE.absent
        && rest(readings).is_none_or(|rest| shake < ALONE * rest.scatter_mv);
    (!wanders).then_some(shake)
}

/// How much a potential moves that should rest, as a part of what a step of `of_mv` bears: above 1 it
/// cannot be timed. Counted are its scatter, and its drift in a minute unless that is the end of a
/// slow answer, on in the direction of the step that came before.
pub fn moves(rest: &Rest, step_mv: f64, of_mv: f64) -> f64 {
    let goes_on = rest.drift_mv_per_min * step_mv > 0.0;
    let drift = if goes_on { 0.0 } else { libm::fabs(rest.drift_mv_per_min) };
    let (scatter_part, drift_part) = limits::STEP_MOVES;
    libm::fmax(rest.scatter_mv / scatter_part, drift / drift_part) / of_mv
}

/// Time in s until 95 % of the step from `before` to where the readings ended was made; `None` when
/// the step is below [`limits::LEAST_STEP_MV`] or the electrode too restless to tell.
pub fn response_s(before_mv: f64, placed_ms: u64, readings: &[Moment]) -> Option<f64> {
    let end = readings.last()?.0;
    let from = readings.partition_point(|(ms, _)| ms + REST_MS / 4 < end);
    let last = &readings[from..];
    let final_mv = last.iter().map(|(_, mv)| mv).sum::<f64>() / last.len() as f64;
    let step = libm::fabs(final_mv - before_mv);
    if step < limits::LEAST_STEP_MV || moves(&rest(readings)?, final_mv - before_mv, step) > 1.0 {
        return None;
    }
    let outside = |&&(_, mv): &&Moment| libm::fabs(mv - final_mv) > 0.05 * step;
    let arrived = readings.iter().rev().find(outside).map_or(placed_ms, |(ms, _)| *ms);
    Some(arrived.saturating_sub(placed_ms) as f64 / 1000.0)
}

#[cfg(test)]
#[path = "beaker_tests.rs"]
mod tests;
