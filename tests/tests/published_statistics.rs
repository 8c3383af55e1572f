//! Least squares against certified and published values.
//!
//! Beside each table stands how it came here (REFERENCES 22); computed digits are more than the
//! source prints. A check against computed numbers alone proves only that nothing has changed: its
//! name begins with `regression`.

use rillmark_metrology::least_squares;
use rillmark_metrology::least_squares::{Line, Observation, both_axes};

fn fit(points: &[(f64, f64)]) -> Line {
    least_squares::fit(points.iter().map(|&(x, y)| Observation::new(x, y))).unwrap()
}

/// Asserts that the relative difference is at most `tolerance`, and says which one failed.
fn agrees(what: &str, got: f64, published: f64, tolerance: f64) {
    let off = (got - published) / published;
    assert!(off.abs() <= tolerance, "{what}: {got} against {published}, off by {off:+.2e}");
}

/// Asserts that `got` rounds to `published` as the source prints it.
fn prints_as(what: &str, got: f64, decimals: usize, published: &str) {
    assert_eq!(format!("{got:.decimals$}"), published, "{what}");
}

/// NIST StRD, data set Norris (linear regression, lower level of difficulty), (x, y); seen in the
/// certification script of a statistics program (stata.com/support/cert/nist9/regression/norris.do)
/// and in the test suites of SciPy and GSL.
const NORRIS: [(f64, f64); 36] = [
    (0.2, 0.1),
    (337.4, 338.8),
    (118.2, 118.1),
    (884.6, 888.0),
    (10.1, 9.2),
    (226.5, 228.1),
    (666.3, 668.5),
    (996.3, 998.5),
    (448.6, 449.1),
    (777.0, 778.9),
    (558.2, 559.2),
    (0.4, 0.3),
    (0.6, 0.1),
    (775.5, 778.1),
    (666.9, 668.8),
    (338.0, 339.3),
    (447.5, 448.9),
    (11.6, 10.8),
    (556.0, 557.7),
    (228.1, 228.3),
    (995.8, 998.0),
    (887.6, 888.8),
    (120.2, 119.6),
    (0.3, 0.3),
    (0.3, 0.6),
    (556.8, 557.6),
    (339.1, 339.3),
    (887.2, 888.0),
    (999.0, 998.5),
    (779.0, 778.9),
    (11.1, 10.2),
    (118.3, 117.6),
    (229.2, 228.9),
    (669.1, 668.4),
    (448.9, 449.2),
    (0.5, 0.2),
];

/// How far the fit may be from a certified value, relative. A sum that is not centred misses the
/// intercept by more.
const CERTIFIED: f64 = 1e-12;

/// Certified values of NIST StRD Norris; seen (sources as for the data).
#[test]
fn norris_coefficients_agree_with_the_certified_values() {
    let line = fit(&NORRIS);
    agrees("B0", line.intercept, -0.262323073774029, CERTIFIED);
    agrees("B1", line.slope, 1.00211681802045, CERTIFIED);
    let covariance = line.covariance_from_scatter().unwrap();
    agrees("s(B0)", covariance.intercept.sqrt(), 0.232818234301152, CERTIFIED);
    agrees("s(B1)", covariance.slope.sqrt(), 0.429796848199937e-3, CERTIFIED);
    assert_eq!(line.degrees_of_freedom(), 34);
}

/// Certified analysis of variance of NIST StRD Norris; seen (sources as for the data).
#[test]
fn norris_variances_agree_with_the_certified_values() {
    let line = fit(&NORRIS);
    let mean_square = line.residual_variance().unwrap();
    agrees("residual sum of squares", line.sum_of_squares, 26.6173985294224, CERTIFIED);
    agrees("residual mean square", mean_square, 0.782864662630069, CERTIFIED);
    agrees("residual deviation", mean_square.sqrt(), 0.884796396144373, CERTIFIED);
    // The regression's sum of squares is what the line explains of y about its mean.
    let explained: f64 = NORRIS.iter().map(|&(x, _)| (line.at(x) - line.mean_y).powi(2)).sum();
    agrees("regression sum of squares", explained, 4255954.13232369, CERTIFIED);
    agrees("F", explained / mean_square, 5436385.54079785, CERTIFIED);
    let r_squared = explained / (explained + line.sum_of_squares);
    agrees("R²", r_squared, 0.999993745883712, CERTIFIED);
}

/// Covariance of both coefficients in the GSL test suite (from another program's run); seen. In exact
/// rational arithmetic it is −7.743 275 363 156 44e-5 (computed): the printed value is good to 3e-11.
#[test]
fn norris_covariance_agrees_with_another_library() {
    let covariance = fit(&NORRIS).covariance_from_scatter().unwrap();
    agrees("cov(B0, B1)", covariance.intercept_slope, -7.74327536339570e-05, 1e-10);
}

/// GUM (JCGM 100:2008), H.3, table H.6: thermometer readings in °C and their corrections in °C;
/// seen in the documentation of GTC (gtc.readthedocs.io, GUM_H3).
const THERMOMETER: [(f64, f64); 11] = [
    (21.521, -0.171),
    (22.012, -0.169),
    (22.512, -0.166),
    (23.003, -0.159),
    (23.507, -0.164),
    (23.999, -0.165),
    (24.513, -0.156),
    (25.002, -0.157),
    (25.503, -0.159),
    (26.010, -0.161),
    (26.511, -0.160),
];

/// Reference temperature of GUM H.3 in °C; seen.
const T0: f64 = 20.0;

fn thermometer() -> Line {
    fit(&THERMOMETER.map(|(t, b)| (t - T0, b)))
}

/// GUM H.3.3: y1 = −0.1712(29) °C, y2 = 0.002 18(67), r = −0.930, ν = 9 seen; s = 0.0035 °C recalled,
/// not checked.
#[test]
fn gum_h3_coefficients_agree_with_the_published_values() {
    let line = thermometer();
    let covariance = line.covariance_from_scatter().unwrap();
    prints_as("y1", line.intercept, 4, "-0.1712");
    prints_as("u(y1)", covariance.intercept.sqrt(), 4, "0.0029");
    prints_as("y2", line.slope, 5, "0.00218");
    prints_as("u(y2)", covariance.slope.sqrt(), 5, "0.00067");
    prints_as("r", covariance.correlation(), 3, "-0.930");
    prints_as("s", line.residual_variance().unwrap().sqrt(), 4, "0.0035");
    assert_eq!(line.degrees_of_freedom(), 9);
}

/// GUM H.3.4: b(30 °C) = −0.1494(41) °C; seen. Without the correlation of both coefficients the
/// uncertainty would come out as 0.0073 °C (computed).
#[test]
fn gum_h3_prediction_carries_the_correlation() {
    let line = thermometer();
    let uncertainty = (line.variance_at(30.0 - T0) * line.residual_variance().unwrap()).sqrt();
    prints_as("b(30 °C)", line.at(30.0 - T0), 4, "-0.1494");
    prints_as("u(b(30 °C))", uncertainty, 4, "0.0041");
}

/// The same example to more digits than the GUM prints; computed by this project with another
/// program, six to nine digits.
#[test]
fn regression_gum_h3_to_more_digits() {
    let line = thermometer();
    let covariance = line.covariance_from_scatter().unwrap();
    let variance = line.residual_variance().unwrap();
    agrees("y1", line.intercept, -0.171_203_79, 1e-7);
    agrees("u(y1)", covariance.intercept.sqrt(), 0.002_877_6, 1e-5);
    agrees("y2", line.slope, 0.002_182_698, 1e-6);
    agrees("u(y2)", covariance.slope.sqrt(), 0.000_667_94, 1e-5);
    agrees("r", covariance.correlation(), -0.930_430, 1e-6);
    agrees("s", variance.sqrt(), 0.003_497_564, 1e-6);
    agrees("SSR", line.sum_of_squares, 1.100_966e-4, 1e-6);
    agrees("b(30 °C)", line.at(10.0), -0.149_376_8, 1e-6);
    agrees("u(b(30 °C))", (line.variance_at(10.0) * variance).sqrt(), 0.004_138_6, 1e-5);
}

/// Pearson's data with York's weights, (x, weight of x, y, weight of y), a weight being 1/u²; in York
/// et al., Am. J. Phys. 72, 367 (2004), table II; recalled, not checked.
const PEARSON: [(f64, f64, f64, f64); 10] = [
    (0.0, 1000.0, 5.9, 1.0),
    (0.9, 1000.0, 5.4, 1.8),
    (1.8, 500.0, 4.4, 4.0),
    (2.6, 800.0, 4.6, 8.0),
    (3.3, 200.0, 3.5, 20.0),
    (4.4, 80.0, 3.7, 20.0),
    (5.2, 60.0, 2.8, 70.0),
    (6.1, 20.0, 2.8, 70.0),
    (6.5, 1.8, 2.4, 100.0),
    (7.4, 1.0, 1.5, 500.0),
];

fn pearson() -> both_axes::Line {
    both_axes::fit(PEARSON.map(|(x, weight_x, y, weight_y)| both_axes::Observation {
        x,
        y,
        u_x: 1.0 / f64::sqrt(weight_x),
        u_y: 1.0 / f64::sqrt(weight_y),
    }))
    .unwrap()
}

/// York et al. 2004: intercept 5.4799(2950), slope −0.480 53(5799), chi-squared 11.866 with 8 degrees
/// of freedom; recalled, not checked. The uncertainties evaluated at the points as measured
/// would be 0.2971 and 0.0583 (computed), so these digits also say where they are evaluated.
#[test]
fn york_line_through_pearsons_data_agrees_with_the_published_values() {
    let line = pearson();
    prints_as("intercept", line.intercept, 5, "5.47991");
    prints_as("u(intercept)", line.u_intercept(), 4, "0.2950");
    prints_as("slope", line.slope, 6, "-0.480533");
    prints_as("u(slope)", line.u_slope(), 5, "0.05799");
    prints_as("chi-squared", line.chi_squared, 3, "11.866");
    assert_eq!(line.degrees_of_freedom(), 8);
}

/// The same line to more digits than are recalled; computed by this project with another program.
#[test]
fn regression_york_line_to_more_digits() {
    let line = pearson();
    agrees("intercept", line.intercept, 5.479_910_224_033, 1e-12);
    agrees("u(intercept)", line.u_intercept(), 0.294_970_735_493, 1e-11);
    agrees("slope", line.slope, -0.480_533_407_446_2, 1e-12);
    agrees("u(slope)", line.u_slope(), 0.057_985_009_000_8, 1e-11);
    agrees("covariance", line.covariance.intercept_slope, -0.016_472_544_658_12, 1e-11);
    agrees("chi-squared", line.chi_squared, 11.866_353_194_06, 1e-12);
}
