use super::*;

fn value(name: &str, t: f64) -> f64 {
    by_name(name).unwrap().conductivity(Celsius::new(t)).unwrap().value
}

#[test]
fn names_are_distinct_and_found() {
    for (i, standard) in ALL.iter().enumerate() {
        assert_eq!(by_name(standard.name()), Some(standard));
        for alias in standard.aliases() {
            assert_eq!(by_name(alias), Some(standard));
        }
        assert!(ALL[..i].iter().all(|other| other.name() != standard.name()));
    }
    assert_eq!(by_name("0.01"), None, "the basis must be named");
}

#[test]
fn each_range_is_closed_and_kept() {
    for standard in ALL {
        let (min, max) = standard.range();
        assert!(standard.conductivity(Celsius::new(min)).is_ok());
        assert!(standard.conductivity(Celsius::new(max)).is_ok());
        for t in [min - 0.001, max + 0.001, f64::NAN, f64::NEG_INFINITY] {
            let error = standard.conductivity(Celsius::new(t)).unwrap_err();
            assert_eq!((error.what, error.min, error.max), (quantity::TEMPERATURE, min, max));
        }
    }
}

#[test]
fn every_standard_rises_smoothly() {
    for standard in ALL {
        let (min, max) = standard.range();
        let mut last = value(standard.name(), min);
        for step in 1..=20 {
            let here = value(standard.name(), min + (max - min) * f64::from(step) / 20.0);
            let per_kelvin = (here - last) * 20.0 / (max - min) / value(standard.name(), 25.0);
            assert!((0.015..0.022).contains(&per_kelvin), "{}: {per_kelvin}", standard.name());
            last = here;
        }
    }
}

/// The cubics were fitted to the same rows on their own (numpy least squares; computed), so they
/// bound what the interpolation does between rows: it agrees within 0.002 %.
#[test]
fn interpolation_agrees_with_the_fitted_cubics() {
    let fits = [
        ("kcl-0.01-mol-per-kg", 1408.23, [1.94395e-2, 4.53830e-5, -4.14915e-7]),
        ("kcl-0.1-mol-per-kg", 12_824.6, [1.90612e-2, 4.04560e-5, -3.95656e-7]),
    ];
    for (name, at_25, [c1, c2, c3]) in fits {
        for step in 0..=500 {
            let t = f64::from(step) / 10.0;
            let x = t - 25.0;
            let fitted = at_25 * (1.0 + x * (c1 + x * (c2 + x * c3)));
            let relative = value(name, t) / fitted - 1.0;
            assert!(libm::fabs(relative) < 2e-5, "{name} at {t}: {relative:e}");
        }
    }
}

/// With every second row left out, the cubic misses the rows between by less than 0.03 %; the error of
/// a cubic falls with the fourth power of the step, so with all rows it is 16 times smaller.
#[test]
fn interpolation_with_half_the_rows_misses_the_others_by_little() {
    for standard in ALL {
        let Law::Table(rows) = standard.law else { continue };
        let half: std::vec::Vec<Row> = rows.iter().copied().step_by(2).collect();
        for &(t, row) in rows.iter().skip(1).step_by(2) {
            let relative = interpolation::cubic(&half, t) / row - 1.0;
            assert!(libm::fabs(relative) < 16.0 * 2e-5, "{} at {t}: {relative:e}", standard.name());
        }
    }
}

#[test]
fn the_two_solutions_of_0_01_differ_by_their_basis() {
    let (molal, molar) = (by_name("1408").unwrap(), by_name("1413").unwrap());
    assert_eq!((molal.basis(), molar.basis()), (Basis::Molality, Basis::Molarity));
    assert!(libm::fabs(value("1413", 25.0) / value("1408", 25.0) - 1.00339) < 1e-5);
}

/// The temperature shape of KCl at infinite dilution, from the ions' conductivities of McCleskey et al.
/// (2012): λ = a·T² + b·T + c, K 0.003046, 1.261, 40.70 (seen in secondary sources), Cl 0.003817,
/// 1.337, 40.99 (recalled, not checked). A solution more dilute than 0.01 mol/kg lies between both
/// shapes.
#[test]
fn dilute_standards_may_take_the_shape_of_0_01() {
    let ions = |t: f64| (40.70 + 40.99) + t * ((1.261 + 1.337) + t * (0.003046 + 0.003817));
    for name in ["147", "84"] {
        assert_eq!(by_name(name).unwrap().range(), (10.0, 40.0));
        for t in [10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0] {
            let shape = value(name, t) / value(name, 25.0);
            let off = ions(t) / ions(25.0) / shape - 1.0;
            assert!(libm::fabs(off) < 3e-3, "{name} at {t}: {off:e}");
        }
    }
}

/// Molar table of Standard Methods 2510 B at 25 °C, µS/cm; recalled, not checked.
#[test]
fn the_bottle_of_84_is_a_solution_between_two_of_the_molar_table() {
    let (low, high) = ((0.0005, 73.9), (0.001, 146.9));
    let amount = low.0 + (high.0 - low.0) * (84.0 - low.1) / (high.1 - low.1);
    assert!(libm::fabs(amount - 0.00057) < 5e-6, "{amount}");
    assert!(by_name("84").unwrap().source().contains("0.00057 mol/L"));
}

#[test]
fn what_is_derived_is_tagged_computed_and_less_certain_than_what_is_published() {
    for standard in ALL {
        let derived = !matches!(standard.law, Law::Table(_));
        assert_eq!(standard.tag() == Tag::Computed, derived, "{}", standard.name());
        let u = standard.relative_uncertainty().standard;
        assert_eq!(u > 4e-4, derived, "{}", standard.name());
    }
}

/// The parts as the comments beside the numbers state them.
#[test]
fn the_uncertainty_of_weak_standards_holds_their_carbon_dioxide() {
    for (name, at_25) in [("147", 146.9), ("84", 84.0)] {
        let rectangle = |half: f64| half / libm::sqrt(3.0);
        let (dioxide, shape) = (rectangle(1.10 / at_25), rectangle(3e-3));
        let u = libm::sqrt(5e-3 * 5e-3 + dioxide * dioxide + shape * shape);
        let stated = by_name(name).unwrap().relative_uncertainty().standard;
        assert!(stated >= u && stated < 1.1 * u, "{name}: {stated} {u}");
    }
}
