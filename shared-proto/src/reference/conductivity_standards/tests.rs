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

/// The cubics were fitted to the same rows on their own (numpy least squares; COMPUTED), so they
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
