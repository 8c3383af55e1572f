//! The decision rule against the examples and the table of JCGM 106:2012.
//!
//! What is recalled and not checked, and what is computed from the numbers of the example, says so
//! beside it (REFERENCES 21).

use rillmark_metrology::decision::{Tolerance, conformance_probability, decide};
use rillmark_proto::record::verification::Verdict;

fn probability(measured: f64, u: f64, tolerance: Tolerance) -> f64 {
    conformance_probability(measured, u, &tolerance).unwrap()
}

/// Table 1: conformance probability of one limit for a value that lies z standard uncertainties
/// inside it; recalled, not checked, though quantiles of the normal distribution; two decimals
/// of z.
#[test]
fn one_limit_agrees_with_table_1() {
    for (z, published) in [(0.84, 0.80), (1.28, 0.90), (1.64, 0.95), (2.33, 0.99), (3.09, 0.999)] {
        // z is printed to half a hundredth; the density says what that is in probability.
        let density = (-0.5_f64 * z * z).exp() / (2.0 * std::f64::consts::PI).sqrt();
        let allowed = 0.005 * density * 1.05;
        let upper = probability(-z, 1.0, Tolerance::at_most(0.0).unwrap());
        let lower = probability(z, 1.0, Tolerance::at_least(0.0).unwrap());
        assert!((upper - published).abs() <= allowed, "{z}: {upper}");
        assert_eq!(upper, lower, "{z}");
    }
}

/// Clause 7.4, a motor oil: kinematic viscosity in mm²/s allowed from 12.5 to 16.3, measured 13.6
/// with u = 1.8: the probability of conformity is 0.66; recalled, not checked.
#[test]
fn two_limits_agree_with_the_motor_oil() {
    let tolerance = Tolerance::between(12.5, 16.3).unwrap();
    let decision = decide(13.6, 1.8, &tolerance).unwrap();
    assert_eq!(format!("{:.2}", decision.conformance_probability), "0.66");
    // The guide leaves the decision rule to its reader; with a guard band of U this one is open.
    assert_eq!(decision.verdict, Verdict::CannotTell);
    assert!(tolerance.is_narrower_than_guard_bands(1.8));
}

/// A breakdown voltage that must not be above −5.4 V, measured −5.47 V with u = 0.05 V: z = 1.40 and
/// a probability of 0.92; the example of clause 7; recalled, not checked.
#[test]
fn one_limit_agrees_with_the_breakdown_voltage() {
    let tolerance = Tolerance::at_most(-5.4).unwrap();
    let decision = decide(-5.47, 0.05, &tolerance).unwrap();
    assert_eq!(format!("{:.2}", decision.conformance_probability), "0.92");
    assert_eq!(decision.verdict, Verdict::CannotTell);
}

/// Clause 8.3.2: with a guard band w = U at one limit, an accepted value does not conform with a
/// probability of at most 2.3 % (1 − Φ(2) = 0.02275, computed); recalled, not checked.
#[test]
fn guarded_acceptance_bounds_the_consumers_risk() {
    let tolerance = Tolerance::at_most(1.0).unwrap();
    let at_the_acceptance_limit = decide(0.5, 0.25, &tolerance).unwrap();
    assert_eq!(at_the_acceptance_limit.verdict, Verdict::Pass);
    let risk = 1.0 - at_the_acceptance_limit.conformance_probability;
    assert_eq!(format!("{risk:.5}"), "0.02275");
    assert!(at_the_acceptance_limit.conformance_probability > probability(0.5001, 0.25, tolerance));
}
