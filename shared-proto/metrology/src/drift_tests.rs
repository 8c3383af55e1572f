//! Expected values by hand.

use std::vec::Vec;

use super::*;

const KIND: Drift =
    Drift { rate_per_day: 0.0, rate_uncertainty: 0.5, walk_per_day: 0.25, differences: 0 };

fn near(found: f64, expected: f64) {
    assert!((found - expected).abs() <= 1e-6 * expected.abs().max(1.0), "{found}, not {expected}");
}

fn check(days: f64, difference: f64, standard_uncertainty: f64) -> Check {
    Check { days, difference, standard_uncertainty }
}

#[test]
fn doubt_grows_with_the_days_and_their_square() {
    let drift = Drift { rate_per_day: -0.5, ..KIND };
    near(drift.growth(4.0), 0.25 * 4.0 + (0.25 + 0.25) * 16.0);
    near(drift.variance_after(4.0, 0.0, None, &[]), 9.0);
    near(drift.variance_after(0.0, 0.0, None, &[]), 0.0);
    near(drift.variance_after(-3.0, 0.0, None, &[]), 0.0);
}

/// P = 0.25·4 + 0.25·16 = 5, u² = 5: half of the difference is believed.
#[test]
fn a_check_sets_the_doubt_back_as_far_as_it_is_sure() {
    let five = 5f64.sqrt();
    let at = |days| KIND.variance_after(days, 0.0, None, &[check(4.0, 2.0, five)]);
    near(at(3.0), 0.75 + 0.25 * 9.0);
    near(at(4.0), 1.0 + 2.5);
    // The rate: with a covariance of 0.25·4 it moves by a tenth of 2, and 0.15 of its variance remain.
    near(at(6.0), 1.4 * 1.4 + 2.5 + 2.0 * (0.25 + 2.0 * 0.5 + 0.15 * 2.0));
    // A perfect check leaves nothing but what it found, and one that shows nothing changes nothing.
    near(KIND.variance_after(4.0, 0.0, None, &[check(4.0, 0.0, 0.0)]), 0.0);
    near(KIND.variance_after(4.0, 0.0, None, &[check(4.0, 3.0, 0.0)]), 9.0);
    assert!((KIND.variance_after(4.0, 0.0, None, &[check(4.0, 9.0, 1e6)]) - 5.0).abs() < 1e-3);
}

#[test]
fn a_second_check_goes_on_from_the_first() {
    let five = 5f64.sqrt();
    let checks = [check(4.0, 2.0, five), check(6.0, 4.0, 2.0)];
    // Two days after the first one, as above: m = 1.4 and P = 5.6.
    let mean = 1.4 + 5.6 / 9.6 * (4.0 - 1.4);
    near(KIND.variance_after(6.0, 0.0, None, &checks), mean * mean + 5.6 * 4.0 / 9.6);
}

/// An error of the calibration that a check finds on the first day: half of it is believed where check and
/// calibration are equally sure, and what remains besides is what the calibration states anyhow.
#[test]
fn what_was_wrong_from_the_beginning_is_found_too() {
    // P = 4, u² = 4: m = 3, variance 2, of which 4 is stated.
    near(KIND.variance_after(0.0, 2.0, None, &[check(0.0, 6.0, 2.0)]), 9.0 + 2.0 - 4.0);
    // A check that finds nothing does not take away what the calibration states.
    near(KIND.variance_after(0.0, 2.0, None, &[check(0.0, 0.0, 2.0)]), 0.0);
    near(KIND.variance_after(3.0, 2.0, None, &[]), KIND.growth(3.0));
}

/// A check that is worth nothing takes nothing away, however often it is made.
#[test]
fn worthless_checks_change_nothing() {
    let checks: Vec<Check> = (1..30).map(|day| check(f64::from(day), 0.0, 1e6)).collect();
    near(KIND.variance_after(30.0, 0.0, None, &checks), KIND.variance_after(30.0, 0.0, None, &[]));
}

#[test]
fn a_check_far_off_and_what_a_calibration_left_are_believed_whole() {
    near(KIND.variance_after(1.0, 0.0, None, &[check(1.0, 30.0, 1.0)]), 901.0);
    let left = check(0.0, 3.0, 2.0);
    near(KIND.variance_after(0.0, 0.0, Some(&left), &[]), 13.0);
    near(KIND.variance_after(2.0, 0.0, Some(&left), &[]), 13.0 + 0.5 + 1.0);
    // A good check right after a calibration finds nothing that has drifted.
    near(KIND.variance_after(2.0, 0.0, None, &[check(0.0, 3.0, 2.0)]), 0.5 + 1.0);
}

/// v = 3.75 + 0.25·4 + 0.25·16 = 8.75… with u² = 3: v = 8; gain = 0.25·4/8 = 1/8.
#[test]
fn a_difference_moves_the_rate_and_the_walk() {
    let drift = KIND.after(&check(4.0, 4.0, 3f64.sqrt()), &KIND);
    near(drift.rate_per_day.into(), 0.5);
    near(f64::from(drift.rate_uncertainty).powi(2), 0.25 * 0.5);
    // z² = 16/8 = 2, of which the walk has 1/8; a third of it counts.
    near(drift.walk_per_day.into(), 0.25 * (1.0 + (2.0 - 1.0) / 8.0 / 3.0));
    assert_eq!(drift.differences, 1);
}

#[test]
fn a_step_leaves_the_rate_and_counts_for_no_more_than_nine_in_the_walk() {
    let known = Drift { rate_per_day: 0.25, ..KIND };
    let drift = known.after(&check(4.0, 100.0, 3f64.sqrt()), &KIND);
    assert_eq!((drift.rate_per_day, drift.rate_uncertainty), (0.25, 0.5));
    near(drift.walk_per_day.into(), 0.25 * (1.0 + (9.0 - 1.0) / 8.0 / 3.0));
}

#[test]
fn calibrations_of_one_day_tell_nothing_about_drift() {
    assert_eq!(KIND.after(&check(0.5, 4.0, 1.0), &KIND), KIND);
    let nothing = Drift::default();
    assert_eq!(nothing.after(&check(4.0, 4.0, 0.0), &nothing), nothing);
}

/// Exact differences of a sensor that drifts by 0.5 a day: the rate is found and its uncertainty goes.
#[test]
fn many_differences_find_the_rate() {
    let year = (0..50).fold(KIND, |drift, _| drift.after(&check(7.0, 3.5, 0.1), &KIND));
    assert!((year.rate_per_day - 0.5).abs() < 0.01, "{year:?}");
    assert!(year.rate_uncertainty < 0.08 && year.walk_per_day < 0.08, "{year:?}");
    assert_eq!(year.differences, 50);
    let renewed = year.renewed(&KIND);
    assert!((renewed.rate_uncertainty - 0.257).abs() < 0.002, "{renewed:?}");
    let often = (0..9).fold(year, |drift, _| drift.renewed(&KIND));
    assert_eq!(often.rate_uncertainty, KIND.rate_uncertainty);
    assert_eq!(often.rate_per_day, year.rate_per_day);
}

/// Differences as a walk makes them: the walk is found, be it a tenth or thirty times the kind's. Of a small
/// one a rate that is forgotten within 600 days explains some.
#[test]
fn many_differences_find_the_walk() {
    for (part, most) in [(0.1, 4.0), (1.0, 1.5), (3.0, 1.5), (30.0_f64, 1.5)] {
        // Of zero mean and the variance of a week's walk: z of a normal distribution's quantiles.
        let sigma = (7.0 * 0.25 * part).sqrt();
        let z = [-1.645, 0.126, 1.036, -0.674, 0.385, -0.126, 1.645, -1.036, 0.674, -0.385];
        let learned = (0..60)
            .fold(KIND, |drift, week| drift.after(&check(7.0, sigma * z[week % 10], 0.01), &KIND));
        let found = f64::from(learned.walk_per_day) / (0.25 * part);
        assert!((0.6..most).contains(&found), "{part}: {found}");
    }
}

#[test]
fn a_sum_drifts_as_its_parts_do() {
    let first =
        Drift { rate_per_day: 1.0, rate_uncertainty: 3.0, walk_per_day: 2.0, differences: 4 };
    let second =
        Drift { rate_per_day: 2.0, rate_uncertainty: 2.0, walk_per_day: 1.0, differences: 3 };
    let sum = Drift::of_sum(&[(1.0, first), (-2.0, second)]);
    let expected =
        Drift { rate_per_day: -3.0, rate_uncertainty: 5.0, walk_per_day: 6.0, differences: 3 };
    assert_eq!(sum, expected);
}
