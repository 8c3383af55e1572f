use super::*;

fn salinity(ms_cm: f64, t: f64, p: f64) -> Result<Option<f64>, OutOfRange> {
    let conductivity = MicrosiemensPerCm::from_millisiemens_per_cm(ms_cm);
    practical_salinity(conductivity, Celsius::new(t), Decibars::new(p))
}

/// UNESCO Tech. Pap. Mar. Sci. 44 (1983), function SAL78: ratio 1.888091, 40 °C, 10 000 dbar gives
/// 40.00000 (recalled, not checked). It lies outside the stated −2 to 35 °C, so it is asked of the
/// relation itself.
#[test]
fn recalled_check_value_at_40_degrees() {
    assert!(libm::fabs(from_ratio(1.888091, 40.0, 10_000.0) - 40.0) < 5e-6);
}

#[test]
fn both_parts_meet_at_two() {
    for t in [-2.0, 0.0, 10.0, 15.0, 25.0, 35.0] {
        let (mut low, mut high) = (0.02, 0.2);
        for _ in 0..200 {
            let middle = 0.5 * (low + high);
            if from_ratio(middle, t, 0.0) < 2.0 { low = middle } else { high = middle }
        }
        let jump = from_ratio(high, t, 0.0) - from_ratio(low, t, 0.0);
        assert!(libm::fabs(jump) < 1e-12, "{t}: {jump:e}");
    }
}

#[test]
fn a_dry_or_nearly_dry_cell_has_no_salinity() {
    for t in [-2.0, 0.0, 10.0, 15.0, 25.0, 35.0] {
        for p in [0.0, 100.0, 10_000.0] {
            for ms_cm in [0.0, 1e-9, 1e-6, 1e-4, 5e-4] {
                assert_eq!(salinity(ms_cm, t, p), Ok(None), "{ms_cm} {t} {p}");
            }
            assert!(salinity(0.005, t, p).unwrap().is_some());
        }
    }
}

#[test]
fn out_of_range_names_the_quantity() {
    let what = |ms_cm, t, p| salinity(ms_cm, t, p).unwrap_err().what;
    assert_eq!(what(-0.001, 15.0, 0.0), quantity::CONDUCTIVITY);
    assert_eq!(what(f64::NAN, 15.0, 0.0), quantity::CONDUCTIVITY);
    assert_eq!(what(40.0, -2.1, 0.0), quantity::TEMPERATURE);
    assert_eq!(what(40.0, 35.1, 0.0), quantity::TEMPERATURE);
    assert_eq!(what(40.0, f64::NAN, 0.0), quantity::TEMPERATURE);
    assert_eq!(what(40.0, 15.0, -1.0), quantity::PRESSURE);
    assert_eq!(what(40.0, 15.0, 10_001.0), quantity::PRESSURE);
    assert_eq!(what(60.0, 15.0, 0.0), quantity::SALINITY);
}

#[test]
fn salinity_rises_with_conductivity() {
    for t in [0.0, 15.0, 35.0] {
        let mut last = 0.0;
        for step in 1..=330 {
            let here = salinity(f64::from(step) * 0.1, t, 0.0).unwrap().unwrap();
            assert!(here > last, "{step} {t}");
            last = here;
        }
    }
}
