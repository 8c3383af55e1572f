//! A straight line through points that are uncertain in x and in y, by least squares.
//!
//! After York, Evensen, López Martínez and De Basabe Delgado, *Unified equations for the slope,
//! intercept, and standard errors of the best straight line*, American Journal of Physics 72, 367
//! (2004), for errors that are independent from point to point and from x to y (recalled, not checked;
//! checked against Pearson's data with York's weights). What all points share, such as an error of one
//! thermometer, is not in here and has to be added to the covariance once.
//!
//! Variances are evaluated at the adjusted points, as York recommends, and come from the given
//! uncertainties alone: a lucky fit does not make them smaller.

use super::{Covariance, LineError};

/// One point of a line, uncertain in both directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// Where it was taken.
    pub x: f64,
    /// What was found there.
    pub y: f64,
    /// Standard uncertainty of `x`, in its unit; 0 when it is exact.
    pub u_x: f64,
    /// Standard uncertainty of `y`, in its unit; 0 when it is exact, but not both.
    pub u_y: f64,
}

impl Observation {
    /// 1/u² of the distance in y from a line of this slope.
    fn weight(&self, slope: f64) -> f64 {
        1.0 / (self.u_y * self.u_y + slope * slope * self.u_x * self.u_x)
    }

    fn is_usable(&self) -> bool {
        let certain = |u: f64| u.is_finite() && u >= 0.0;
        self.x.is_finite()
            && self.y.is_finite()
            && certain(self.u_x)
            && certain(self.u_y)
            && (self.u_x > 0.0 || self.u_y > 0.0)
    }
}

/// A line through points that are uncertain in both directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// y at x = 0.
    pub intercept: f64,
    /// Change of y per x.
    pub slope: f64,
    /// Variances and covariance of both, at the adjusted points.
    pub covariance: Covariance,
    /// Squared distances of the points from the line in terms of their uncertainties (York's S).
    pub chi_squared: f64,
    /// How many points it went through.
    pub points: usize,
    mean_x: f64,
    mean_y: f64,
    adjusted_mean_x: f64,
    total_weight: f64,
}

impl Line {
    /// Standard uncertainty of the intercept.
    pub fn u_intercept(&self) -> f64 {
        libm::sqrt(self.covariance.intercept)
    }

    /// Standard uncertainty of the slope.
    pub fn u_slope(&self) -> f64 {
        libm::sqrt(self.covariance.slope)
    }

    /// Points beyond the two that any line needs; [`Self::chi_squared`] is expected to be about this.
    pub const fn degrees_of_freedom(&self) -> usize {
        self.points - 2
    }

    /// y on the line.
    pub fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }

    /// Variance of [`Self::at`] for an exact `x`, correlation of intercept and slope included.
    pub fn variance_at(&self, x: f64) -> f64 {
        let from_centre = x - self.adjusted_mean_x;
        1.0 / self.total_weight + from_centre * from_centre * self.covariance.slope
    }

    /// How far a point lies above the line, in y.
    pub fn residual(&self, point: &Observation) -> f64 {
        (point.y - self.mean_y) - self.slope * (point.x - self.mean_x)
    }

    /// [`Self::residual`] in standard uncertainties of both directions together.
    pub fn standardised_residual(&self, point: &Observation) -> f64 {
        self.residual(point) * libm::sqrt(point.weight(self.slope))
    }
}

/// Rounds after which points that still move the slope are taken to have no line. Pearson's data
/// need 9.
const MOST_ROUNDS: usize = 500;

/// The slope stands when a round moves it by less than this part of itself, which is rounding …
const ROUNDING: f64 = 4.0 * f64::EPSILON;

/// Sums over more points than this round by more, at most in proportion to their number.
const FEW_POINTS: f64 = 16.0;

/// … or by less than this part of its own standard uncertainty.
const PART_OF_UNCERTAINTY: f64 = 1e-12;

/// Fits a line to points that are uncertain in both directions.
///
/// Walks over the points twice a round. With every `u_x` at 0 it is the weighted fit of
/// [`super::fit`] with weights 1/u_y².
///
/// # Errors
/// [`LineError`] with fewer than two points, a point that is not usable (one whose uncertainties
/// are both 0 among them), all x the same, numbers whose squares overflow (as the weight of an
/// exact y on a level line does), or a slope that does not come to rest because the points scatter
/// as far as they extend.
pub fn fit<I>(points: I) -> Result<Line, LineError>
where
    I: IntoIterator<Item = Observation> + Clone,
{
    if let Some(index) = points.clone().into_iter().position(|point| !point.is_usable()) {
        return Err(LineError::UnusablePoint { index });
    }
    // Where to begin needs no weights, and without them an exact y is welcome too.
    let start = super::fit(Alike(points.clone()))?;

    let (centre, mut slope) = ((start.mean_x, start.mean_y), start.slope);
    let count = points.clone().into_iter().count() as f64;
    let rounding = ROUNDING * libm::fmax(1.0, count / FEW_POINTS);
    for _ in 0..MOST_ROUNDS {
        let line = round(points.clone(), slope, centre)?;
        let moved = libm::fabs(line.slope - slope);
        if moved <= rounding * libm::fabs(slope) || moved <= PART_OF_UNCERTAINTY * line.u_slope() {
            return Ok(line);
        }
        slope = line.slope;
    }
    Err(LineError::NoConvergence { rounds: MOST_ROUNDS })
}

/// The points of `I` without their uncertainties. An adapter of iterators with a closure would only
/// be `Clone` if the iterator is; this asks no more of `I` than [`fit`] does.
#[derive(Clone)]
struct Alike<I>(I);

impl<I: IntoIterator<Item = Observation>> IntoIterator for Alike<I> {
    type Item = super::Observation;
    type IntoIter = core::iter::Map<I::IntoIter, fn(Observation) -> super::Observation>;

    fn into_iter(self) -> Self::IntoIter {
        self.0.into_iter().map(|point| super::Observation::new(point.x, point.y))
    }
}

/// The line that follows from weights and adjustments at a slope; York's equations 13.
///
/// All is measured from `centre`, so a large common part of x or y costs no digits.
fn round<I>(points: I, slope: f64, centre: (f64, f64)) -> Result<Line, LineError>
where
    I: IntoIterator<Item = Observation> + Clone,
{
    let (mut count, mut total_weight, mut sum_x, mut sum_y) = (0_usize, 0.0, 0.0, 0.0);
    for point in points.clone() {
        let weight = point.weight(slope);
        count += 1;
        total_weight += weight;
        sum_x += weight * (point.x - centre.0);
        sum_y += weight * (point.y - centre.1);
    }
    let mean_x = centre.0 + sum_x / total_weight;
    let mean_y = centre.1 + sum_y / total_weight;

    let (mut along_x, mut along_y, mut chi_squared) = (0.0, 0.0, 0.0);
    let (mut sum_adjusted, mut squares_adjusted) = (0.0, 0.0);
    for point in points {
        let weight = point.weight(slope);
        let (x, y) = (point.x - mean_x, point.y - mean_y);
        // Where on the line the point belongs, from the mean: York's β.
        let adjusted = weight * (x * point.u_y * point.u_y + slope * y * point.u_x * point.u_x);
        along_x += weight * adjusted * x;
        along_y += weight * adjusted * y;
        sum_adjusted += weight * adjusted;
        squares_adjusted += weight * adjusted * adjusted;
        let residual = y - slope * x;
        chi_squared += weight * residual * residual;
    }
    let off = sum_adjusted / total_weight;
    let adjusted_mean_x = mean_x + off;
    let slope_variance = 1.0 / (squares_adjusted - off * sum_adjusted);
    let slope = along_y / along_x;
    let line = Line {
        intercept: mean_y - slope * mean_x,
        slope,
        covariance: Covariance {
            intercept: 1.0 / total_weight + adjusted_mean_x * adjusted_mean_x * slope_variance,
            slope: slope_variance,
            intercept_slope: -adjusted_mean_x * slope_variance,
        },
        chi_squared,
        points: count,
        mean_x,
        mean_y,
        adjusted_mean_x,
        total_weight,
    };
    let finite = line.intercept.is_finite()
        && slope.is_finite()
        && line.covariance.intercept.is_finite()
        && slope_variance > 0.0
        && slope_variance.is_finite()
        && chi_squared.is_finite();
    if finite { Ok(line) } else { Err(LineError::BeyondArithmetic) }
}

#[cfg(test)]
mod tests;
