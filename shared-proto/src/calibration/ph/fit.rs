//! From points in buffers to a pH line.

use super::super::error::check;
use super::super::{FitError, TEMPERATURE_RANGE};
use super::{OFFSET_PH, PH_RANGE, PhCalibration, PhCovariance};
use crate::least_squares::{self, Line, LineError, Observation};
use crate::reference::{Sourced, Tag, nernst, quantity};
use crate::units::{Celsius, Millivolts, Ph};

/// Standard uncertainty of a point's potential in mV: noise that settling leaves, stirring, and the
/// converter.
pub const DEFAULT_POTENTIAL_UNCERTAINTY: Sourced = Sourced {
    value: 0.3,
    standard_uncertainty: None,
    source: "0.005 pH of repeatability in a buffer: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Standard uncertainty of a buffer's pH that does not state its own: half of 0.02.
pub const DEFAULT_BUFFER_UNCERTAINTY: Sourced = Sourced {
    value: 0.01,
    standard_uncertainty: None,
    source: "secondary standard, U(k=2) 0.015 to 0.02: IUPAC Recommendations 2002 (medium confidence)",
    tag: Tag::Memory,
};

/// Potentials in mV that can be meant; what is larger was given in another unit.
const POTENTIAL_RANGE: (f64, f64) = (-2000.0, 2000.0);
/// Standard uncertainties of a buffer in pH that can be meant.
const BUFFER_UNCERTAINTY_RANGE: (f64, f64) = (0.0, 1.0);
/// Least distance in pH of the outermost points, below which it is rounding. Whether a larger
/// distance is large enough is judged elsewhere.
const LEAST_SPAN_PH: f64 = 1e-9;
/// The weights depend on the slope only through the buffers' part, so a few rounds are enough.
const MOST_ROUNDS: usize = 50;

/// One point: the electrode stood in this buffer and read that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhPoint {
    /// pH of the buffer at the point's temperature.
    pub buffer: Ph,
    /// Its standard uncertainty in pH, if known.
    pub buffer_uncertainty: Option<f64>,
    /// Change of the buffer's pH with temperature, per kelvin.
    pub buffer_per_kelvin: f64,
    /// Mean settled potential.
    pub potential: Millivolts,
    /// Mean temperature.
    pub temperature: Celsius,
}

/// A pH line with what the points say about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhFit {
    /// The coefficients; their covariance is already widened by [`Self::widening`].
    pub calibration: PhCalibration,
    /// Sum of the squared residuals in units of the uncertainties stated beforehand.
    pub chi_squared: f64,
    /// Points beyond two.
    pub degrees_of_freedom: usize,
    /// Factor on the covariance, at least 1: chi-squared per degree of freedom where the points
    /// scatter more than their stated uncertainties allow. Less scatter never narrows it.
    pub widening: f64,
}

/// Finds slope and offset by least squares, every point at its own temperature.
///
/// When no point states a buffer uncertainty the weights are equal; else each is
/// 1/(u_E² + (s·k·u_B)²), iterated since it holds the slope, with
/// [`DEFAULT_POTENTIAL_UNCERTAINTY`] for u_E and [`DEFAULT_BUFFER_UNCERTAINTY`] for the points that
/// state none. The covariance follows from these uncertainties, and is widened when the points
/// scatter more. Two points leave nothing over to scatter.
///
/// A slope of the wrong sign or size is found and returned like any other: judging it is not the
/// fit's business.
///
/// # Errors
/// [`FitError`]: fewer than two points, numbers that are not finite or outside what can be meant
/// (temperature −5 to 100 °C, pH −2 to 16, potential ±2000 mV, buffer uncertainty 0 to 1), or the
/// same pH everywhere.
pub fn fit(points: &[PhPoint]) -> Result<PhFit, FitError> {
    if points.len() < 2 {
        return Err(FitError::TooFewPoints { got: points.len(), need: 2 });
    }
    let (lowest, highest) = check_points(points)?;
    if highest - lowest <= LEAST_SPAN_PH {
        return Err(FitError::SamePh { lowest, highest });
    }
    // Different pH at different temperatures may still fall on one abscissa.
    let no_line = |_: LineError| FitError::SamePh { lowest, highest };

    let equal = line(points, |_| 1.0).map_err(no_line)?;
    let (line, prior_variance) = if points.iter().all(|point| point.buffer_uncertainty.is_none()) {
        let variances = points.iter().map(|point| variance(point, -equal.slope));
        (equal, variances.sum::<f64>() / points.len() as f64)
    } else {
        (weighted(points, equal).map_err(no_line)?, 1.0)
    };

    let chi_squared = line.sum_of_squares / prior_variance;
    let degrees_of_freedom = line.degrees_of_freedom();
    let widening = match degrees_of_freedom {
        0 => 1.0,
        degrees => libm::fmax(1.0, chi_squared / degrees as f64),
    };
    let covariance = line.covariance().scaled(prior_variance * widening);
    let calibration = PhCalibration {
        covariance: PhCovariance {
            slope: covariance.slope,
            offset_mv2: covariance.intercept,
            slope_offset_mv: -covariance.intercept_slope,
        },
        ..PhCalibration::exact(-line.slope, line.intercept)
    };
    Ok(PhFit { calibration, chi_squared, degrees_of_freedom, widening })
}

/// Lowest and highest pH of points that can all be meant.
fn check_points(points: &[PhPoint]) -> Result<(f64, f64), FitError> {
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    for (point, n) in points.iter().zip(1..) {
        let ph = check(n, "pH of the buffer", point.buffer.get(), PH_RANGE)?;
        check(n, "potential in mV", point.potential.get(), POTENTIAL_RANGE)?;
        check(n, quantity::TEMPERATURE, point.temperature.get(), TEMPERATURE_RANGE)?;
        if let Some(uncertainty) = point.buffer_uncertainty {
            let what = "standard uncertainty of the buffer in pH";
            check(n, what, uncertainty, BUFFER_UNCERTAINTY_RANGE)?;
        }
        lowest = libm::fmin(lowest, ph);
        highest = libm::fmax(highest, ph);
    }
    Ok((lowest, highest))
}

/// E over k(T)·(pH − 7): a line of slope −s through E₀.
fn line(points: &[PhPoint], weight: impl Fn(&PhPoint) -> f64 + Copy) -> Result<Line, LineError> {
    least_squares::fit(points.iter().map(|point| Observation {
        x: nernst::millivolts_per_ph(point.temperature) * (point.buffer.get() - OFFSET_PH),
        y: point.potential.get(),
        weight: weight(point),
    }))
}

/// Variance of a point's potential in mV² for a slope fraction, the buffer's part included.
fn variance(point: &PhPoint, slope_fraction: f64) -> f64 {
    let buffer = point.buffer_uncertainty.unwrap_or(DEFAULT_BUFFER_UNCERTAINTY.value);
    let buffer_mv = slope_fraction * nernst::millivolts_per_ph(point.temperature) * buffer;
    let potential = DEFAULT_POTENTIAL_UNCERTAINTY.value;
    potential * potential + buffer_mv * buffer_mv
}

fn weighted(points: &[PhPoint], start: Line) -> Result<Line, LineError> {
    let mut found = start;
    for _ in 0..MOST_ROUNDS {
        let slope_fraction = -found.slope;
        found = line(points, |point| 1.0 / variance(point, slope_fraction))?;
        if libm::fabs(found.slope + slope_fraction) <= 1e-14 * libm::fabs(slope_fraction) {
            break;
        }
    }
    Ok(found)
}
