//! From points in buffers to a pH line.

use super::FitError;
use super::error::check;
use super::scatter::{Residual, Scatter};
use crate::least_squares::{self, LineError, both_axes};
use crate::uncertainty::ph::DEFAULT_POTENTIAL_UNCERTAINTY;
use crate::uncertainty::ph::PhUncertainty;
use crate::uncertainty::temperature;
use rillmark_proto::calibration::ph::{
    DEFAULT_ISOPOTENTIAL, Isopotential, OFFSET_PH, PH_RANGE, PhCalibration, PhCovariance,
    PhResponse, PhShared,
};
use rillmark_proto::calibration::{TEMPERATURE_RANGE, within};
use rillmark_proto::reference::{Sourced, Tag, nernst, quantity};
use rillmark_proto::units::{Celsius, Millivolts, Ph};

/// Standard uncertainty of the pH of a bought buffer that states nothing: its label would be within 0.02
/// at 25 °C, its own table within 0.01 of the published one, and rinse water in the beaker changes it by
/// up to 0.01; each a rectangle, √(0.02² + 0.01² + 0.01²)/√3.
pub const DEFAULT_BUFFER_UNCERTAINTY: Sourced = Sourced {
    value: 0.015,
    standard_uncertainty: None,
    source: "a label's ±0.02, its table's ±0.01, rinse water in the beaker ±0.01: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Slope fraction of an electrode of which nothing is known: the middle of the band of one that
/// needs no attention, 95 to 102 %, as a rectangular distribution.
pub const NOMINAL_SLOPE: SlopePrior =
    SlopePrior { slope_fraction: 0.985, standard_uncertainty: 0.020 };

/// What a slope that was found before loses in certainty until the next calibration: electrodes age
/// by about this much between two. Common practice, no source.
pub const SLOPE_AGEING: f64 = 0.01;

/// Potentials in mV that can be meant; what is larger was given in another unit.
const POTENTIAL_RANGE: (f64, f64) = (-2000.0, 2000.0);
/// Standard uncertainties of a buffer in pH that can be meant.
pub const BUFFER_UNCERTAINTY_RANGE: (f64, f64) = (0.0, 1.0);
/// The same of a point: each of many in one bottle is given more than the bottle has
/// ([`of_one_bottle`](crate::fit::of_one_bottle)).
const POINT_UNCERTAINTY_RANGE: (f64, f64) = (0.0, 1000.0);
/// Changes of a buffer's pH per kelvin that can be meant.
const BUFFER_PER_KELVIN_RANGE: (f64, f64) = (-0.5, 0.5);
/// Least distance in pH of the outermost points, below which it is rounding. Whether a larger
/// distance is large enough is judged elsewhere.
const LEAST_SPAN_PH: f64 = 1e-9;

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
    /// Number of the bottle, where other points were taken in it too.
    pub bottle: Option<usize>,
}

impl PhPoint {
    /// What a line makes of this point, minus the point's own pH.
    ///
    /// `None` when the temperature is outside [`TEMPERATURE_RANGE`] or the slope is zero.
    pub fn residual(&self, line: &PhCalibration) -> Option<f64> {
        let residual = line.ph_anywhere(self.potential, self.temperature)? - self.buffer.get();
        residual.is_finite().then_some(residual)
    }

    fn millivolts_per_ph(&self) -> f64 {
        nernst::millivolts_per_ph(self.temperature)
    }

    /// The buffer's part of the uncertainty, in mV of an electrode of slope 1.
    fn buffer_mv(&self) -> f64 {
        let uncertainty = self.buffer_uncertainty.unwrap_or(DEFAULT_BUFFER_UNCERTAINTY.value);
        self.millivolts_per_ph() * uncertainty
    }

    /// What the point's abscissa grows by for each kelvin that the thermometer reads too high.
    fn abscissa_per_kelvin(&self) -> f64 {
        nernst::PER_KELVIN * (self.buffer.get() - OFFSET_PH)
            + self.millivolts_per_ph() * self.buffer_per_kelvin
    }
}

/// A slope that is known before a point is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SlopePrior {
    /// As a fraction of Nernst.
    pub slope_fraction: f64,
    /// Its standard uncertainty.
    pub standard_uncertainty: f64,
}

impl SlopePrior {
    /// The slope of an earlier calibration of the same electrode, [`SLOPE_AGEING`] added.
    pub fn earlier(calibration: &PhCalibration) -> Self {
        Self {
            slope_fraction: calibration.slope_fraction,
            standard_uncertainty: libm::hypot(calibration.slope_uncertainty(), SLOPE_AGEING),
        }
    }
}

/// What is taken as known beside the points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumed {
    /// The isopotential pH.
    pub isopotential: Isopotential,
    /// True when it follows from the very points of the line, as [`measure_isopotential`] finds it.
    pub isopotential_fitted: bool,
    /// The slope, for a single point; two points and more find their own.
    pub slope: Option<SlopePrior>,
    /// Standard uncertainty of the thermometer at 25 °C in K.
    pub thermometer_k: f64,
}

impl Default for Assumed {
    fn default() -> Self {
        Self {
            isopotential: DEFAULT_ISOPOTENTIAL,
            isopotential_fitted: false,
            slope: None,
            thermometer_k: temperature::uncalibrated_k(Celsius::new(25.0)),
        }
    }
}

/// A pH line with what the points say about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PhFit {
    /// The coefficients; their covariance is already widened by [`Self::widening`].
    pub calibration: PhCalibration,
    /// Sum of the squared residuals of the bottles in units of the uncertainties stated beforehand.
    pub chi_squared: f64,
    /// Bottles beyond two; where the points of one bottle contradict each other more than the bottles do,
    /// points beyond the bottles, and [`Self::chi_squared`] is of those.
    pub degrees_of_freedom: usize,
    /// Factor on the covariance: 1, or chi-squared per degree of freedom where it is larger than
    /// the stated uncertainties give once in a hundred times. A lucky fit never narrows it.
    pub widening: f64,
}

/// [`fit_assuming`] with the isopotential pH nobody has measured, no slope known beforehand, and a
/// thermometer taken at its maker's word.
///
/// # Errors
/// As [`fit_assuming`].
pub fn fit(points: &[PhPoint]) -> Result<PhFit, FitError> {
    fit_assuming(points, &Assumed::default())
}

/// Finds slope and offset by least squares, every point at its own temperature.
///
/// The buffers are uncertain as well as the potentials, so the line goes through points uncertain
/// in both axes (York et al. 2004, see [`both_axes`]): each weighs 1/(u_E² + (s·k·u_B)²), with
/// [`DEFAULT_POTENTIAL_UNCERTAINTY`] for u_E, and [`DEFAULT_BUFFER_UNCERTAINTY`] for a u_B that is
/// not stated. The covariance follows from these uncertainties alone. What all points share, an
/// error of the thermometer, of the converter's gain, of the isopotential pH, is told apart, as the
/// coefficients' response to it.
///
/// Two points leave nothing over to scatter. A single point gives the offset when a slope is known
/// beforehand; offset and slope are then correlated as they should be.
///
/// A slope of the wrong sign or size is found and returned like any other: judging it is not the
/// fit's business.
///
/// # Errors
/// [`FitError`]: too few points, numbers that are not finite or outside what can be meant
/// (temperature −5 to 100 °C, pH −2 to 16, potential ±2000 mV, uncertainty of a point 0 to 1000), the same
/// pH everywhere, or points that scatter as far as they extend.
pub fn fit_assuming(points: &[PhPoint], assumed: &Assumed) -> Result<PhFit, FitError> {
    let need = if assumed.slope.is_some() { 1 } else { 2 };
    if points.len() < need {
        return Err(FitError::TooFewPoints { got: points.len(), need });
    }
    let (lowest, highest) = check_points(points)?;
    if let ([point], Some(slope)) = (points, &assumed.slope) {
        return Ok(one_point(point, slope, assumed));
    }
    if highest - lowest <= LEAST_SPAN_PH {
        return Err(FitError::SamePh { lowest, highest });
    }
    let line = Points::new(points, assumed).line().map_err(|error| {
        match error {
            LineError::NoConvergence { .. } => FitError::Scattered,
            // Different pH at different temperatures may still fall on one abscissa.
            _ => FitError::SamePh { lowest, highest },
        }
    })?;
    Ok(line)
}

/// Lowest and highest pH of points that can all be meant.
fn check_points(points: &[PhPoint]) -> Result<(f64, f64), FitError> {
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    for (point, n) in points.iter().zip(1..) {
        let ph = check(n, "pH of the buffer", point.buffer.get(), PH_RANGE)?;
        check(n, "potential in mV", point.potential.get(), POTENTIAL_RANGE)?;
        check(n, quantity::TEMPERATURE, point.temperature.get(), TEMPERATURE_RANGE)?;
        let what = "change of the buffer's pH per kelvin";
        check(n, what, point.buffer_per_kelvin, BUFFER_PER_KELVIN_RANGE)?;
        if let Some(uncertainty) = point.buffer_uncertainty {
            let what = "standard uncertainty of the buffer in pH";
            check(n, what, uncertainty, POINT_UNCERTAINTY_RANGE)?;
        }
        lowest = libm::fmin(lowest, ph);
        highest = libm::fmax(highest, ph);
    }
    Ok((lowest, highest))
}

/// Points that passed [`check_points`], with what they are seen under.
struct Points<'a> {
    points: &'a [PhPoint],
    assumed: &'a Assumed,
    /// Mean temperature in °C.
    at_c: f64,
}

impl<'a> Points<'a> {
    fn new(points: &'a [PhPoint], assumed: &'a Assumed) -> Self {
        let sum: f64 = points.iter().map(|point| point.temperature.get()).sum();
        Self { points, assumed, at_c: sum / points.len() as f64 }
    }

    /// k(T) − k(T₀) of a point, in mV.
    fn away_mv(&self, point: &PhPoint) -> f64 {
        point.millivolts_per_ph() - nernst::millivolts_per_ph(Celsius::new(self.at_c))
    }

    fn abscissa(&self, point: &PhPoint) -> f64 {
        point.millivolts_per_ph() * (point.buffer.get() - OFFSET_PH)
            - self.away_mv(point) * (self.assumed.isopotential.ph - OFFSET_PH)
    }

    fn observed(&self, point: &PhPoint) -> both_axes::Observation {
        both_axes::Observation {
            x: self.abscissa(point),
            y: point.potential.get(),
            u_x: point.buffer_mv(),
            u_y: DEFAULT_POTENTIAL_UNCERTAINTY.value,
        }
    }

    /// E over the abscissa: a line of slope −s through the offset.
    fn both_axes(&self) -> Result<both_axes::Line, LineError> {
        both_axes::fit(self.points.iter().map(|point| self.observed(point)))
    }

    /// The line with what it says about the electrode.
    fn line(&self) -> Result<PhFit, LineError> {
        let line = self.both_axes()?;
        let residuals = self.points.iter().map(|point| {
            let (seen, bottle) = (self.observed(point), line.slope * point.buffer_mv());
            Residual {
                bottle: point.bottle,
                off: line.residual(&seen),
                own: seen.u_y * seen.u_y,
                standard: bottle * bottle,
            }
        });
        let inside = usize::from(self.assumed.isopotential_fitted);
        let scatter = Scatter::of(residuals, 2, inside);
        let widening = scatter.widening();
        let covariance = line.covariance.scaled(widening);
        let slope_fraction = -line.slope;
        // An error in a point's abscissa acts as s times that in its potential.
        let shared = PhShared {
            per_kelvin: self
                .response(slope_fraction, |point| slope_fraction * point.abscissa_per_kelvin())?,
            per_gain: self.response(slope_fraction, |point| point.potential.get())?,
            per_isopotential: self
                .response(slope_fraction, |point| -slope_fraction * self.away_mv(point))?,
            thermometer_k: self.assumed.thermometer_k,
        };
        let calibration = PhCalibration {
            slope_fraction,
            offset_mv: line.intercept,
            at_c: self.at_c,
            isopotential: self.assumed.isopotential,
            covariance: PhCovariance {
                slope: covariance.slope,
                offset_mv2: covariance.intercept,
                slope_offset_mv: -covariance.intercept_slope,
            },
            shared,
        };
        let Scatter { chi_squared, degrees_of_freedom } = scatter;
        Ok(PhFit { calibration, chi_squared, degrees_of_freedom, widening })
    }

    /// What the coefficients change by when every potential is higher by what `error_mv` says: the
    /// line through those errors, with the weights of the fit.
    fn response(
        &self,
        slope_fraction: f64,
        error_mv: impl Fn(&PhPoint) -> f64 + Copy,
    ) -> Result<PhResponse, LineError> {
        let line = least_squares::fit(self.points.iter().map(|point| {
            let potential = DEFAULT_POTENTIAL_UNCERTAINTY.value;
            let buffer = slope_fraction * point.buffer_mv();
            least_squares::Observation {
                x: self.abscissa(point),
                y: error_mv(point),
                weight: 1.0 / (potential * potential + buffer * buffer),
            }
        }))?;
        Ok(PhResponse { slope: -line.slope, offset_mv: line.intercept })
    }
}

/// The offset from one point and a slope that is known beforehand.
fn one_point(point: &PhPoint, slope: &SlopePrior, assumed: &Assumed) -> PhFit {
    let x = point.millivolts_per_ph() * (point.buffer.get() - OFFSET_PH);
    let s = slope.slope_fraction;
    let slope_variance = slope.standard_uncertainty * slope.standard_uncertainty;
    let (potential, buffer) = (DEFAULT_POTENTIAL_UNCERTAINTY.value, s * point.buffer_mv());
    // The slope is not measured here, so it answers to nothing that the point may have wrong.
    let offset = |offset_mv| PhResponse { slope: 0.0, offset_mv };
    let calibration = PhCalibration {
        slope_fraction: s,
        offset_mv: point.potential.get() + s * x,
        at_c: point.temperature.get(),
        isopotential: assumed.isopotential,
        covariance: PhCovariance {
            slope: slope_variance,
            offset_mv2: potential * potential + buffer * buffer + x * x * slope_variance,
            slope_offset_mv: x * slope_variance,
        },
        shared: PhShared {
            per_kelvin: offset(s * point.abscissa_per_kelvin()),
            per_gain: offset(point.potential.get()),
            per_isopotential: offset(0.0),
            thermometer_k: assumed.thermometer_k,
        },
    };
    PhFit { calibration, chi_squared: 0.0, degrees_of_freedom: 0, widening: 1.0 }
}

/// Finds the isopotential pH from points at two temperatures or more: the one under which they fall
/// best on a line, with the standard uncertainty that the points' own leave. Where they lie off that line
/// further than chance takes them once in a hundred times, it is widened as the line is, with slope,
/// offset and isopotential pH fitted.
///
/// Each point is a stand of its own: several readings of one bottle at one temperature belong into one
/// point, their mean. Where bottles are the same at both temperatures their errors cancel, and the
/// uncertainty is on the safe side.
///
/// # Errors
/// [`FitError`]: those of [`fit`], and [`FitError::IsopotentialUnknown`] when the points do not tell
/// it better than [`DEFAULT_ISOPOTENTIAL`]: too few, too much at one temperature, or too far off.
pub fn measure_isopotential(points: &[PhPoint]) -> Result<Isopotential, FitError> {
    /// Step in pH between the lines compared; chi-squared is all but a parabola over it.
    const STEP: f64 = 0.5;
    /// The parabola's vertex moves by less than its uncertainty's rounding after this many.
    const ROUNDS: usize = 4;
    /// Slope, offset and isopotential pH.
    const FITTED: usize = 3;
    let chi_squared = |ph: f64| {
        let isopotential = Isopotential { ph, standard_uncertainty: 0.0 };
        let assumed = Assumed { isopotential, ..Assumed::default() };
        let line = Points::new(points, &assumed).both_axes();
        line.map(|line| line.chi_squared).map_err(|_| FitError::Scattered)
    };
    let unknown = |standard_uncertainty| FitError::IsopotentialUnknown { standard_uncertainty };
    fit_assuming(points, &Assumed::default())?;
    if points.len() < FITTED {
        return Err(unknown(f64::INFINITY));
    }
    let mut found = DEFAULT_ISOPOTENTIAL;
    for _ in 0..ROUNDS {
        let (below, at, above) =
            (chi_squared(found.ph - STEP)?, chi_squared(found.ph)?, chi_squared(found.ph + STEP)?);
        // Chi-squared is the minimum plus ((pH − pHᵢ)/u)².
        let bend = (below - 2.0 * at + above) / (2.0 * STEP * STEP);
        if bend.is_nan() || bend <= 0.0 {
            return Err(unknown(f64::INFINITY));
        }
        let moved = (below - above) / (4.0 * STEP * bend);
        found = Isopotential { ph: found.ph + moved, standard_uncertainty: 1.0 / libm::sqrt(bend) };
        if !within(found.ph, PH_RANGE) {
            return Err(unknown(f64::INFINITY));
        }
    }
    let scatter =
        Scatter { chi_squared: chi_squared(found.ph)?, degrees_of_freedom: points.len() - FITTED };
    found.standard_uncertainty *= libm::sqrt(scatter.widening());
    if found.standard_uncertainty >= DEFAULT_ISOPOTENTIAL.standard_uncertainty {
        return Err(unknown(found.standard_uncertainty));
    }
    Ok(found)
}

#[cfg(test)]
mod tests;
