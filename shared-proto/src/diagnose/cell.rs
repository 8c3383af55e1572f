//! What readings of the cell in one standard say.

/// How much of the end counts, in ms.
pub const REST_MS: u64 = 60_000;
/// Fewest readings that steps are told from.
const LEAST_READINGS: usize = 5;

/// Largest step from one reading to the next at the end of a standard's readings, in percent of
/// their mean; `None` when there are too few. Readings are probe time in ms and µS.
pub fn jump_percent(readings: &[(u64, f64)]) -> Option<f64> {
    let end = readings.last()?.0;
    let from = readings.partition_point(|(ms, _)| ms + REST_MS < end);
    let readings = &readings[from..];
    if readings.len() < LEAST_READINGS {
        return None;
    }
    let mean = readings.iter().map(|(_, us)| us).sum::<f64>() / readings.len() as f64;
    let step =
        readings.windows(2).map(|pair| libm::fabs(pair[1].1 - pair[0].1)).fold(0.0, libm::fmax);
    (mean > 0.0).then(|| 100.0 * step / mean)
}

/// How far the second of two cell constants is from the first, in percent.
pub fn standards_percent(first_per_cm: f64, second_per_cm: f64) -> f64 {
    100.0 * (second_per_cm / first_per_cm - 1.0)
}
