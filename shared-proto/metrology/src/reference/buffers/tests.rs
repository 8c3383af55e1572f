use super::*;

fn ph(name: &str, t: f64) -> f64 {
    by_name(name).unwrap().ph(Celsius::new(t)).unwrap().value
}

#[test]
fn names_are_distinct_and_found() {
    for (i, buffer) in ALL.iter().enumerate() {
        assert_eq!(by_name(buffer.name()), Some(buffer));
        for alias in buffer.aliases() {
            assert_eq!(by_name(alias), Some(buffer));
        }
        assert!(ALL[..i].iter().all(|other| other.name() != buffer.name()));
    }
    assert_eq!(by_name("phthalate"), None, "an edition must be named");
}

#[test]
fn each_range_is_closed_and_kept() {
    for buffer in ALL {
        let (min, max) = buffer.range();
        for t in [min, 25.0, max] {
            let sourced = buffer.ph(Celsius::new(t)).unwrap();
            assert!(sourced.value > 1.0 && sourced.value < 14.0, "{}", buffer.name());
            assert!(sourced.standard_uncertainty.is_some_and(|u| u > 0.0));
        }
        for t in [min - 0.001, max + 0.001, f64::NAN, f64::INFINITY] {
            let error = buffer.ph(Celsius::new(t)).unwrap_err();
            assert_eq!((error.what, error.min, error.max), (quantity::TEMPERATURE, min, max));
            assert!(buffer.ph_per_kelvin(Celsius::new(t)).is_err());
        }
    }
}

#[test]
fn the_derivative_is_that_of_the_value() {
    for buffer in ALL.iter().filter(|buffer| matches!(buffer.law, Law::Equation(_))) {
        for t in [26.0, 30.0, 44.0] {
            let central = (ph(buffer.name(), t + 0.01) - ph(buffer.name(), t - 0.01)) / 0.02;
            let slope = buffer.ph_per_kelvin(Celsius::new(t)).unwrap();
            assert!(libm::fabs(slope - central) < 1e-7, "{} at {t}", buffer.name());
        }
    }
    let slope = |t| by_name("7.00").unwrap().ph_per_kelvin(Celsius::new(t)).unwrap();
    assert!(libm::fabs(slope(22.5) + 0.004) < 1e-12);
    assert!(libm::fabs(slope(0.0) + 0.006) < 1e-12);
}

#[test]
fn the_table_runs_straight_between_rows() {
    assert!(libm::fabs(ph("technical-7.00", 22.5) - 7.01) < 1e-12);
    assert!(libm::fabs(ph("technical-7.00", 50.0) - 6.97) < 1e-12);
}
