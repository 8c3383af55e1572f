//! Whether points contradict what was stated of them beforehand, every bottle counted once.

use crate::least_squares::chi_squared;

/// How far a point lies off what was fitted, and the variances that were stated of it, in one unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Residual {
    /// Number of the bottle that other points were taken in too; `None` where there are none.
    pub(super) bottle: Option<usize>,
    /// The distance.
    pub(super) off: f64,
    /// Of what is the point's own.
    pub(super) own: f64,
    /// Of its standard, as [`of_one_bottle`](super::of_one_bottle) gives it.
    pub(super) standard: f64,
}

/// Chi-squared, and what it is expected to be about.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Scatter {
    pub(super) chi_squared: f64,
    pub(super) degrees_of_freedom: usize,
}

impl Scatter {
    /// Of bottles, or of the points within them where those contradict more.
    ///
    /// *Bottles*: the weighted mean of each is one distance, whose variance is that of its standard once
    /// and of its points' own over their number. Points taken again add nothing that could be expected to
    /// scatter, so they hide no bottle that is off. *Within*: distances from the bottle's mean against the
    /// doubt of a single point, its standard's included, since what gets into one beaker is part of that.
    ///
    /// `fitted` coefficients follow from the bottles, `inside` more from points of one bottle as far as
    /// there are any.
    pub(super) fn of<I>(residuals: I, fitted: usize, inside: usize) -> Self
    where
        I: Iterator<Item = Residual> + Clone,
    {
        let (mut between, mut within) = (0.0, 0.0);
        let (mut bottles, mut again) = (0, 0);
        for Residual { off, own, standard, .. } in
            residuals.clone().filter(|residual| residual.bottle.is_none())
        {
            bottles += 1;
            between += off * off / (own + standard);
        }
        let beyond = |last: Option<usize>| {
            residuals
                .clone()
                .filter_map(|residual| residual.bottle)
                .filter(|n| last < Some(*n))
                .min()
        };
        let mut number = beyond(None);
        while number.is_some() {
            let in_it = residuals.clone().filter(|residual| residual.bottle == number);
            let (mut count, mut total, mut sum) = (0, 0.0, 0.0);
            for Residual { off, own, standard, .. } in in_it.clone() {
                let weight = 1.0 / (own + standard);
                count += 1;
                total += weight;
                sum += weight * off;
            }
            let mean = sum / total;
            bottles += 1;
            again += count - 1;
            between += total * mean * mean;
            for Residual { off, own, standard, .. } in in_it {
                within += (off - mean) * (off - mean) / (own + standard / count as f64);
            }
            number = beyond(number);
        }
        let from_within = inside.min(again);
        let scatter = |chi_squared, degrees_of_freedom| Self { chi_squared, degrees_of_freedom };
        let between =
            scatter(between, usize::saturating_sub(bottles, fitted + inside - from_within));
        let within = scatter(within, again - from_within);
        if within.widening() > between.widening() { within } else { between }
    }

    /// The factor on a covariance that this asks for: 1, or chi-squared per degree of freedom where it is
    /// larger than chance makes it once in a hundred times.
    pub(super) fn widening(&self) -> f64 {
        match chi_squared::upper_99(self.degrees_of_freedom) {
            Some(limit) if self.chi_squared > limit => {
                self.chi_squared / self.degrees_of_freedom as f64
            }
            _ => 1.0,
        }
    }
}

#[cfg(test)]
#[path = "scatter_tests.rs"]
mod tests;
