use std::vec::Vec;

use proptest::prelude::*;

use super::*;
use crate::fit::FitError;
use crate::reference::buffers;

fn calibration(slope_fraction: f64, offset_mv: f64) -> PhCalibration {
    PhCalibration::exact(slope_fraction, offset_mv)
}

fn point(ph: f64, mv: f64, t: f64) -> PhPoint {
    PhPoint {
        buffer: Ph::new(ph),
        buffer_uncertainty: None,
        buffer_per_kelvin: 0.0,
        potential: Millivolts::new(mv),
        temperature: Celsius::new(t),
        bottle: None,
    }
}

/// The point that a perfect electrode of these coefficients gives in a buffer.
fn noiseless(truth: &PhCalibration, ph: f64, t: f64) -> PhPoint {
    let potential = truth.potential(Ph::new(ph), Celsius::new(t)).unwrap();
    point(ph, potential.get(), t)
}

#[test]
fn bad_points_are_named_with_their_numbers() {
    let good = point(4.0, 177.0, 25.0);
    let error = |points: &[PhPoint]| fit(points).unwrap_err();
    assert_eq!(error(&[]), FitError::TooFewPoints { got: 0, need: 2 });
    assert_eq!(error(&[good]), FitError::TooFewPoints { got: 1, need: 2 });
    for temperature in [15.0, 25.0] {
        let same = [good, point(4.0, 177.1, temperature)];
        assert_eq!(error(&same), FitError::SamePh { lowest: 4.0, highest: 4.0 });
    }
    for bad in
        [point(f64::NAN, 0.0, 25.0), point(7.0, f64::INFINITY, 25.0), point(7.0, 0.0, f64::NAN)]
    {
        assert!(matches!(error(&[good, bad]), FitError::NotFinite { point: 2, .. }));
    }
    for (bad, got) in [
        (point(7.0, 0.0, 101.0), 101.0),
        (point(7.0, 0.0, -6.0), -6.0),
        (point(70.0, 0.0, 25.0), 70.0),
        (point(7.0, 177_000.0, 25.0), 177_000.0),
        (PhPoint { buffer_uncertainty: Some(-0.01), ..point(7.0, 0.0, 25.0) }, -0.01),
    ] {
        match error(&[good, bad]) {
            FitError::OutOfRange { point: 2, range } => assert_eq!(range.got, got),
            other => panic!("{other:?}"),
        }
    }
}

#[test]
fn a_reversed_slope_is_found_not_refused() {
    let fit = fit(&[point(4.0, -177.0, 25.0), point(7.0, 0.0, 25.0)]).unwrap();
    assert!(fit.calibration.slope_fraction < -0.99);
}

/// 177.48 mV and 0 mV at 25 °C: 177.48/(3 · 59.159 35) = 1.000 00 (Nernst factor computed from the
/// exact SI constants). The uncertainties are worked by hand from the stated defaults: u² =
/// 0.3² + (59.16 · 0.015)² = 0.8775 mV²; slope u/(x span), x span = 177.48 mV with the pair's
/// Sxx = span²/2.
#[test]
fn two_points_carry_the_uncertainty_stated_beforehand() {
    let fit = fit(&[point(4.0, 177.478, 25.0), point(7.0, 0.0, 25.0)]).unwrap();
    let found = fit.calibration;
    assert!(libm::fabs(found.slope_fraction - 1.0) < 1e-6);
    assert!(libm::fabs(found.offset_mv) < 1e-9);
    assert_eq!((fit.degrees_of_freedom, fit.widening), (0, 1.0));
    let u = libm::sqrt(0.09 + 0.787_462);
    let slope = libm::sqrt(found.covariance.slope);
    assert!(libm::fabs(slope - u * libm::sqrt(2.0) / 177.478) < 1e-6, "{slope}");
    assert!(libm::fabs(libm::sqrt(found.covariance.offset_mv2) - u) < 1e-4);
    // At pH 7 only the offset counts; in the middle between two independent points u/√2.
    let at = |mv: f64| found.ph_uncertainty(Millivolts::new(mv), Celsius::new(25.0)).unwrap();
    assert!(libm::fabs(at(0.0) - u / 59.159_35) < 1e-6);
    assert!(libm::fabs(at(88.739) - u / libm::sqrt(2.0) / 59.159_35) < 1e-6);
}

#[test]
fn scatter_widens_and_never_narrows() {
    let truth = calibration(0.98, 5.0);
    let with_error = |off_mv: f64| {
        let mut points = [4.0, 7.0, 10.0].map(|ph| noiseless(&truth, ph, 25.0));
        points[1].potential = Millivolts::new(points[1].potential.get() + off_mv);
        fit(&points).unwrap()
    };
    let (still, wild) = (with_error(0.0), with_error(6.0));
    assert_eq!(still.widening, 1.0);
    assert!(wild.widening > 10.0 && wild.chi_squared == wild.widening);
    let ratio = wild.calibration.covariance.slope / still.calibration.covariance.slope;
    assert!(libm::fabs(ratio / wild.widening - 1.0) < 1e-2, "{ratio}");
    // A point 6 mV high leaves 2/3 of it there and −1/3 at both ends.
    let residual = point(7.0, 11.0, 25.0).residual(&wild.calibration).unwrap();
    assert!(libm::fabs(residual + 4.0 / (0.98 * 59.159_35)) < 1e-4, "{residual}");
}

#[test]
fn a_poor_buffer_pulls_less() {
    let truth = calibration(1.0, 0.0);
    let mut points = [4.0, 7.0, 10.0].map(|ph| noiseless(&truth, ph, 20.0));
    points[2].potential = Millivolts::new(points[2].potential.get() + 5.0);
    let equal = fit(&points).unwrap();
    let uncertainties = [0.005, 0.005, 0.2];
    for (point, uncertainty) in points.iter_mut().zip(uncertainties) {
        point.buffer_uncertainty = Some(uncertainty);
    }
    let weighted = fit(&points).unwrap();
    let off = |fit: &PhFit| libm::fabs(fit.calibration.slope_fraction - 1.0);
    assert!(off(&weighted) < off(&equal) / 50.0, "{} {}", off(&weighted), off(&equal));
}

#[test]
fn nothing_outside_the_valid_ranges() {
    let line = calibration(1.0, 0.0);
    let ph = |mv, t| line.ph(Millivolts::new(mv), Celsius::new(t));
    assert!(ph(0.0, -5.0).is_some() && ph(0.0, 100.0).is_some());
    assert_eq!(ph(0.0, -5.1), None);
    assert_eq!(ph(0.0, 100.1), None);
    assert_eq!(ph(0.0, f64::NAN), None);
    assert_eq!(ph(f64::NAN, 25.0), None);
    assert_eq!(ph(1000.0, 25.0), None);
    assert_eq!(calibration(0.0, 0.0).ph(Millivolts::new(10.0), Celsius::new(25.0)), None);
    assert_eq!(line.potential(Ph::new(17.0), Celsius::new(25.0)), None);
    assert_eq!(line.potential(Ph::new(7.0), Celsius::new(-6.0)), None);
    assert_eq!(line.ph_uncertainty(Millivolts::new(1000.0), Celsius::new(25.0)), None);
}

/// Regression: buffers at their own temperatures, as the published equations give them.
#[test]
fn buffers_at_differing_temperatures_fall_on_one_line() {
    let truth = calibration(0.964, -11.3);
    let points: Vec<_> = [("phthalate-1977", 12.0), ("phosphate-1-1", 18.0), ("borax", 31.0)]
        .into_iter()
        .map(|(name, t)| {
            let ph = buffers::by_name(name).unwrap().ph(Celsius::new(t)).unwrap().value;
            noiseless(&truth, ph, t)
        })
        .collect();
    let found = fit(&points).unwrap();
    assert!(libm::fabs(found.calibration.slope_fraction - 0.964) < 1e-12);
    assert!(libm::fabs(found.calibration.offset_mv + 11.3) < 1e-9);
    assert!(found.chi_squared < 1e-15);
}

proptest! {
    #[test]
    fn noiseless_points_give_back_the_parameters(
        slope in 0.7..1.1,
        offset in -100.0..100.0,
        places in prop::collection::vec((1.0..13.0, 0.0..60.0), 2..8),
        uncertainties in prop::collection::vec(prop::option::of(0.0..0.1), 8),
    ) {
        let span = |pick: fn(f64, f64) -> f64, start| places.iter().fold(start, |a, &(ph, _)| pick(a, ph));
        prop_assume!(span(f64::max, 0.0) - span(f64::min, 14.0) > 2.0);
        let truth = calibration(slope, offset);
        let points: Vec<_> = places.iter().zip(uncertainties).map(|(&(ph, t), buffer_uncertainty)| {
            PhPoint { buffer_uncertainty, ..noiseless(&truth, ph, t) }
        }).collect();
        let found = fit(&points).unwrap();
        prop_assert!(libm::fabs(found.calibration.slope_fraction - slope) < 1e-10);
        prop_assert!(libm::fabs(found.calibration.offset_mv - offset) < 1e-8);
        for point in &points {
            prop_assert!(libm::fabs(point.residual(&found.calibration).unwrap()) < 1e-9);
        }
        let correlation = found.calibration.covariance.correlation().unwrap();
        prop_assert!((-1.0..=1.0).contains(&correlation));
    }

    #[test]
    fn apply_and_invert_are_inverse(
        slope in 0.5..1.2, offset in -200.0..200.0, ph in -2.0..16.0, t in -5.0..100.0,
    ) {
        let line = calibration(slope, offset);
        let there = line.potential(Ph::new(ph), Celsius::new(t)).unwrap();
        // At the very ends rounding may step outside the range, which is then refused.
        if let Some(back) = line.ph(there, Celsius::new(t)) {
            prop_assert!(libm::fabs(back.get() - ph) < 1e-12);
        } else {
            prop_assert!(!(-1.999..15.999).contains(&ph));
        }
    }
}
