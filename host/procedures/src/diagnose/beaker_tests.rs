use std::vec::Vec;

use super::{Moment, response_s, rest, shake_mv};

/// Readings every 250 ms with a pause of 1.5 s every 10 s, as pH sampling gives them.
fn readings(from_ms: u64, count: usize, mv: impl Fn(f64, usize) -> f64) -> Vec<Moment> {
    let mut ms = from_ms;
    (0..count)
        .map(|index| {
            ms += if index % 40 == 39 { 1_500 } else { 250 };
            (ms, mv(ms as f64 / 1e3, index))
        })
        .collect()
}

#[test]
fn a_steady_potential_has_neither_drift_nor_scatter() {
    let still = rest(&readings(0, 500, |_, _| 42.0)).unwrap();
    assert!((still.potential_mv - 42.0).abs() < 1e-9);
    assert!(still.drift_mv_per_min.abs() < 1e-9 && still.scatter_mv < 1e-9);
    assert_eq!(shake_mv(&readings(0, 500, |_, _| 42.0)), Some(0.0));
}

#[test]
fn a_drift_is_a_drift_and_no_scatter() {
    // 0.02 mV/s is 1.2 mV/min (arithmetic).
    let drifting = rest(&readings(0, 500, |s, _| 0.02 * s)).unwrap();
    assert!((drifting.drift_mv_per_min - 1.2).abs() < 1e-6, "{drifting:?}");
    assert!(drifting.scatter_mv < 1e-6, "{drifting:?}");
    assert!(shake_mv(&readings(0, 500, |s, _| 0.02 * s)).unwrap() < 1e-6);
}

#[test]
fn what_alternates_shakes_and_does_not_scatter() {
    let hum = readings(0, 500, |_, index| if index % 2 == 0 { 0.1 } else { -0.1 });
    // x − 2x' + x'' of ±a is 4a, over √6 (definition).
    let expected = 0.4 / 6f64.sqrt();
    assert!((shake_mv(&hum).unwrap() - expected).abs() < 1e-9);
    let humming = rest(&hum).unwrap();
    assert!(humming.scatter_mv < 0.02, "{humming:?}");
}

#[test]
fn too_few_readings_tell_nothing() {
    assert_eq!(rest(&[]), None);
    assert_eq!(rest(&readings(0, 5, |_, _| 1.0)), None);
    assert_eq!(shake_mv(&readings(0, 5, |_, _| 1.0)), None);
    assert_eq!(response_s(0.0, 0, &[]), None);
    let at_once: Vec<Moment> = (0..500).map(|index| (1_000, f64::from(index))).collect();
    assert_eq!(shake_mv(&at_once), None);
}

#[test]
fn a_response_is_the_time_to_95_percent() {
    for tau in [5.0, 15.0, 40.0] {
        let step = readings(0, 2_000, |s, _| 177.0 * (1.0 - (-s / tau).exp()));
        let s = response_s(0.0, 0, &step).unwrap();
        // 95 % of an exponential takes ln 20 = 2.996 time constants.
        assert!((s / tau - 2.996).abs() < 1.6 / tau, "{s} for {tau}");
    }
    let small = readings(0, 2_000, |s, _| 5.0 * (1.0 - (-s / 5.0).exp()));
    assert_eq!(response_s(0.0, 0, &small), None, "5 mV is no step");
    let restless = readings(0, 2_000, |s, _| 177.0 + 8.0 * (s / 7.0).sin());
    assert_eq!(response_s(0.0, 0, &restless), None, "what does not rest has not arrived");
}
