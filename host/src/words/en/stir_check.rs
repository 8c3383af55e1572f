//! What `rillmark stir-check` says to a person.

use rillmark_metrology::reference::ionic_strength::Class;

/// Under `--help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark stir-check

Hold the probe in the water and answer with Enter: with the water still, stirred gently and steadily,
and still again. Worth doing below 100 µS/cm, and whenever a junction is suspected.";

/// The first question.
pub const PLACE_STILL: &str =
    "Rinse, place the probe in the water and let the water come to rest, then answer: done";
/// The last question.
pub const STILL_AGAIN: &str = "Stop stirring, let the water come to rest, then answer: done";
/// The second question.
pub const STIR: &str = "Stir gently and steadily, without touching the probe, then answer: done";
/// The virtual bench has hands.
pub const BENCH_STILL: &str = "  (the virtual bench leaves the water still)";
/// The same for stirring.
pub const BENCH_STIRS: &str = "  (the virtual bench stirs the water)";
/// An answer that is none.
pub const NOT_UNDERSTOOD: &str = "The answers are done (or Enter) and cancel.";
/// Nobody answers any more, or the person has had enough.
pub const CANCELLED: &str = "cancelled: the stirred and the still water were not compared";
/// No pH calibration.
pub const NOT_CALIBRATED: &str = "the probe has no pH calibration in force, so there is no pH to compare: run \
     `rillmark calibrate ph` first";
/// The probe was restarted half-way.
pub const RESTARTED: &str =
    "the probe was restarted between the readings: run `rillmark stir-check` again";
/// What cannot be compared at all.
pub const NOT_COMPARABLE: &str = "the readings cannot be compared: run `rillmark stir-check` again";

/// Readings that cannot be used.
pub fn unusable(sentence: &str) -> String {
    format!("the readings cannot be used: {sentence}")
}

/// Labels of the table.
pub const STILL: &str = "pH, still";
/// Still once more.
pub const STILL_THEN: &str = "pH, still again";
/// Stirred.
pub const STIRRED: &str = "pH, stirred";
/// Their difference.
pub const DIFFERENCE: &str = "difference";
/// The water's conductivity.
pub const CONDUCTIVITY: &str = "at 25 °C";
/// What the junction makes uncertain.
pub const JUNCTION: &str = "u(pH) of the junction";

/// What to do with it.
pub fn to_use(u_junction_ph: f64) -> String {
    format!("For readings in this very water give --junction {u_junction_ph:.3} to watch and log.")
}

/// One of the readings.
pub fn rest(ph: f64, temperature_c: f64, waited_ms: u64, settled: bool) -> String {
    let restless = if settled { "" } else { ", restless" };
    format!("{ph:.3} at {temperature_c:.2} °C, after {:.0} s{restless}", waited_ms as f64 / 1000.0)
}

/// The difference of both.
pub fn difference(difference_ph: f64, expanded_ph: f64, limit_ph: f64) -> String {
    format!("{difference_ph:+.3} ± {expanded_ph:.3} (k = 2), limit ±{limit_ph}")
}

/// The water's conductivity, where it is known.
pub fn conductivity(us_cm: Option<f64>, class: Class) -> String {
    match us_cm {
        Some(us_cm) => format!("{us_cm:.1} µS/cm, {}", super::reference::class(class)),
        None => "not known (no conductivity calibration): taken as an ordinary water".to_owned(),
    }
}
