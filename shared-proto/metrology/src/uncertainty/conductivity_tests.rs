use proptest::prelude::*;

use rillmark_proto::calibration::conductivity::Estimate;

use super::*;
use crate::fit::conductivity::{Assumed, ConductivityPoint, fit, fit_assuming};

const LINEAR: Compensation = Compensation::Linear { per_kelvin: 0.0191 };
const NO_ERROR: Conditions = Conditions {
    since: Since::Same,
    conductance: 0.0,
    front_end: 0.0,
    thermometer_k: 0.0,
    gradient_k: 0.0,
    range: 0.0,
    drift: 0.0,
    thermometer_drift_k: 0.0,
    response: 0.0,
    thermometer_response_k: 0.0,
};
const OWN: Assumed = Assumed {
    series_ohm: Estimate { value: 0.0, standard_uncertainty: 0.5 },
    zero_us: Estimate { value: 0.0, standard_uncertainty: 0.05 },
    thermometer_k: 0.2,
};

/// A cell in a standard at a temperature, as it reads on a range.
fn point(cell: &ConductivityCalibration, standard: f64, t: f64, range: Range) -> ConductivityPoint {
    let standard = MicrosiemensPerCm::new(standard);
    ConductivityPoint {
        standard,
        standard_uncertainty: Some(0.005 * standard.get()),
        standard_per_kelvin: 0.02 * standard.get(),
        conductance: cell.conductance(standard, range).unwrap(),
        range,
        temperature: Celsius::new(t),
        bottle: None,
    }
}

fn of(budget: &Budget, cause: Cause) -> f64 {
    budget.contributions.iter().find(|each| each.cause == cause).unwrap().relative
}

/// By hand, one standard of 1413 µS/cm, K = 1, R = 707.7 Ω: √(0.5² + 0.2² + (0.05·2)²) % = 0.548 %
/// for the points; the series resistance's 0.5 Ω cancel there. In water of 14 130 µS/cm (70.8 Ω) the
/// 0.5 Ω are 0.5/70.77 − 0.5/707.7 = 0.636 %.
#[test]
fn the_series_resistance_counts_where_the_cell_was_not_calibrated() {
    let cell = ConductivityCalibration::exact(1.0, LINEAR);
    let found = fit(&[point(&cell, 1413.0, 25.0, Range::Ohm1k)], LINEAR).unwrap().calibration;
    let at = |us: f64| {
        let budget = found.budget(Microsiemens::new(us), Range::Ohm1k, &NO_ERROR).unwrap();
        of(&budget, Cause::Calibration)
    };
    let near: f64 = libm::sqrt(0.5 * 0.5 + 0.2 * 0.2 + 0.1 * 0.1);
    assert!(libm::fabs(100.0 * at(1413.0) - near) < 1e-4, "{}", at(1413.0));
    assert!(libm::fabs(100.0 * at(14_130.0) - libm::hypot(near, 0.636)) < 1e-3, "{}", at(14_130.0));
}

/// A thermometer 1 K too high calls a standard 2 % stronger than it is; the same thermometer makes
/// 1.91 % less of it at 25 °C. Of the conductivity as it is 2 % remain.
#[test]
fn a_thermometer_error_nearly_cancels_in_specific_conductance() {
    let cell = ConductivityCalibration::exact(1.0, LINEAR);
    let found = fit(&[point(&cell, 1413.0, 25.0, Range::Ohm1k)], LINEAR).unwrap().calibration;
    let conditions = Conditions { thermometer_k: 1.0, ..NO_ERROR };
    let (us, t) = (Microsiemens::new(1413.0), Celsius::new(25.0));
    let as_is = found.budget(us, Range::Ohm1k, &conditions).unwrap();
    assert!(libm::fabs(of(&as_is, Cause::Thermometer) - 0.02) < 1e-4);
    let specific = found.specific_budget(us, Range::Ohm1k, t, &conditions).unwrap();
    assert!(libm::fabs(of(&specific, Cause::Thermometer) - 0.000_9) < 1e-4, "{specific:?}");
}

#[test]
fn a_range_without_a_point_and_a_water_unlike_the_compensation_are_told() {
    let cell = ConductivityCalibration::exact(1.0, LINEAR);
    let found = fit(&[point(&cell, 1413.0, 25.0, Range::Ohm1k)], LINEAR).unwrap().calibration;
    let us = Microsiemens::new(300.0);
    let conditions = Conditions::new(us, Range::Ohm1k, 0.2);
    let on = |range| found.budget(us, range, &conditions).unwrap();
    assert_eq!(of(&on(Range::Ohm1k), Cause::Range), 0.0);
    // Two resistors of 0.1 %, each shifted by 0.1 % in soldering: 0.001 · 2 / √3.
    assert!(libm::fabs(of(&on(Range::Ohm10k), Cause::Range) - 0.001_155) < 1e-6);
    let cold = found.specific_budget(us, Range::Ohm1k, Celsius::new(10.0), &conditions).unwrap();
    // 2.24 % at 10 °C, as `relative_uncertainty_linear` documents.
    assert!(libm::fabs(of(&cold, Cause::Compensation) - 0.0224) < 2e-4);
    let natural = ConductivityCalibration {
        compensation: Compensation::NaturalWater { exponent: 0.929 },
        ..found
    };
    let cold = natural.specific_budget(us, Range::Ohm1k, Celsius::new(10.0), &conditions).unwrap();
    // 2.67 % there, as `relative_uncertainty_natural_water` documents.
    assert!(libm::fabs(of(&cold, Cause::Compensation) - 0.0267) < 2e-4);
}

/// Two standards a decade apart tell the series resistance: u about 0.6 % of the smaller resistance
/// without the prior, and whatever is better with it.
#[test]
fn two_standards_find_the_series_resistance_and_the_zero_is_taken_off() {
    let truth = ConductivityCalibration {
        series_ohm: Estimate { value: 0.8, standard_uncertainty: 0.0 },
        zero_us: Estimate { value: 0.4, standard_uncertainty: 0.0 },
        ..ConductivityCalibration::exact(0.97, LINEAR)
    };
    let points = [(1413.0, Range::Ohm1k), (50_000.0, Range::Ohm1k)]
        .map(|(us, r)| point(&truth, us, 25.0, r));
    let assumed = Assumed {
        zero_us: Estimate { value: 0.4, standard_uncertainty: 0.01 },
        series_ohm: Estimate { value: 0.0, standard_uncertainty: 100.0 },
        thermometer_k: 0.2,
    };
    let fit = fit_assuming(&points, LINEAR, &assumed).unwrap();
    assert!(libm::fabs(fit.calibration.cell_constant_per_cm - 0.97) < 1e-5, "{fit:?}");
    assert!(libm::fabs(fit.calibration.series_ohm.value - 0.8) < 1e-3, "{fit:?}");
    assert!((0.1..0.25).contains(&fit.calibration.series_ohm.standard_uncertainty), "{fit:?}");
}

/// Two points on each of two ranges whose resistors differ by 5 %: one cell constant contradicts
/// them, two do not.
#[test]
fn ranges_that_disagree_get_a_factor_each() {
    let cell = ConductivityCalibration {
        range_factor: [Some(1.0), Some(1.05), None],
        ..ConductivityCalibration::exact(1.0, LINEAR)
    };
    let points = [
        (1413.0, Range::Ohm1k),
        (2765.0, Range::Ohm1k),
        (147.0, Range::Ohm10k),
        (84.0, Range::Ohm10k),
    ]
    .map(|(us, range)| point(&cell, us, 25.0, range));
    let fit = fit(&points, LINEAR).unwrap();
    assert!(fit.per_range && fit.widening == 1.0 && fit.degrees_of_freedom == 2, "{fit:?}");
    for (point, n) in points.iter().zip(1..) {
        let residual = point.residual_percent(&fit.calibration).unwrap();
        assert!(libm::fabs(residual) < 0.01, "{n}: {residual}");
    }
    let [one, ten, hundred] = fit.calibration.range_factor;
    assert!(libm::fabs(ten.unwrap() / one.unwrap() - 1.05) < 1e-4 && hundred.is_none());
    // Where the ranges agree nothing is split.
    let alike = ConductivityCalibration::exact(1.0, LINEAR);
    let points = points.map(|p| point(&alike, p.standard.get(), 25.0, p.range));
    assert!(!crate::fit::conductivity::fit(&points, LINEAR).unwrap().per_range);
}

proptest! {
    /// The responses and sensitivities are derivatives: doing it again with the error gives the same.
    #[test]
    fn sensitivities_are_what_a_second_calibration_shows(
        cell_constant in 0.3..3.0, us_cm in 30.0..20_000.0, t in 5.0..35.0,
        first in 100.0..2_000.0, ratio in 1.0..10.0,
    ) {
        let truth = ConductivityCalibration::exact(cell_constant, LINEAR);
        let points = [first, first * ratio].map(|us| point(&truth, us, 22.0, Range::Ohm1k));
        let line = fit_assuming(&points, LINEAR, &OWN).unwrap().calibration;
        let us = truth.conductance(MicrosiemensPerCm::new(us_cm), Range::Ohm1k).unwrap();
        let specific = |line: &ConductivityCalibration, t: f64| {
            line.specific(us, Range::Ohm1k, Celsius::new(t)).unwrap().get()
        };
        let exact = specific(&line, t);
        const H: f64 = 1e-4;
        let warmer = points.map(|p| ConductivityPoint {
            standard: MicrosiemensPerCm::new(p.standard.get() + H * p.standard_per_kelvin),
            ..p
        });
        let mut zero = OWN;
        zero.zero_us.value += H;
        for (cause, seen) in [
            (Cause::Thermometer, specific(&fit_assuming(&warmer, LINEAR, &OWN).unwrap().calibration, t + H)),
            (Cause::Zero, specific(&fit_assuming(&points, LINEAR, &zero).unwrap().calibration, t)),
        ] {
            let conditions = Conditions { thermometer_k: 1.0, ..NO_ERROR };
            let budget = line
                .specific_budget(us, Range::Ohm1k, Celsius::new(t), &conditions)
                .unwrap();
            let mut sensitivity = of(&budget, cause);
            if cause == Cause::Zero {
                sensitivity /= line.zero_us.standard_uncertainty;
            }
            let seen = libm::fabs(seen / exact - 1.0) / H;
            // What the zero does to the series resistance is left out: 0.2 % for a whole µS, where
            // the zero is uncertain by 0.05 µS.
            let left_out = if cause == Cause::Zero { 2e-3 } else { 2e-4 };
            let allowed = left_out + 0.02 * sensitivity;
            prop_assert!(libm::fabs(seen - sensitivity) < allowed, "{:?}: {} {}", cause, seen, sensitivity);
        }
    }
}
