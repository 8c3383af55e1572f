use proptest::prelude::*;

use super::*;

fn probability(measured: f64, u: f64, tolerance: &Tolerance) -> f64 {
    conformance_probability(measured, u, tolerance).unwrap()
}

fn verdict(measured: f64, u: f64, tolerance: &Tolerance) -> Verdict {
    decide(measured, u, tolerance).unwrap().verdict
}

#[test]
fn bad_input_is_named() {
    for (lower, upper) in [(1.0, 1.0), (2.0, 1.0), (f64::NAN, 1.0), (0.0, f64::INFINITY)] {
        assert!(matches!(
            Tolerance::between(lower, upper),
            Err(DecisionError::UnusableTolerance { .. })
        ));
    }
    assert!(Tolerance::at_least(f64::NAN).is_err() && Tolerance::at_most(f64::INFINITY).is_err());
    let tolerance = Tolerance::at_most(1.0).unwrap();
    assert!(matches!(decide(f64::NAN, 0.1, &tolerance), Err(DecisionError::UnusableValue { .. })));
    for u in [-0.1, f64::NAN, f64::INFINITY] {
        assert!(matches!(
            decide(0.0, u, &tolerance),
            Err(DecisionError::UnusableUncertainty { .. })
        ));
    }
}

/// Limits ±1 and u = 0.125, so U = 0.25: the ends of the acceptance interval belong to it, and the
/// ends of the straddling zone to that.
#[test]
fn between_a_pass_and_a_fail_nobody_can_tell() {
    let tolerance = Tolerance::between(-1.0, 1.0).unwrap();
    for (measured, expected) in [
        (0.0, Verdict::Pass),
        (0.75, Verdict::Pass),
        (0.76, Verdict::CannotTell),
        (1.0, Verdict::CannotTell),
        (1.25, Verdict::CannotTell),
        (1.26, Verdict::Fail),
        (1e9, Verdict::Fail),
    ] {
        assert_eq!(verdict(measured, 0.125, &tolerance), expected, "{measured}");
        assert_eq!(verdict(-measured, 0.125, &tolerance), expected, "-{measured}");
    }
    assert_eq!(decide(0.5, 0.125, &tolerance).unwrap().expanded_uncertainty, 0.25);
}

#[test]
fn one_limit_does_not_know_the_other_side() {
    let at_least = Tolerance::at_least(10.0).unwrap();
    assert_eq!(verdict(1e12, 1.0, &at_least), Verdict::Pass);
    assert_eq!(verdict(7.9, 1.0, &at_least), Verdict::Fail);
    let at_most = Tolerance::at_most(10.0).unwrap();
    assert_eq!(verdict(-1e12, 1.0, &at_most), Verdict::Pass);
    assert_eq!(verdict(12.1, 1.0, &at_most), Verdict::Fail);
    assert_eq!(verdict(12.0, 1.0, &at_most), Verdict::CannotTell);
}

#[test]
fn an_exact_value_is_always_told() {
    let tolerance = Tolerance::between(0.0, 1.0).unwrap();
    for (measured, expected, p) in
        [(0.0, Verdict::Pass, 1.0), (1.0, Verdict::Pass, 1.0), (1.5, Verdict::Fail, 0.0)]
    {
        let decision = decide(measured, 0.0, &tolerance).unwrap();
        assert_eq!((decision.verdict, decision.conformance_probability), (expected, p));
    }
}

#[test]
fn a_tolerance_within_its_guard_bands_never_passes() {
    let tolerance = Tolerance::between(-0.05, 0.05).unwrap();
    assert!(tolerance.is_narrower_than_guard_bands(0.026));
    assert!(!tolerance.is_narrower_than_guard_bands(0.024));
    assert_eq!(verdict(0.0, 0.026, &tolerance), Verdict::CannotTell);
    assert_eq!(verdict(0.0, 0.024, &tolerance), Verdict::Pass);
    assert!(!Tolerance::at_least(0.0).unwrap().is_narrower_than_guard_bands(1e9));
}

/// 1 − Φ(30) is 0 in this arithmetic; the tail itself is 4.906 713 927 148e-198 (computed, scipy
/// 1.17.1, `norm.cdf(-30) - norm.cdf(-31)`).
#[test]
fn far_tails_keep_their_digits() {
    let beyond = Tolerance::between(30.0, 31.0).unwrap();
    let found = probability(0.0, 1.0, &beyond);
    assert!(libm::fabs(found / 4.906_713_927_148_764e-198 - 1.0) < 1e-9, "{found:e}");
}

proptest! {
    #[test]
    fn a_pass_is_probably_right_and_a_fail_too(
        measured in -10.0..10.0, u in 0.001..3.0, lower in -5.0..0.0, upper in 0.1..5.0,
    ) {
        let tolerance = Tolerance::between(lower, upper).unwrap();
        let decision = decide(measured, u, &tolerance).unwrap();
        let p = decision.conformance_probability;
        prop_assert!((0.0..=1.0).contains(&p));
        match decision.verdict {
            // Both tails beyond k = 2 are 4.56 % of a normal distribution, one is 2.28 %.
            Verdict::Pass => prop_assert!(p > 0.954),
            Verdict::Fail => prop_assert!(p < 0.0228),
            Verdict::CannotTell => {}
        }
    }

    #[test]
    fn mirrored_limits_decide_alike(measured in -10.0..10.0, u in 0.001..3.0, limit in -5.0..5.0) {
        let below = decide(measured, u, &Tolerance::at_most(limit).unwrap()).unwrap();
        let above = decide(-measured, u, &Tolerance::at_least(-limit).unwrap()).unwrap();
        prop_assert_eq!(below, above);
    }
}
