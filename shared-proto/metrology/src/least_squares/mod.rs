//! A straight line by least squares, with everything that is known about how well it is known.
//!
//! y = intercept + slope · x. All sums are taken about the weighted means, so a large common part
//! of x or y costs no digits. Against the certified values of NIST StRD Norris the coefficients and
//! their standard deviations agree to better than 1e-12 (relative). Here x is exact; points that are
//! uncertain in both directions go through [`both_axes`].

pub mod both_axes;
pub mod chi_squared;
mod student;

pub use student::two_sided_95;

/// One point of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// Where it was taken; taken as exact.
    pub x: f64,
    /// What was found there.
    pub y: f64,
    /// 1/u² with u the standard uncertainty of `y`, or 1 everywhere when only the scatter about the
    /// line can tell it. Finite and above 0.
    pub weight: f64,
}

impl Observation {
    /// A point of weight 1.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y, weight: 1.0 }
    }
}

/// Why no line was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LineError {
    /// A line has two coefficients.
    TooFewPoints {
        /// Points given.
        got: usize,
        /// Fewest points.
        need: usize,
    },
    /// A coordinate or weight is not finite, or a weight is not above 0.
    UnusablePoint {
        /// Which point, counted from 0.
        index: usize,
    },
    /// All points lie at one x: any slope fits.
    SameX {
        /// The smallest x.
        lowest: f64,
        /// The largest x.
        highest: f64,
    },
    /// The numbers are too large or too small for the sums of squares.
    BeyondArithmetic,
    /// The slope did not come to rest.
    NoConvergence {
        /// Rounds taken.
        rounds: usize,
    },
}

impl core::fmt::Display for LineError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooFewPoints { got, need } => write!(f, "{got} points given, {need} needed"),
            Self::UnusablePoint { index } => write!(f, "point {index} is not usable"),
            Self::SameX { lowest, highest } => {
                write!(f, "x reaches only from {lowest} to {highest}")
            }
            Self::BeyondArithmetic => f.write_str("the numbers are beyond the arithmetic"),
            Self::NoConvergence { rounds } => {
                write!(f, "no slope came to rest within {rounds} rounds")
            }
        }
    }
}

impl core::error::Error for LineError {}

/// Variances and covariance of intercept and slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covariance {
    /// Variance of the intercept.
    pub intercept: f64,
    /// Variance of the slope.
    pub slope: f64,
    /// Covariance of both.
    pub intercept_slope: f64,
}

impl Covariance {
    /// Every entry times `factor`.
    #[must_use]
    pub fn scaled(self, factor: f64) -> Self {
        Self {
            intercept: self.intercept * factor,
            slope: self.slope * factor,
            intercept_slope: self.intercept_slope * factor,
        }
    }

    /// Correlation coefficient of intercept and slope, −1 to 1.
    pub fn correlation(&self) -> f64 {
        self.intercept_slope / (libm::sqrt(self.intercept) * libm::sqrt(self.slope))
    }
}

/// A line through points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// y at x = 0.
    pub intercept: f64,
    /// Change of y per x.
    pub slope: f64,
    /// Weighted sum of the squared residuals; chi-squared when the weights are 1/u².
    pub sum_of_squares: f64,
    /// How many points it went through.
    pub points: usize,
    /// Weighted mean of x.
    pub mean_x: f64,
    /// Weighted mean of y.
    pub mean_y: f64,
    total_weight: f64,
    spread_x: f64,
}

/// Least distance of the outermost x, relative to the larger of them, that gives a slope: below it
/// the distance is rounding.
const LEAST_SPAN: f64 = 1e-12;

impl Line {
    /// Points beyond the two that any line needs.
    pub const fn degrees_of_freedom(&self) -> usize {
        self.points - 2
    }

    /// Sum of squares per degree of freedom; `None` for two points, through which every line goes.
    pub fn residual_variance(&self) -> Option<f64> {
        match self.degrees_of_freedom() {
            0 => None,
            degrees => Some(self.sum_of_squares / degrees as f64),
        }
    }

    /// Covariance that the weights alone give: a statement of how well the points are known
    /// beforehand when the weights are 1/u².
    pub fn covariance(&self) -> Covariance {
        let slope = 1.0 / self.spread_x;
        Covariance {
            intercept: 1.0 / self.total_weight + self.mean_x * self.mean_x * slope,
            slope,
            intercept_slope: -self.mean_x * slope,
        }
    }

    /// [`Self::covariance`] times the residual variance: what the scatter says; `None` for two
    /// points.
    pub fn covariance_from_scatter(&self) -> Option<Covariance> {
        self.residual_variance().map(|variance| self.covariance().scaled(variance))
    }

    /// y on the line.
    pub fn at(&self, x: f64) -> f64 {
        self.mean_y + self.slope * (x - self.mean_x)
    }

    /// Variance of [`Self::at`] from the weights alone, correlation included. Multiply by the
    /// residual variance for what the scatter says.
    pub fn variance_at(&self, x: f64) -> f64 {
        let from_centre = x - self.mean_x;
        1.0 / self.total_weight + from_centre * from_centre / self.spread_x
    }

    /// How far a point lies above the line.
    pub fn residual(&self, point: &Observation) -> f64 {
        (point.y - self.mean_y) - self.slope * (point.x - self.mean_x)
    }
}

/// Fits a line by weighted least squares; walks over the points four times.
///
/// # Errors
/// [`LineError`] with fewer than two points, a point that is not usable, all x the same, or numbers
/// whose squares overflow.
pub fn fit<I>(points: I) -> Result<Line, LineError>
where
    I: IntoIterator<Item = Observation> + Clone,
{
    let (mut count, mut total_weight, mut sum_x, mut sum_y) = (0_usize, 0.0, 0.0, 0.0);
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    for (index, point) in points.clone().into_iter().enumerate() {
        let Observation { x, y, weight } = point;
        if !(x.is_finite() && y.is_finite() && weight.is_finite() && weight > 0.0) {
            return Err(LineError::UnusablePoint { index });
        }
        count += 1;
        total_weight += weight;
        sum_x += weight * x;
        sum_y += weight * y;
        lowest = libm::fmin(lowest, x);
        highest = libm::fmax(highest, x);
    }
    if count < 2 {
        return Err(LineError::TooFewPoints { got: count, need: 2 });
    }
    let largest = libm::fmax(libm::fabs(lowest), libm::fabs(highest));
    if highest - lowest <= LEAST_SPAN * largest {
        return Err(LineError::SameX { lowest, highest });
    }

    // A second pass about the first mean removes the rounding of that mean itself.
    let (rough_x, rough_y) = (sum_x / total_weight, sum_y / total_weight);
    let (mut off_x, mut off_y) = (0.0, 0.0);
    for point in points.clone() {
        off_x += point.weight * (point.x - rough_x);
        off_y += point.weight * (point.y - rough_y);
    }
    let (mean_x, mean_y) = (rough_x + off_x / total_weight, rough_y + off_y / total_weight);

    let (mut spread_x, mut spread_xy) = (0.0, 0.0);
    for point in points.clone() {
        let from_centre = point.weight * (point.x - mean_x);
        spread_x += from_centre * (point.x - mean_x);
        spread_xy += from_centre * (point.y - mean_y);
    }
    let slope = spread_xy / spread_x;
    let mut line = Line {
        intercept: mean_y - slope * mean_x,
        slope,
        sum_of_squares: 0.0,
        points: count,
        mean_x,
        mean_y,
        total_weight,
        spread_x,
    };
    for point in points {
        let residual = line.residual(&point);
        line.sum_of_squares += point.weight * residual * residual;
    }
    let Covariance { intercept, slope, .. } = line.covariance();
    let finite = line.intercept.is_finite()
        && line.slope.is_finite()
        && line.sum_of_squares.is_finite()
        && intercept.is_finite()
        && slope.is_finite();
    if finite { Ok(line) } else { Err(LineError::BeyondArithmetic) }
}

#[cfg(test)]
mod tests;
