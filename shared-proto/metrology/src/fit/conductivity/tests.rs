use std::vec::Vec;

use proptest::prelude::*;

use super::*;
use crate::fit::FitError;

const LINEAR: Compensation = Compensation::Linear { per_kelvin: 0.0191 };

fn point(standard: f64, conductance: f64) -> ConductivityPoint {
    ConductivityPoint {
        standard: MicrosiemensPerCm::new(standard),
        standard_uncertainty: None,
        standard_per_kelvin: 0.0,
        conductance: Microsiemens::new(conductance),
        range: Range::Ohm1k,
        temperature: Celsius::new(21.0),
        bottle: None,
    }
}

fn cell(cell_constant_per_cm: f64) -> ConductivityCalibration {
    ConductivityCalibration::exact(cell_constant_per_cm, LINEAR)
}

#[test]
fn bad_points_are_named_with_their_numbers() {
    let good = point(1305.0, 1300.0);
    let error = |points: &[ConductivityPoint]| fit(points, LINEAR).unwrap_err();
    assert_eq!(error(&[]), FitError::TooFewPoints { got: 0, need: 1 });
    for bad in [point(f64::NAN, 1.0), point(1.0, f64::INFINITY)] {
        assert!(matches!(error(&[good, bad]), FitError::NotFinite { point: 2, .. }));
    }
    let hot = ConductivityPoint { temperature: Celsius::new(120.0), ..good };
    let unsure = ConductivityPoint { standard_uncertainty: Some(1_306_000.0), ..good };
    for (bad, got) in
        [(point(-1.0, 1.0), -1.0), (point(1.0, 0.0), 0.0), (hot, 120.0), (unsure, 1_306_000.0)]
    {
        match error(&[good, bad]) {
            FitError::OutOfRange { point: 2, range } => assert_eq!(range.got, got),
            other => panic!("{other:?}"),
        }
    }
    let steep = Compensation::Linear { per_kelvin: 2.0 };
    assert!(matches!(fit(&[good], steep), Err(FitError::Compensation(range)) if range.got == 2.0));
}

/// One standard carries the uncertainties stated beforehand: √(0.8² + 0.2²) % = 0.825 %, and the 0.5 Ω
/// of the series resistance, 0.072 % of the 689.7 Ω measured.
#[test]
fn one_standard_gives_a_cell_constant() {
    let fit = fit(&[point(1305.0, 1450.0)], LINEAR).unwrap();
    let found = fit.calibration;
    assert!(libm::fabs(found.cell_constant_per_cm - 0.9) < 1e-12);
    let relative = libm::sqrt(found.variance_per_cm2) / 0.9;
    // Computed: √(0.008² + 0.002² + 0.000725²).
    assert!(libm::fabs(relative - 0.008_278_03) < 1e-7, "{relative}");
    assert_eq!((fit.degrees_of_freedom, fit.widening), (0, 1.0));
}

#[test]
fn scatter_widens_and_never_narrows() {
    let near = fit(&[point(1000.0, 1000.0), point(1000.0, 1001.0)], LINEAR).unwrap();
    assert_eq!(near.widening, 1.0);
    let far = fit(&[point(1000.0, 1000.0), point(1000.0, 1100.0)], LINEAR).unwrap();
    assert!(far.widening > 50.0 && far.widening == far.chi_squared);
    // Both residuals are nearly equal: each standard lies half of the difference off, more for the
    // larger resistance, whose uncertainty is larger.

    let off = point(1000.0, 1000.0).residual_percent(&far.calibration).unwrap();
    assert!(libm::fabs(off + 100.0 / 22.0) < 0.2, "{off}");
}

#[test]
fn a_better_standard_pulls_more() {
    let good = ConductivityPoint { standard_uncertainty: Some(0.5), ..point(1000.0, 1000.0) };
    let poor = ConductivityPoint { standard_uncertainty: Some(500.0), ..point(10_000.0, 9_000.0) };
    let found = fit(&[good, poor], LINEAR).unwrap().calibration.cell_constant_per_cm;
    assert!(libm::fabs(found - 1.0) < 0.005, "{found}");
}

#[test]
fn nothing_outside_the_valid_ranges() {
    let one = cell(1.0);
    let found = |g| one.conductivity(Microsiemens::new(g), Range::Ohm1k);
    assert_eq!(found(1e6 + 1.0), None);
    assert_eq!(found(-11.0), None);
    assert_eq!(found(f64::NAN), None);
    assert!(found(-0.5).is_some(), "noise in air is let through");
    assert_eq!(one.specific(Microsiemens::new(100.0), Range::Ohm1k, Celsius::new(60.0)), None);
    assert_eq!(cell(0.0).conductance(MicrosiemensPerCm::new(100.0), Range::Ohm1k), None);
    assert_eq!(point(0.0, 1.0).residual_percent(&cell(1.0)), None);
}

proptest! {
    #[test]
    fn noiseless_points_give_back_the_cell_constant(
        constant in 0.01..50.0,
        standards in prop::collection::vec((1.0..9_000.0, prop::option::of(0.0..0.1)), 1..6),
    ) {
        let points: Vec<_> = standards.iter().map(|&(standard, relative)| ConductivityPoint {
            standard_uncertainty: relative.map(|u: f64| u * standard),
            ..point(standard, standard / constant)
        }).collect();
        let found = fit(&points, LINEAR).unwrap();
        prop_assert!(libm::fabs(found.calibration.cell_constant_per_cm / constant - 1.0) < 1e-9);
        prop_assert_eq!(found.widening, 1.0);
    }

    #[test]
    fn apply_and_invert_are_inverse(constant in 0.01..50.0, conductivity in 0.0..900_000.0) {
        let there = cell(constant).conductance(MicrosiemensPerCm::new(conductivity), Range::Ohm1k).unwrap();
        let back = cell(constant).conductivity(there, Range::Ohm1k).unwrap().get();
        prop_assert!(libm::fabs(back - conductivity) <= 1e-14 * conductivity);
    }
}
