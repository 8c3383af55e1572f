//! Lines, probabilities and the viscosity of water against other programs (scipy, iapws).
//!
//! `tests/oracles/run` computes the tables; `tests/run` has it check that the committed ones are what
//! these programs give. All numbers are computed, from inputs that stand in `tests/oracles/*.py`.

use std::collections::BTreeMap;
use std::fs;

use rillmark_metrology::decision::{Tolerance, conformance_probability};
use rillmark_metrology::least_squares;
use rillmark_metrology::least_squares::{Covariance, both_axes, two_sided_95};
use rillmark_proto::reference::compensation::{DEFAULT_EXPONENT, natural_water_factor};
use rillmark_proto::reference::viscosity;
use rillmark_proto::units::Celsius;
use rillmark_tests::source_tree::root;

/// Rows of a table, each by column.
fn table(name: &str) -> Vec<BTreeMap<String, String>> {
    let path = root().join("tests/oracles/values").join(name);
    let text = fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let mut lines = text.lines().map(|line| line.split(',').map(str::to_owned));
    let columns: Vec<String> = lines.next().expect("a header").collect();
    let rows: Vec<BTreeMap<_, _>> =
        lines.map(|cells| columns.iter().cloned().zip(cells).collect()).collect();
    assert!(rows.len() > 3 && rows.iter().all(|row| row.len() == columns.len()), "{name}");
    rows
}

fn number(row: &BTreeMap<String, String>, column: &str) -> f64 {
    row[column].parse().unwrap_or_else(|e| panic!("{column} `{}`: {e}", row[column]))
}

/// Asserts that the relative difference is at most `tolerance`, and says which one failed.
fn agrees(what: &str, got: f64, other: f64, tolerance: f64) {
    let off = (got - other).abs() / got.abs().max(other.abs()).max(f64::MIN_POSITIVE);
    assert!(off <= tolerance, "{what}: {got} against {other}, off by {off:.2e}");
}

fn points(set: &str) -> Vec<both_axes::Observation> {
    let [x, y, u_x, u_y] = ["x", "y", "u_x", "u_y"];
    let found: Vec<_> = table("line-points.csv")
        .iter()
        .filter(|row| row["set"] == set)
        .map(|row| both_axes::Observation {
            x: number(row, x),
            y: number(row, y),
            u_x: number(row, u_x),
            u_y: number(row, u_y),
        })
        .collect();
    assert!(found.len() > 2, "{set}");
    found
}

/// What both kinds of line have.
fn line(method: &str, points: &[both_axes::Observation]) -> (f64, f64, Covariance, f64) {
    match method {
        "weighted" => {
            let line = least_squares::fit(points.iter().map(|point| least_squares::Observation {
                x: point.x,
                y: point.y,
                weight: 1.0 / (point.u_y * point.u_y),
            }))
            .unwrap();
            (line.intercept, line.slope, line.covariance(), line.sum_of_squares)
        }
        "both-axes" => {
            let line = both_axes::fit(points.iter().copied()).unwrap();
            (line.intercept, line.slope, line.covariance, line.chi_squared)
        }
        other => panic!("no line by {other}"),
    }
}

/// `curve_fit` with absolute sigma, and orthogonal distance regression: both state the covariance that
/// the uncertainties alone give, never scaled by how well the points happen to fit.
#[test]
fn lines_agree_with_scipy() {
    let rows = table("line-fits.csv");
    for row in &rows {
        let (intercept, slope, covariance, chi_squared) =
            line(&row["method"], &points(&row["set"]));
        for (column, got) in [
            ("intercept", intercept),
            ("slope", slope),
            ("variance_intercept", covariance.intercept),
            ("variance_slope", covariance.slope),
            ("covariance", covariance.intercept_slope),
            ("chi_squared", chi_squared),
        ] {
            let what = format!("{} of {} {}", column, row["set"], row["method"]);
            agrees(&what, got, number(row, column), 1e-9);
        }
    }
    assert_eq!(rows.iter().filter(|row| row["method"] == "both-axes").count(), rows.len() / 2);
}

/// The full IAPWS formulation (viscosity of 2008, density of 1995), which is another equation than
/// the one for 0.1 MPa: the documentation states 0.004 %.
#[test]
fn viscosity_agrees_with_the_full_formulation_within_its_stated_error() {
    let (mut largest, mut rows) = (0.0_f64, 0);
    for row in table("water-viscosity.csv") {
        let (t, other) = (number(&row, "temperature_c"), number(&row, "viscosity_mpa_s"));
        let got = viscosity::millipascal_seconds(Celsius::new(t)).unwrap();
        agrees(&format!("viscosity at {t} °C"), got, other, 4e-5);
        largest = largest.max((got / other - 1.0).abs());
        rows += 1;
    }
    assert_eq!(rows, 101);
    // The two are not the same equation, and the stated error is not a wide one.
    assert!(largest > 2e-5, "{largest}");
}

/// The factor of natural waters from the other viscosity: twice 0.004 % of the ratio.
#[test]
fn natural_water_factor_agrees_with_the_full_formulation() {
    let rows = table("water-viscosity.csv");
    let at = |row: &BTreeMap<String, String>| number(row, "viscosity_mpa_s");
    let at_25 = rows.iter().find(|row| number(row, "temperature_c") == 25.0).map(at).unwrap();
    for row in &rows {
        let t = number(row, "temperature_c");
        let got = natural_water_factor(Celsius::new(t), DEFAULT_EXPONENT).unwrap();
        agrees(&format!("{t} °C"), got, (at(row) / at_25).powf(DEFAULT_EXPONENT), 8e-5);
    }
}

#[test]
fn conformance_probabilities_agree_with_scipy() {
    for row in table("conformance.csv") {
        let limit = |column: &str| (!row[column].is_empty()).then(|| number(&row, column));
        let tolerance = match (limit("lower"), limit("upper")) {
            (Some(lower), Some(upper)) => Tolerance::between(lower, upper),
            (Some(lower), None) => Tolerance::at_least(lower),
            (None, Some(upper)) => Tolerance::at_most(upper),
            (None, None) => panic!("a case without limits"),
        };
        let got = conformance_probability(
            number(&row, "measured"),
            number(&row, "u"),
            &tolerance.unwrap(),
        );
        // Tails are compared as tails: the smallest is 5e-198.
        agrees(&format!("{row:?}"), got.unwrap(), number(&row, "probability"), 1e-11);
    }
}

/// The stated errors of the expansion: 1 % for 3 degrees of freedom, 0.3 % for 4, 0.01 % from 10 on.
#[test]
fn student_factors_agree_with_scipy() {
    for row in table("student-95.csv") {
        let degrees: usize = row["degrees_of_freedom"].parse().unwrap();
        let allowed = match degrees {
            3 => 0.01,
            4..10 => 0.003,
            _ => 0.000_1,
        };
        let got = two_sided_95(degrees).unwrap();
        agrees(&format!("{degrees} degrees"), got, number(&row, "factor"), allowed);
    }
}
