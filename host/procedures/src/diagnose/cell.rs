//! What readings of the cell in one standard say.

/// How much of the end counts, in ms.
pub const REST_MS: u64 = 60_000;
/// Readings in each of the means that steps are told from: their noise is not a step.
const BLOCK: usize = 3;

/// Largest step from the mean of three readings to that of the next three at the end of a standard's
/// readings, in percent of their mean; `None` when there are too few. Readings are probe time in ms
/// and µS.
pub fn jump_percent(readings: &[(u64, f64)]) -> Option<f64> {
    let end = readings.last()?.0;
    let from = readings.partition_point(|(ms, _)| ms + REST_MS < end);
    let readings = &readings[from..];
    if readings.len() < 2 * BLOCK {
        return None;
    }
    let mean = readings.iter().map(|(_, us)| us).sum::<f64>() / readings.len() as f64;
    let of =
        |readings: &[(u64, f64)]| readings.iter().map(|(_, us)| us).sum::<f64>() / BLOCK as f64;
    let steps = readings.windows(2 * BLOCK).map(|six| of(&six[BLOCK..]) - of(&six[..BLOCK]));
    let step = steps.map(libm::fabs).fold(0.0, libm::fmax);
    (mean > 0.0).then(|| 100.0 * step / mean)
}

/// How far the second of two cell constants is from the first, in percent.
pub fn standards_percent(first_per_cm: f64, second_per_cm: f64) -> f64 {
    100.0 * (second_per_cm / first_per_cm - 1.0)
}
