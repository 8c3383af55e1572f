//! What readings of the thermometer in one solution say.

use super::beaker::Moment;

/// How much of the end counts, in ms.
const REST_MS: u64 = 60_000;
/// Nothing is said before the probe has stood there for this long, in ms.
const PLACED_MS: u64 = 90_000;
/// Fewest readings that a drift is told from.
const LEAST_READINGS: usize = 6;

/// Change of the temperature in K per minute at the end of a stay: probe time in ms and °C. `None` for a
/// stay that was too short or has too few readings. Between the middles of both halves, so that single
/// readings through a bad contact do not count.
pub fn drift_k_per_min(placed_ms: u64, readings: &[Moment]) -> Option<f64> {
    let end = readings.last()?.0;
    let late = &readings[readings.partition_point(|(ms, _)| ms + REST_MS < end)..];
    let from = late.first()?.0;
    if late.len() < LEAST_READINGS || end < placed_ms + PLACED_MS || end < from + REST_MS / 2 {
        return None;
    }
    let (first, last) = late.split_at(late.len() / 2);
    let mean_ms = |half: &[Moment]| {
        half.iter().map(|(ms, _)| (ms - from) as f64).sum::<f64>() / half.len() as f64
    };
    let minutes = (mean_ms(last) - mean_ms(first)) / 60_000.0;
    Some((middle(last)? - middle(first)?) / minutes)
}

/// The middle one of the values.
fn middle(readings: &[Moment]) -> Option<f64> {
    let below = |value: f64| readings.iter().filter(|(_, other)| *other < value).count();
    let upto = |value: f64| readings.iter().filter(|(_, other)| *other <= value).count();
    let half = readings.len() / 2;
    let is_middle = |value: &f64| below(*value) <= half && upto(*value) > half;
    readings.iter().map(|(_, value)| *value).find(is_middle)
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use super::{Moment, drift_k_per_min};

    fn readings(count: u64, celsius: impl Fn(f64) -> f64) -> Vec<Moment> {
        (0..count).map(|n| (n * 1_000, celsius(n as f64))).collect()
    }

    #[test]
    fn a_thermometer_that_lags_is_still_on_its_way() {
        // 10 K · e^(−t/τ) falls by 10/τ · e^(−t/τ) K/s.
        let at = |tau: f64| drift_k_per_min(0, &readings(150, |s| 20.0 + 10.0 * (-s / tau).exp()));
        assert!(at(4.0).unwrap().abs() < 1e-6);
        let slow = at(100.0).unwrap();
        // The middle of an even number is the later one: half a second of thirty.
        assert!((slow / (-6.0 * (-1.2_f64).exp()) - 1.0).abs() < 0.05, "{slow}");
        // Readings through a bad contact, now and then.
        let bad = readings(150, |s| if (s as u64).is_multiple_of(5) { 300.0 } else { 20.0 });
        assert_eq!(drift_k_per_min(0, &bad), Some(0.0));
    }

    #[test]
    fn a_short_stay_says_nothing() {
        assert_eq!(drift_k_per_min(0, &readings(60, |_| 20.0)), None);
        assert_eq!(drift_k_per_min(0, &[(100_000, 20.0)]), None);
        assert_eq!(drift_k_per_min(0, &[]), None);
    }
}
