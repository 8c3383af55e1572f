use proptest::prelude::*;

use super::*;
use crate::calibration::FitError;

const NTC: Thermometer = Thermometer::Thermistor { r25_ohm: 10_000.0, beta_k: 3950.0 };

/// A point at `t` °C by the thermometer alone, where the reference says `reference`.
fn point(thermometer: Thermometer, t: f64, reference: f64, u: f64) -> TemperaturePoint {
    TemperaturePoint {
        reference: Celsius::new(reference),
        reference_uncertainty_k: u,
        resistance: thermometer.resistance(Celsius::new(t)).unwrap(),
    }
}

/// One point moves the whole scale; away from it the gain that nobody measured counts: by hand,
/// √(0.05² + (20·0.0029)²) K = 0.0766 K.
#[test]
fn one_point_gives_an_offset_and_grows_unsure_away_from_it() {
    for thermometer in [PT1000, NTC] {
        let fit = fit(&[point(thermometer, 20.0, 20.3, 0.05)], thermometer).unwrap();
        let found = fit.calibration;
        assert!(libm::fabs(found.offset_k - 0.3) < 1e-9 && found.gain == 0.0);
        assert_eq!((fit.degrees_of_freedom, fit.chi_squared), (0, 0.0));
        assert!(libm::fabs(found.standard_uncertainty(Celsius::new(20.0)) - 0.05) < 1e-9);
        let away = found.standard_uncertainty(Celsius::new(40.0));
        assert!(libm::fabs(away - 0.0766) < 1e-4, "{away}");
        let at = thermometer.resistance(Celsius::new(30.0)).unwrap();
        assert!(libm::fabs(found.temperature(at).unwrap().get() - 30.3) < 1e-6);
    }
}

/// Ice and 40 °C with 0.02 K each: the points tell the gain ten times better than the prior, and
/// the correction goes through both within a few mK.
#[test]
fn two_points_give_a_gain_too() {
    let points = [point(PT1000, 0.2, 0.0, 0.02), point(PT1000, 40.5, 40.0, 0.02)];
    let fit = fit(&points, PT1000).unwrap();
    for point in &points {
        let found = fit.calibration.temperature(point.resistance).unwrap().get();
        assert!(libm::fabs(found - point.reference.get()) < 0.01, "{found}");
    }
    assert!(fit.calibration.gain < -0.006 && fit.degrees_of_freedom == 1);
}

#[test]
fn bad_points_are_named_with_their_numbers() {
    let good = point(PT1000, 20.0, 20.0, 0.05);
    let error = |points: &[TemperaturePoint]| fit(points, PT1000).unwrap_err();
    assert_eq!(error(&[]), FitError::TooFewPoints { got: 0, need: 1 });
    let hot = TemperaturePoint { reference: Celsius::new(120.0), ..good };
    let sure = TemperaturePoint { reference_uncertainty_k: 0.0, ..good };
    for bad in [hot, sure] {
        assert!(matches!(error(&[good, bad]), FitError::OutOfRange { point: 2, .. }));
    }
    let open = TemperaturePoint { resistance: Ohms::new(1e6), ..good };
    assert!(matches!(error(&[good, open]), FitError::NotFinite { point: 2, .. }));
}

proptest! {
    #[test]
    fn a_correction_within_the_prior_is_found_again(
        offset in -1.0..1.0, gain in -0.004..0.004, low in 0.0..10.0, high in 30.0..50.0,
    ) {
        let at = |t: f64| point(PT1000, t, t + offset + gain * (t - 20.0), 0.001);
        let found = fit(&[at(low), at(high)], PT1000).unwrap().calibration;
        for t in [0.0, 20.0, 50.0] {
            let corrected = found.temperature(PT1000.resistance(Celsius::new(t)).unwrap()).unwrap();
            prop_assert!(libm::fabs(corrected.get() - (t + offset + gain * (t - 20.0))) < 0.005);
        }
    }
}
