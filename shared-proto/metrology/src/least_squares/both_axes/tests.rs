use std::vec::Vec;

use proptest::prelude::*;

use super::*;
use crate::least_squares;

const fn point(x: f64, y: f64, u_x: f64, u_y: f64) -> Observation {
    Observation { x, y, u_x, u_y }
}

fn near(a: f64, b: f64, relative: f64) -> bool {
    libm::fabs(a - b) <= relative * libm::fmax(libm::fabs(a), libm::fabs(b))
}

#[test]
fn bad_input_is_named() {
    let good = point(0.0, 1.0, 0.1, 0.1);
    for bad in [
        point(f64::NAN, 1.0, 0.1, 0.1),
        point(1.0, f64::INFINITY, 0.1, 0.1),
        point(1.0, 1.0, -0.1, 0.1),
        point(1.0, 1.0, 0.1, f64::NAN),
        point(1.0, 1.0, 0.0, 0.0),
    ] {
        assert_eq!(fit([good, bad]), Err(LineError::UnusablePoint { index: 1 }), "{bad:?}");
    }
    assert_eq!(fit([good]), Err(LineError::TooFewPoints { got: 1, need: 2 }));
    assert_eq!(fit([good, good]), Err(LineError::SameX { lowest: 0.0, highest: 0.0 }));
    let far = [good, point(1e300, 2.0, 0.1, 0.1)];
    assert_eq!(fit(far), Err(LineError::BeyondArithmetic));
    let level_and_exact = [point(0.0, 1.0, 0.1, 0.0), point(1.0, 1.0, 0.1, 0.0)];
    assert_eq!(fit(level_and_exact), Err(LineError::BeyondArithmetic));
}

/// What the two points say by propagation: slope (y2 − y1)/(x2 − x1), each end of it with
/// u_y² + slope²·u_x².
#[test]
fn two_points_carry_their_uncertainties_into_the_slope() {
    let line = fit([point(2.0, 10.0, 0.3, 0.4), point(6.0, 30.0, 0.1, 0.2)]).unwrap();
    assert!(near(line.slope, 5.0, 1e-14) && libm::fabs(line.intercept) < 1e-12);
    assert!(line.chi_squared < 1e-20);
    assert_eq!(line.degrees_of_freedom(), 0);
    let variance = (0.16 + 25.0 * 0.09 + 0.04 + 25.0 * 0.01) / 16.0;
    assert!(near(line.covariance.slope, variance, 1e-13));
    // At each point the line is as uncertain as that point.
    assert!(near(line.variance_at(2.0), 0.16 + 25.0 * 0.09, 1e-13));
    assert!(near(line.variance_at(6.0), 0.04 + 25.0 * 0.01, 1e-13));
}

#[test]
fn a_large_common_part_costs_no_digits() {
    let here = [(0.0, 0.1), (1.0, 0.9), (2.0, 2.1), (3.0, 2.9)];
    let at = |far: f64| fit(here.map(|(x, y)| point(x + far, y + far, 0.25, 0.125))).unwrap();
    let (near_by, far_off) = (at(0.0), at(1024.0 * 1024.0));
    assert!(near(near_by.slope, far_off.slope, 1e-9));
    assert!(near(near_by.covariance.slope, far_off.covariance.slope, 1e-9));
    assert!(near(near_by.chi_squared, far_off.chi_squared, 1e-6));
}

/// Sum of squares when the line has this slope and the best intercept for it.
fn squares_at(points: &[Observation], slope: f64) -> f64 {
    let mean = |value: fn(&Observation) -> f64| {
        let weights: f64 = points.iter().map(|p| p.weight(slope)).sum();
        points.iter().map(|p| p.weight(slope) * value(p)).sum::<f64>() / weights
    };
    let (x, y) = (mean(|p| p.x), mean(|p| p.y));
    let square = |p: &Observation| {
        let residual = (p.y - y) - slope * (p.x - x);
        p.weight(slope) * residual * residual
    };
    points.iter().map(square).sum()
}

/// Points along a line that are off it by up to three of their own uncertainties, which are at most
/// a tenth of the steps in x (and of the steps in y for a slope of 1).
fn scattered() -> impl Strategy<Value = Vec<Observation>> {
    let slope = prop_oneof![0.2..5.0, -5.0..-0.2];
    let off = (-3.0..3.0, -3.0..3.0, 0.01..0.1, 0.01..0.1);
    (slope, -100.0..100.0, prop::collection::vec(off, 3..12)).prop_map(|(slope, height, off)| {
        let along = |(i, (x_off, y_off, u_x, u_y)): (usize, (f64, f64, f64, f64))| {
            let x = i as f64;
            point(x + x_off * u_x, height + slope * x + y_off * u_y, u_x, u_y)
        };
        off.into_iter().enumerate().map(along).collect()
    })
}

proptest! {
    #[test]
    fn the_sum_of_squares_is_least(points in scattered()) {
        let line = fit(points.iter().copied()).unwrap();
        let least = squares_at(&points, line.slope);
        prop_assert!(near(least, line.chi_squared, 1e-9));
        // Far enough from the bottom that its curvature stands above the rounding of the sums.
        for aside in [0.02, 0.3, 2.0] {
            for sign in [-1.0, 1.0] {
                let there = squares_at(&points, line.slope + sign * aside * line.u_slope());
                prop_assert!(there > least, "{there} {least} {aside}");
            }
        }
    }

    /// York: the line does not depend on which variable is called x.
    #[test]
    fn swapped_axes_give_the_inverse_line(points in scattered()) {
        let line = fit(points.iter().copied()).unwrap();
        let swapped =
            fit(points.iter().map(|p| point(p.y, p.x, p.u_y, p.u_x))).unwrap();
        prop_assert!(near(line.slope, 1.0 / swapped.slope, 1e-9));
        prop_assert!(near(line.chi_squared, swapped.chi_squared, 1e-9));
        prop_assert!(libm::fabs(line.at(swapped.intercept)) < 1e-7);
        let through = line.u_slope() / libm::fabs(line.slope);
        prop_assert!(near(through, swapped.u_slope() / libm::fabs(swapped.slope), 1e-9));
    }

    #[test]
    fn exact_x_is_the_weighted_fit(points in scattered()) {
        let exact: Vec<_> = points.iter().map(|p| Observation { u_x: 0.0, ..*p }).collect();
        let line = fit(exact.iter().copied()).unwrap();
        let weighted = least_squares::fit(exact.iter().map(|p| least_squares::Observation {
            x: p.x, y: p.y, weight: 1.0 / (p.u_y * p.u_y),
        })).unwrap();
        prop_assert!(near(line.slope, weighted.slope, 1e-11));
        prop_assert!(libm::fabs(line.intercept - weighted.intercept) < 1e-10);
        prop_assert!(near(line.chi_squared, weighted.sum_of_squares, 1e-9));
        let (a, b) = (line.covariance, weighted.covariance());
        prop_assert!(near(a.slope, b.slope, 1e-11) && near(a.intercept, b.intercept, 1e-11));
        prop_assert!(near(a.intercept_slope, b.intercept_slope, 1e-11));
        prop_assert!(near(line.variance_at(2.5), weighted.variance_at(2.5), 1e-11));
    }

    #[test]
    fn variance_on_the_line_follows_from_the_covariance(points in scattered(), x in -5.0..15.0) {
        let line = fit(points.iter().copied()).unwrap();
        let Covariance { intercept, slope, intercept_slope } = line.covariance;
        let from_covariance = intercept + x * x * slope + 2.0 * x * intercept_slope;
        prop_assert!(near(line.variance_at(x), from_covariance, 1e-10));
        let squares: f64 = points.iter().map(|p| {
            let off = line.standardised_residual(p);
            off * off
        }).sum();
        prop_assert!(near(squares, line.chi_squared, 1e-9));
    }
}
