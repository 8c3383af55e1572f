use std::vec::Vec;

use proptest::prelude::*;

use rillmark_proto::calibration::ph::{Isopotential, PhShared};

use super::*;
use crate::fit::ph::{Assumed, PhPoint, SlopePrior, fit, fit_assuming, measure_isopotential};

const NO_ERROR: Conditions = Conditions {
    since: Since::Same,
    potential_mv: 0.0,
    front_end_mv: 0.0,
    thermometer_k: 0.0,
    gradient_k: 0.0,
    gain: 0.0,
    junction_ph: 0.0,
    offset_drift_mv: 0.0,
    slope_drift: 0.0,
    thermometer_drift_k: 0.0,
    response_mv: 0.0,
    thermometer_response_k: 0.0,
};

fn point(ph: f64, mv: f64, t: f64) -> PhPoint {
    PhPoint {
        buffer: Ph::new(ph),
        buffer_uncertainty: Some(0.01),
        buffer_per_kelvin: -0.003,
        potential: Millivolts::new(mv),
        temperature: Celsius::new(t),
        bottle: None,
    }
}

/// What an electrode gives in three buffers at these temperatures.
fn three(slope: f64, offset: f64, temperatures: [f64; 3]) -> Vec<PhPoint> {
    let line = PhCalibration::exact(slope, offset);
    [4.0, 7.0, 9.2]
        .into_iter()
        .zip(temperatures)
        .map(|(ph, t)| {
            let potential = line.potential(Ph::new(ph), Celsius::new(t)).unwrap();
            point(ph, potential.get(), t)
        })
        .collect()
}

fn of(budget: &Budget, cause: Cause) -> f64 {
    budget.contributions.iter().find(|each| each.cause == cause).unwrap().u_ph
}

/// By hand, at pH 4 and 35 °C from a calibration at 25 °C without error: k₂₅ = 59.1594, k₃₅ =
/// 61.1436 mV (REFERENCES 1; computed). Isopotential: 0.3·(1 − 59.1594/61.1436) = 0.009 74;
/// potential: 0.3/61.1436 = 0.004 91; gradient 0.1 K: (7 − 4)·0.1/308.15 = 0.000 97.
#[test]
fn each_part_is_what_a_hand_calculation_gives() {
    let line = PhCalibration {
        isopotential: Isopotential { ph: 7.0, standard_uncertainty: 0.3 },
        ..PhCalibration::exact(1.0, 0.0)
    };
    let (ph, t) = (Ph::new(4.0), Celsius::new(35.0));
    let conditions =
        Conditions { potential_mv: 0.3, gradient_k: 0.1, junction_ph: 0.015, ..NO_ERROR };
    let budget = line.budget(line.potential(ph, t).unwrap(), t, &conditions).unwrap();
    for (cause, expected) in [
        (Cause::Calibration, 0.0),
        (Cause::Isopotential, 0.009_74),
        (Cause::Potential, 0.004_91),
        (Cause::Gradient, 0.000_97),
        (Cause::Junction, 0.015),
    ] {
        assert!(libm::fabs(of(&budget, cause) - expected) < 1e-5, "{cause:?} {budget:?}");
    }
    let sum: f64 = [0.009_74_f64, 0.004_91, 0.000_97, 0.015].iter().map(|u| u * u).sum();
    assert!(libm::fabs(budget.combined - libm::sqrt(sum)) < 1e-5);
    assert_eq!(budget.ph.get(), 4.0);
}

#[test]
fn a_gain_error_cancels_unless_the_slope_was_not_measured_with_it() {
    let conditions = Conditions { gain: 0.001, ..NO_ERROR };
    let at = (Millivolts::new(170.0), Celsius::new(25.0));
    let fitted = fit(&three(0.98, 12.0, [25.0; 3])).unwrap().calibration;
    assert!(of(&fitted.budget(at.0, at.1, &conditions).unwrap(), Cause::Gain) < 1e-12);
    let slope = Some(SlopePrior { slope_fraction: 0.98, standard_uncertainty: 0.02 });
    let assumed = Assumed { slope, ..Assumed::default() };
    let single = fit_assuming(&[point(7.0, 12.0, 25.0)], &assumed).unwrap().calibration;
    // 0.1 % of what lies between the point and the reading: 158 mV, that is 0.158 mV/(s·k).
    let expected = 0.158 / (0.98 * nernst::millivolts_per_ph(at.1));
    let found = of(&single.budget(at.0, at.1, &conditions).unwrap(), Cause::Gain);
    assert!(libm::fabs(found - expected) < 1e-6, "{found}");
}

/// One point and a prior slope: at the point only the point counts, three pH away the slope's
/// uncertainty does: 3·0.02/0.98 = 0.061 pH.
#[test]
fn one_point_is_good_where_it_was_taken() {
    let slope = Some(SlopePrior { slope_fraction: 0.98, standard_uncertainty: 0.02 });
    let assumed = Assumed { slope, ..Assumed::default() };
    let single = fit_assuming(&[point(7.0, 12.0, 25.0)], &assumed).unwrap();
    assert_eq!((single.degrees_of_freedom, single.chi_squared), (0, 0.0));
    let t = Celsius::new(25.0);
    let at = |ph| {
        let potential = single.calibration.potential(Ph::new(ph), t).unwrap();
        single.calibration.ph_uncertainty(potential, t).unwrap()
    };
    let near = libm::hypot(0.3 / (0.98 * 59.159_35), 0.01);
    assert!(libm::fabs(at(7.0) - near) < 1e-6);
    assert!(libm::fabs(at(4.0) - libm::hypot(near, 3.0 * 0.02 / 0.98)) < 1e-6);
    assert_eq!(
        fit_assuming(&[], &assumed),
        Err(crate::fit::FitError::TooFewPoints { got: 0, need: 1 })
    );
}

/// Only the difference between what the temperature error did to the calibration and what it does
/// to the reading is left; at the calibration's own pH and temperature that is the buffer's own
/// change with temperature.
#[test]
fn a_thermometer_error_is_seen_through_calibration_and_reading() {
    let fitted = fit(&three(0.98, 12.0, [25.0; 3])).unwrap().calibration;
    let t = Celsius::new(25.0);
    let conditions = Conditions { thermometer_k: 1.0, ..NO_ERROR };
    for ph in [4.0, 7.0, 9.2] {
        let potential = fitted.potential(Ph::new(ph), t).unwrap();
        let left = of(&fitted.budget(potential, t, &conditions).unwrap(), Cause::Thermometer);
        assert!(libm::fabs(left - 0.003) < 1e-6, "{ph}: {left}");
    }
}

proptest! {
    /// The responses are derivatives: refitting with the error in every point gives the same.
    #[test]
    fn responses_are_what_a_second_fit_shows(
        slope in 0.9..1.02, offset in -30.0..30.0, cold in 5.0..20.0, warm in 20.0..35.0,
        ph in 3.0..11.0, t in 5.0..35.0,
    ) {
        let points = three(slope, offset, [cold, 20.0, warm]);
        let line = fit(&points).unwrap().calibration;
        let shifted = |change: &dyn Fn(&mut PhPoint), isopotential: f64| {
            let mut points = points.clone();
            points.iter_mut().for_each(change);
            let mut assumed = Assumed::default();
            assumed.isopotential.ph += isopotential;
            fit_assuming(&points, &assumed).unwrap().calibration
        };
        let (t, potential) = (Celsius::new(t), line.potential(Ph::new(ph), Celsius::new(t)).unwrap());
        let found = |line: &PhCalibration, mv: f64, t: f64| {
            line.ph(Millivolts::new(mv), Celsius::new(t)).unwrap().get()
        };
        let exact = found(&line, potential.get(), t.get());
        const H: f64 = 1e-4;
        let warmer = |point: &mut PhPoint| {
            point.temperature = Celsius::new(point.temperature.get() + H);
            point.buffer = Ph::new(point.buffer.get() + H * point.buffer_per_kelvin);
        };
        let larger = |point: &mut PhPoint| {
            point.potential = Millivolts::new(point.potential.get() * (1.0 + H));
        };
        for (cause, conditions, shifted) in [
            (
                Cause::Thermometer,
                Conditions { thermometer_k: 1.0, ..NO_ERROR },
                found(&shifted(&warmer, 0.0), potential.get(), t.get() + H),
            ),
            (
                Cause::Gain,
                Conditions { gain: 1.0, ..NO_ERROR },
                found(&shifted(&larger, 0.0), potential.get() * (1.0 + H), t.get()),
            ),
            (
                Cause::Isopotential,
                NO_ERROR,
                found(&shifted(&|_| {}, H), potential.get(), t.get()),
            ),
        ] {
            let budget = line.budget(potential, t, &conditions).unwrap();
            let mut sensitivity = of(&budget, cause);
            if cause == Cause::Isopotential {
                sensitivity /= line.isopotential.standard_uncertainty;
            }
            let seen = libm::fabs(shifted - exact) / H;
            prop_assert!(libm::fabs(seen - sensitivity) < 2e-4, "{:?}: {} {}", cause, seen, sensitivity);
        }
    }

    #[test]
    fn two_temperatures_tell_the_isopotential_ph(
        isopotential in 6.0..8.0, slope in 0.9..1.02, offset in -30.0..30.0,
    ) {
        let line = PhCalibration {
            isopotential: Isopotential { ph: isopotential, standard_uncertainty: 0.0 },
            ..PhCalibration::exact(slope, offset)
        };
        let points: Vec<PhPoint> = [4.0, 7.0, 9.2]
            .into_iter()
            .flat_map(|ph| [5.0, 35.0].map(|t| (ph, t)))
            .map(|(ph, t)| {
                let mv = line.potential(Ph::new(ph), Celsius::new(t)).unwrap().get();
                point(ph, mv, t)
            })
            .collect();
        let found = measure_isopotential(&points).unwrap();
        prop_assert!(libm::fabs(found.ph - isopotential) < 1e-3, "{found:?}");
        // Three points a side of 0.66 mV, 5.95 mV per pH between the sides: by hand 0.09.
        prop_assert!((0.05..0.15).contains(&found.standard_uncertainty), "{found:?}");
        // At one temperature nothing can be said.
        let alike: Vec<_> = points.iter().copied().filter(|p| p.temperature.get() < 20.0).collect();
        prop_assert!(measure_isopotential(&alike).is_err());
    }
}

/// What the points share counts for the coefficients too: by hand √(0.002² + (0.004·0.25)² +
/// (0.9·0.0018425)² + (0.001·0.3)²) and √(0.2² + (0.8·0.25)² + (3·0.0018425)² + (0.5·0.3)²); the gain is
/// 0.15 % of the converter and 2/710 of its load, each over √3.
#[test]
fn slope_and_offset_are_as_uncertain_as_what_the_points_share_makes_them() {
    let response = |slope, offset_mv| PhResponse { slope, offset_mv };
    let calibration = PhCalibration {
        isopotential: Isopotential { ph: 7.0, standard_uncertainty: 0.3 },
        covariance: PhCovariance { slope: 4e-6, offset_mv2: 0.04, slope_offset_mv: 0.0 },
        shared: PhShared {
            per_kelvin: response(-0.004, 0.8),
            per_gain: response(0.9, 3.0),
            per_isopotential: response(0.001, -0.5),
            thermometer_k: 0.25,
        },
        ..PhCalibration::exact(0.98, 3.0)
    };
    assert!(libm::fabs(calibration.slope_uncertainty() - 0.002_800) < 1e-6);
    assert!(libm::fabs(calibration.offset_uncertainty_mv() - 0.320_2) < 1e-4);
}

/// A thermometer that was calibrated since is off by something else than at the calibration.
#[test]
fn nothing_cancels_once_the_thermometer_is_another() {
    let calibration = PhCalibration {
        shared: PhShared {
            per_kelvin: PhResponse { slope: -0.003_354, offset_mv: 0.0 },
            thermometer_k: 0.25,
            ..PhCalibration::exact(1.0, 0.0).shared
        },
        ..PhCalibration::exact(1.0, 0.0)
    };
    let budget = |since| {
        let conditions = Conditions { since, thermometer_k: 0.1, ..NO_ERROR };
        calibration.budget(Millivolts::new(177.5), Celsius::new(25.0), &conditions).unwrap()
    };
    // At pH 4 one kelvin makes 0.01 pH, through the reading as through the slope the other way.
    let (same, other) = (budget(Since::Same), budget(Since::Other));
    assert!(of(&same, Cause::Thermometer) < 1e-4 && of(&same, Cause::EarlierThermometer) == 0.0);
    assert!(libm::fabs(of(&other, Cause::Thermometer) - 0.001_0) < 5e-5, "{other:?}");
    assert!(libm::fabs(of(&other, Cause::EarlierThermometer) - 0.002_5) < 5e-5, "{other:?}");
}
