//! Values between the rows of a published table. Both functions take a temperature that the caller
//! has checked to lie within the table, and rows in rising order of temperature.

/// A row of a table: temperature in °C and the value there.
pub(super) type Row = (f64, f64);

/// Number of the interval that holds `t`: row i ≤ t ≤ row i + 1.
fn interval(rows: &[Row], t: f64) -> usize {
    let above = rows.iter().take_while(|(row, _)| *row <= t).count();
    above.clamp(1, rows.len() - 1) - 1
}

/// The straight line between the two neighbouring rows; at least two rows.
pub(super) fn linear(rows: &[Row], t: f64) -> f64 {
    let i = interval(rows, t);
    let ((t0, v0), (t1, v1)) = (rows[i], rows[i + 1]);
    v0 + (v1 - v0) * ((t - t0) / (t1 - t0))
}

/// The cubic through the four nearest rows (Lagrange's form); at least four rows.
///
/// Gives back each row's own value exactly, since all other weights are then zero.
pub(super) fn cubic(rows: &[Row], t: f64) -> f64 {
    let first = interval(rows, t).saturating_sub(1).min(rows.len() - 4);
    let near = &rows[first..first + 4];
    let mut sum = 0.0;
    for (i, &(ti, value)) in near.iter().enumerate() {
        let mut weight = 1.0;
        for (j, &(tj, _)) in near.iter().enumerate() {
            if i != j {
                weight *= (t - tj) / (ti - tj);
            }
        }
        sum += weight * value;
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    /// y = t³ at uneven steps.
    const CUBES: [Row; 6] =
        [(0.0, 0.0), (1.0, 1.0), (2.0, 8.0), (4.0, 64.0), (5.0, 125.0), (6.0, 216.0)];

    #[test]
    fn a_cubic_is_reproduced_everywhere_and_rows_exactly() {
        for step in 0..=60 {
            let t = f64::from(step) / 10.0;
            assert!(libm::fabs(cubic(&CUBES, t) - t * t * t) < 1e-12, "{t}");
        }
        for (t, value) in CUBES {
            assert_eq!(cubic(&CUBES, t), value);
            assert_eq!(linear(&CUBES, t), value);
        }
    }

    #[test]
    fn a_line_runs_between_neighbours() {
        assert_eq!(linear(&CUBES, 3.0), 36.0);
        assert_eq!(linear(&CUBES, 5.5), 170.5);
    }
}
