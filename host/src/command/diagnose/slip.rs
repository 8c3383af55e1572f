//! A change of beaker where none was stated: the readings of a stay rest, and then rest elsewhere.
//!
//! No fault does that: a bubble, a leak or a loose contact is restless before, or comes back, and slow
//! glass creeps. So the stated times are doubted and not the probe.

use rillmark_procedures::diagnose::beaker::Moment;

/// What moves the readings sooner than this after a mark is the way into the beaker, rinsing included,
/// in ms.
pub(super) const LATER_MS: u64 = 30_000;
/// Levels before and after are those over this much, in ms …
const LEVEL_MS: u64 = 10_000;
/// … or over so many readings, where they come seldom.
const LEAST: usize = 3;
/// A sensor that answers has made most of its step after this, in ms.
const ANSWER_MS: u64 = 5_000;
/// What rests stays within this, in mV …
const REST_MV: f64 = 5.0;
/// … and a change of beaker is this at least: 0.7 pH. Own choice, no source.
const CHANGE_MV: f64 = 40.0;
/// The same of a conductance, as parts. Own choice, no source.
const REST_PART: f64 = 0.05;
const CHANGE_TIMES: f64 = 2.0;

/// The moment in ms and the size in mV of the largest change after `from_ms`.
pub(super) fn of_potential(readings: &[Moment], from_ms: u64) -> Option<(u64, f64)> {
    largest(readings, from_ms, REST_MV, CHANGE_MV)
}

/// The moment in ms of the largest change after `from_ms`, and how many times as much it made of the
/// conductance.
pub(super) fn of_conductance(readings: &[Moment], from_ms: u64) -> Option<(u64, f64)> {
    // Dry, a cell reads nothing or less.
    let logarithms: Vec<Moment> =
        readings.iter().map(|(ms, us)| (*ms, us.max(f64::MIN_POSITIVE).ln())).collect();
    largest(&logarithms, from_ms, REST_PART, CHANGE_TIMES.ln())
        .map(|(ms, logarithm)| (ms, logarithm.exp()))
}

fn largest(readings: &[Moment], from_ms: u64, rest: f64, change: f64) -> Option<(u64, f64)> {
    let changes = (LEAST..readings.len()).filter_map(|at| {
        let (ms, _) = readings[at];
        let before = level_before(&readings[..at], ms);
        let after = level_after(&readings[at..], ms)?;
        let (low, high) = span(before);
        let (least, most) = span(after);
        // Every reading after is that far from every one before, and on the same side.
        let by = if least > high { least - high } else { most - low };
        let far = by.abs() >= change && (least > high || most < low);
        let mean = |readings: &[Moment]| {
            readings.iter().map(|(_, value)| value).sum::<f64>() / readings.len() as f64
        };
        (ms >= from_ms && high - low <= rest && far).then(|| (ms, mean(after) - mean(before)))
    });
    changes.max_by(|one, other| one.1.abs().total_cmp(&other.1.abs()))
}

/// The readings just before a moment.
fn level_before(readings: &[Moment], ms: u64) -> &[Moment] {
    let from = readings.partition_point(|(at, _)| at + LEVEL_MS < ms);
    &readings[from.min(readings.len() - LEAST)..]
}

/// Those after an answer that began then; `None` when there are too few.
fn level_after(readings: &[Moment], ms: u64) -> Option<&[Moment]> {
    let from = readings.partition_point(|(at, _)| *at < ms + ANSWER_MS);
    let to = readings.partition_point(|(at, _)| *at <= ms + ANSWER_MS + LEVEL_MS);
    readings.get(from..to.max(from + LEAST))
}

fn span(readings: &[Moment]) -> (f64, f64) {
    readings
        .iter()
        .fold((f64::MAX, f64::MIN), |(low, high), (_, value)| (low.min(*value), high.max(*value)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Readings every `every_s` seconds for 300 s.
    fn stay(every_s: u64, mv: impl Fn(f64) -> f64) -> Vec<Moment> {
        (0..300 / every_s).map(|n| (n * every_s * 1_000, mv((n * every_s) as f64))).collect()
    }

    #[test]
    fn a_change_of_beaker_is_told_from_what_a_fault_does() {
        let at = |step: f64| move |s: f64| if s < 200.0 { 3.0 } else { 3.0 + step };
        for every_s in [1, 20] {
            for step in [-177.0, 177.0, 41.0] {
                let seen = of_potential(&stay(every_s, at(step)), LATER_MS).expect("a change");
                assert_eq!((seen.0, (seen.1 - step).abs() < 1e-9), (200_000, true), "{step}");
            }
            assert_eq!(of_potential(&stay(every_s, at(30.0)), LATER_MS), None, "a step of a fault");
        }
        let answering =
            |s: f64| if s < 200.0 { 0.0 } else { 177.0 * (1.0 - (-(s - 200.0) / 4.0).exp()) };
        assert!(of_potential(&stay(1, answering), LATER_MS).is_some());
        let creeping = |s: f64| 177.0 * (1.0 - (-s / 60.0).exp());
        assert_eq!(of_potential(&stay(1, creeping), LATER_MS), None);
        let coming_back = |s: f64| if (200.0..204.0).contains(&s) { 300.0 } else { 0.0 };
        assert_eq!(of_potential(&stay(1, coming_back), LATER_MS), None);
        let loose = |s: f64| if s as u64 % 7 < 3 { 90.0 } else { 0.0 };
        assert_eq!(of_potential(&stay(1, loose), LATER_MS), None);
        // The way into the beaker.
        let placed = |s: f64| if s < 20.0 { 100.0 } else { 0.0 };
        assert_eq!(of_potential(&stay(1, placed), LATER_MS), None);
        assert_eq!(of_potential(&[], 0), None);
    }

    #[test]
    fn a_conductance_changes_by_its_ratio() {
        let at = |times: f64| move |s: f64| if s < 200.0 { 1_400.0 } else { 1_400.0 * times };
        let seen = of_conductance(&stay(1, at(9.0)), LATER_MS).expect("a change");
        assert!((seen.1 - 9.0).abs() < 1e-9, "{seen:?}");
        assert!(of_conductance(&stay(1, at(0.0)), LATER_MS).is_some(), "lifted into air");
        assert_eq!(of_conductance(&stay(1, at(0.7)), LATER_MS), None, "a bubble");
    }
}
