//! Practical salinity in `rillmark-proto` against values that others published and against an
//! independent implementation. Tags as in `published_reference.rs`.

use gsw::practical_salinity::sp_from_c;
use proptest::prelude::*;
use rillmark_metrology::reference::salinity;
use rillmark_proto::reference::quantity;
use rillmark_proto::units::{Celsius, Decibars, MicrosiemensPerCm};

fn practical_salinity(ms_cm: f64, t90: f64, p: f64) -> Option<f64> {
    salinity::practical_salinity(
        MicrosiemensPerCm::from_millisiemens_per_cm(ms_cm),
        Celsius::new(t90),
        Decibars::new(p),
    )
    .unwrap()
}

/// Asserts |got − published| ≤ tolerance, and says which one failed.
fn near(what: &str, got: f64, published: f64, tolerance: f64) {
    let off = got - published;
    assert!(off.abs() <= tolerance, "{what}: {got} against {published}, off by {off:+.6}");
}

/// UNESCO Tech. Pap. Mar. Sci. 44 (1983): ratio to C(35, 15, 0), °C (IPTS-68), dbar; seen with five
/// decimals in the documentation of the R package oce (swSCTp).
#[test]
fn practical_salinity_meets_the_published_check_values() {
    let rows = [
        (1.0, 15.0, 0.0, 35.0),
        (1.2, 20.0, 2000.0, 37.24563),
        (0.65, 5.0, 1500.0, 27.99535),
        (1.0, 15.0, 2000.0, 34.25045),
    ];
    for (ratio, t68, p, published) in rows {
        let got = practical_salinity(ratio * 42.914, t68 / 1.00024, p).unwrap();
        near(&format!("{ratio} {t68} {p}"), got, published, 6e-6);
    }
}

/// Documentation of the crate `gsw`, `sp_from_c`; seen.
#[test]
fn practical_salinity_meets_the_documented_example() {
    near("38, 10, 100", practical_salinity(38.0, 10.0, 100.0).unwrap(), 34.8618423333713, 1e-9);
}

/// Computed with the Python package gsw 3.6.23, an independent implementation; the first six agree
/// with the published help of TEOS-10 (recalled, not checked).
#[test]
fn practical_salinity_agrees_with_python_gsw() {
    let rows = [
        (34.5487, 28.7856, 10.0, 20.00986959908695),
        (34.7275, 28.4329, 50.0, 20.26551186487427),
        (34.8605, 22.8103, 125.0, 22.98151306252769),
        (34.6810, 10.2600, 250.0, 31.204503263727982),
        (34.5680, 6.8863, 600.0, 34.03231578743283),
        (34.5600, 4.4036, 1000.0, 36.40030849438817),
        (42.914, 15.0, 0.0, 34.996770111355),
        (53.087, 25.0, 0.0, 35.01184883899759),
        (12.88, 25.0, 0.0, 7.39209664636594),
        (5.0, 15.0, 0.0, 3.3853008043850474),
        (4.0, 25.0, 0.0, 2.113807387424157),
        (3.0, 15.0, 0.0, 1.9673576488377222),
        (1.413, 25.0, 0.0, 0.7062661792911552),
        (0.5, 10.0, 0.0, 0.3436862083347589),
        (0.2, 5.0, 0.0, 0.1541093277526461),
        (0.1, 25.0, 0.0, 0.04620948177661863),
        (0.05, 20.0, 0.0, 0.02490288968582115),
        (0.01, 25.0, 0.0, 0.00326242106316621),
    ];
    for (ms_cm, t, p, computed) in rows {
        near(&format!("{ms_cm} {t} {p}"), practical_salinity(ms_cm, t, p).unwrap(), computed, 1e-9);
    }
}

/// One point against the crate `gsw` 0.2.3, an independent implementation. Gives the difference, or
/// `None` where both say that there is no salinity in range.
fn against_gsw(ms_cm: f64, t: f64, p: f64) -> Option<f64> {
    let ours = salinity::practical_salinity(
        MicrosiemensPerCm::from_millisiemens_per_cm(ms_cm),
        Celsius::new(t),
        Decibars::new(p),
    );
    match (ours, sp_from_c(ms_cm, t, p)) {
        (Ok(Some(ours)), Ok(theirs)) => Some((ours - theirs).abs()),
        (Ok(None), Err(_)) => None,
        // Within a rounding error of zero either answer is right.
        (Ok(None), Ok(theirs)) if theirs.abs() < 1e-12 => None,
        (Err(error), Ok(theirs)) if error.what == quantity::SALINITY && theirs > 42.0 => None,
        (ours, theirs) => panic!("{ms_cm} {t} {p}: {ours:?} against {theirs:?}"),
    }
}

#[test]
fn practical_salinity_agrees_with_gsw_on_a_grid() {
    let (mut worst, mut compared) = (0.0_f64, 0);
    for half_kelvin in -4..=70 {
        let t = f64::from(half_kelvin) / 2.0;
        for p in [0.0, 10.0, 100.0, 1000.0, 4000.0, 10_000.0] {
            // 0.0001 to 79 mS/cm, 20 points a decade.
            for step in 0..=118 {
                let ms_cm = 1e-4 * f64::powf(10.0, f64::from(step) / 20.0);
                if let Some(off) = against_gsw(ms_cm, t, p) {
                    worst = worst.max(off);
                    compared += 1;
                }
            }
        }
    }
    println!("largest difference {worst:.2e} on {compared} points");
    assert!(compared > 35_000, "{compared}");
    assert!(worst < 1e-9, "{worst:e}");
}

proptest! {
    #[test]
    fn practical_salinity_agrees_with_gsw_anywhere(
        ms_cm in 0.0..80.0, t in -2.0..=35.0, p in 0.0..=10_000.0,
    ) {
        if let Some(off) = against_gsw(ms_cm, t, p) {
            prop_assert!(off < 1e-9);
        }
    }
}

/// The conductivity below which the scale ends, seen with the crate `gsw` 0.2.3: about 0.78 µS/cm at
/// 0 °C, 0.96 (5), 1.35 (15), 1.78 (25), 2.24 (35); computed.
#[test]
fn practical_salinity_ends_where_gsw_ends() {
    for (t, ends_at) in [(0.0, 0.78), (5.0, 0.96), (15.0, 1.35), (25.0, 1.78), (35.0, 2.24)] {
        assert_eq!(practical_salinity((ends_at - 0.01) / 1000.0, t, 0.0), None, "{t} °C");
        assert!(practical_salinity((ends_at + 0.01) / 1000.0, t, 0.0).is_some(), "{t} °C");
    }
}
