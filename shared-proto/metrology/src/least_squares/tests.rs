use std::vec::Vec;

use proptest::prelude::*;

use super::*;

fn line_through(points: &[(f64, f64)]) -> Result<Line, LineError> {
    fit(points.iter().map(|&(x, y)| Observation::new(x, y)))
}

#[test]
fn bad_input_is_named() {
    let cases: [(&[(f64, f64)], LineError); 6] = [
        (&[], LineError::TooFewPoints { got: 0, need: 2 }),
        (&[(1.0, 2.0)], LineError::TooFewPoints { got: 1, need: 2 }),
        (&[(1.0, 2.0), (f64::NAN, 2.0)], LineError::UnusablePoint { index: 1 }),
        (&[(1.0, f64::INFINITY), (2.0, 2.0)], LineError::UnusablePoint { index: 0 }),
        (&[(0.1, 1.0), (0.1, 2.0), (0.1, 3.0)], LineError::SameX { lowest: 0.1, highest: 0.1 }),
        (&[(1e300, 1.0), (2e300, 2.0)], LineError::BeyondArithmetic),
    ];
    for (points, expected) in cases {
        assert_eq!(line_through(points), Err(expected));
    }
    for weight in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let points = [Observation::new(0.0, 0.0), Observation { x: 1.0, y: 1.0, weight }];
        assert_eq!(fit(points), Err(LineError::UnusablePoint { index: 1 }));
    }
}

#[test]
fn two_points_have_no_scatter() {
    let line = line_through(&[(1.0, 3.0), (2.0, 5.0)]).unwrap();
    assert_eq!((line.intercept, line.slope), (1.0, 2.0));
    assert_eq!(line.residual_variance(), None);
    assert_eq!(line.covariance_from_scatter(), None);
}

/// A point of weight 2 counts as the same point twice.
#[test]
fn weights_count_points() {
    let heavy = [
        Observation { x: 1.0, y: 2.0, weight: 2.0 },
        Observation::new(4.0, 3.0),
        Observation::new(6.0, 8.0),
    ];
    let twice = line_through(&[(1.0, 2.0), (1.0, 2.0), (4.0, 3.0), (6.0, 8.0)]).unwrap();
    let weighted = fit(heavy).unwrap();
    let near = |a: f64, b: f64| assert!(libm::fabs(a - b) < 1e-13, "{a} {b}");
    near(weighted.slope, twice.slope);
    near(weighted.intercept, twice.intercept);
    near(weighted.sum_of_squares, twice.sum_of_squares);
    near(weighted.variance_at(3.0), twice.variance_at(3.0));
}

#[test]
fn variance_on_the_line_follows_from_the_covariance() {
    let line = line_through(&[(1.0, 2.1), (2.0, 2.9), (5.0, 6.2), (7.0, 7.8)]).unwrap();
    let Covariance { intercept, slope, intercept_slope } = line.covariance();
    for x in [-3.0, 0.0, 3.75, 10.0] {
        let from_covariance = intercept + x * x * slope + 2.0 * x * intercept_slope;
        assert!(libm::fabs(line.variance_at(x) - from_covariance) < 1e-13);
        assert!(libm::fabs(line.at(x) - (line.intercept + line.slope * x)) < 1e-13);
    }
    assert!(line.covariance().correlation() < -0.5);
}

/// Sums that are not centred lose all digits here.
#[test]
fn a_large_common_part_costs_no_digits() {
    let far = 1e9;
    let points: Vec<_> = (0..10).map(|i| (far + f64::from(i), 5.0 + 0.25 * f64::from(i))).collect();
    let line = line_through(&points).unwrap();
    assert_eq!(line.slope, 0.25);
    assert_eq!(line.sum_of_squares, 0.0);
}

proptest! {
    #[test]
    fn noiseless_points_give_back_the_line(
        intercept in -1e3..1e3,
        slope in -1e3..1e3,
        xs in prop::collection::vec(-1e3..1e3, 2..20),
        weights in prop::collection::vec(0.01..100.0, 20),
    ) {
        let span = xs.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            - xs.iter().copied().fold(f64::INFINITY, f64::min);
        prop_assume!(span > 1.0);
        let points = xs.iter().zip(&weights).map(|(&x, &weight)| Observation {
            x, y: intercept + slope * x, weight,
        });
        let line = fit(points.clone()).unwrap();
        prop_assert!(libm::fabs(line.slope - slope) < 1e-8);
        prop_assert!(libm::fabs(line.intercept - intercept) < 1e-5);
        for point in points {
            prop_assert!(libm::fabs(line.residual(&point)) < 1e-6);
        }
    }
}
