//! From points in conductivity standards to a cell constant.

use super::FitError;
use super::error::check;
use super::scatter::{Residual, Scatter};
use crate::front_end::surroundings;
use crate::least_squares::{self, LineError, both_axes};
use crate::uncertainty::conductivity::{DEFAULT_CONDUCTANCE_UNCERTAINTY, DEFAULT_GRADIENT_K};
use crate::uncertainty::temperature;
use rillmark_proto::calibration::conductivity::{
    Compensation, ConductivityCalibration, Estimate, OHM_PER_PER_MICROSIEMENS, Range,
};
use rillmark_proto::calibration::{TEMPERATURE_RANGE, within};
use rillmark_proto::reference::{OutOfRange, Sourced, Tag, compensation, quantity};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm};

/// Relative standard uncertainty of a bought standard that states nothing: its label would be within 1 %,
/// and rinse water in the beaker or water lost from the bottle makes up to 1 %; each a rectangle.
pub const DEFAULT_STANDARD_UNCERTAINTY: Sourced = Sourced {
    value: 0.008,
    standard_uncertainty: None,
    source: "a label's ±1 %, water gained or lost ±1 %: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Resistance in series with the cell before it was measured: leads of a home-built probe.
pub const SERIES_PRIOR_OHM: Estimate =
    Estimate { value: 0.0, standard_uncertainty: surroundings::LEADS_OHM };

/// Where [`SERIES_PRIOR_OHM`] comes from.
pub const SERIES_PRIOR_SOURCE: &str = "3 m of two-core cable of 0.14 mm2 is 0.7 ohm (copper, computed), half of it either way: \
     common practice, no source";

/// Conductance with the cell in air before it was measured, in µS: connector and cable.
pub const ZERO_PRIOR_US: Estimate = Estimate { value: 0.0, standard_uncertainty: 0.05 };

/// Where [`ZERO_PRIOR_US`] comes from.
pub const ZERO_PRIOR_SOURCE: &str =
    "20 megohm across a dry connector and cable: common practice, no source";

/// Conductivities of standards in µS/cm, and conductances in µS, that can be meant.
const VALUE_RANGE: (f64, f64) = (1e-3, 1e6);
/// A point's standard uncertainty can be at most so many times its standard.
const MOST_UNCERTAINTIES: f64 = 1000.0;
/// Changes of a standard in µS/cm per kelvin that can be meant.
const VALUE_CHANGE: (f64, f64) = (-1e5, 1e5);

/// One point: the cell stood in this standard and read that.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConductivityPoint {
    /// Conductivity of the standard at the point's temperature.
    pub standard: MicrosiemensPerCm,
    /// Its standard uncertainty in µS/cm, if known.
    pub standard_uncertainty: Option<f64>,
    /// Change of the standard's conductivity with temperature in µS/cm per kelvin.
    pub standard_per_kelvin: f64,
    /// Mean settled conductance.
    pub conductance: Microsiemens,
    /// The range that measured it.
    pub range: Range,
    /// Mean temperature.
    pub temperature: Celsius,
    /// Number of the bottle, where other points were taken in it too.
    pub bottle: Option<usize>,
}

impl ConductivityPoint {
    /// What coefficients make of this point, minus the standard's value, in percent of it;
    /// `None` when the standard's value is zero.
    pub fn residual_percent(&self, cell: &ConductivityCalibration) -> Option<f64> {
        let found = cell.conductivity(self.conductance, self.range)?.get();
        let standard = self.standard.get();
        let residual = 100.0 * (found - standard) / standard;
        residual.is_finite().then_some(residual)
    }
}

/// What is taken as known beside the points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Assumed {
    /// The resistance in series with the cell in Ω. Standards of different conductivity tell it
    /// better.
    pub series_ohm: Estimate,
    /// The conductance with the cell in air in µS.
    pub zero_us: Estimate,
    /// Standard uncertainty of the thermometer at 25 °C in K.
    pub thermometer_k: f64,
}

impl Default for Assumed {
    fn default() -> Self {
        Self {
            series_ohm: SERIES_PRIOR_OHM,
            zero_us: ZERO_PRIOR_US,
            thermometer_k: temperature::uncalibrated_k(Celsius::new(25.0)),
        }
    }
}

/// A cell constant with what the points say about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConductivityFit {
    /// The coefficients; the covariance is already widened by [`Self::widening`].
    pub calibration: ConductivityCalibration,
    /// Sum of the squared residuals of the bottles in units of the uncertainties stated beforehand.
    pub chi_squared: f64,
    /// Bottles beyond the coefficients that they alone tell: the cell constant, and a factor for
    /// each further range where [`Self::per_range`], with a bottle in each of its ranges. Where the
    /// points of one bottle contradict each other more than the bottles do, points beyond the bottles,
    /// and [`Self::chi_squared`] is of those.
    pub degrees_of_freedom: usize,
    /// Factor on the covariance: 1, or chi-squared per degree of freedom where it is larger than
    /// the stated uncertainties give once in a hundred times. A lucky fit never narrows it.
    pub widening: f64,
    /// True when one cell constant for all ranges contradicted the points, so that each range has a
    /// factor of its own.
    pub per_range: bool,
}

/// [`fit_assuming`] with series resistance and zero that nobody has measured, and a thermometer taken
/// at its maker's word.
///
/// # Errors
/// As [`fit_assuming`].
pub fn fit(
    points: &[ConductivityPoint],
    compensation: Compensation,
) -> Result<ConductivityFit, FitError> {
    fit_assuming(points, compensation, &Assumed::default())
}

/// Finds cell constant and series resistance by least squares.
///
/// The resistance 1/G of the cell in a standard of conductivity κ is R + K/(κ + K·G₀): a line of
/// slope K through R over 1/(κ + K·G₀). Conductances and standards are both uncertain, so the line
/// goes through points uncertain in both axes (York et al. 2004, see [`both_axes`]), with
/// [`DEFAULT_CONDUCTANCE_UNCERTAINTY`] for a conductance and the standard's own or
/// [`DEFAULT_STANDARD_UNCERTAINTY`], and what [`DEFAULT_GRADIENT_K`] makes of it. What is known of R
/// beforehand is one more point, at 0: with a single standard it stays as it is and is correlated
/// with K; two standards of different conductivity tell it as well as they can.
///
/// Where one cell constant contradicts points of several ranges, each range gets a factor of its
/// own. The covariance follows from the stated uncertainties alone; what an error of the
/// thermometer or of the zero, common to all points, does to K is told apart.
///
/// # Errors
/// [`FitError`]: no point, numbers that are not finite or outside what can be meant (standard and
/// conductance 0.001 to 1 000 000, temperature −5 to 100 °C, uncertainty up to 1000 times the
/// standard's value), points that scatter as far as they extend, or a coefficient of the compensation outside
/// its range.
pub fn fit_assuming(
    points: &[ConductivityPoint],
    compensation: Compensation,
    assumed: &Assumed,
) -> Result<ConductivityFit, FitError> {
    if points.is_empty() {
        return Err(FitError::TooFewPoints { got: 0, need: 1 });
    }
    check_compensation(compensation)?;
    for (point, n) in points.iter().zip(1..) {
        let standard = check(n, quantity::CONDUCTIVITY, point.standard.get(), VALUE_RANGE)?;
        check(n, "conductance in µS", point.conductance.get(), VALUE_RANGE)?;
        check(n, quantity::TEMPERATURE, point.temperature.get(), TEMPERATURE_RANGE)?;
        check(
            n,
            "change of the standard in µS/cm per kelvin",
            point.standard_per_kelvin,
            VALUE_CHANGE,
        )?;
        if let Some(uncertainty) = point.standard_uncertainty {
            let what = "standard uncertainty of the standard in µS/cm";
            // Each of many points in one bottle is given more than the bottle has.
            check(n, what, uncertainty, (0.0, MOST_UNCERTAINTIES * standard))?;
        }
    }
    let points = Points { points, assumed };
    let common = points.common(compensation).map_err(|_| FitError::Scattered)?;
    let contradicted = common.widening > 1.0;
    Ok(match points.ranges() {
        2.. if contradicted => points.by_range(&common).unwrap_or(common),
        _ => common,
    })
}

fn check_compensation(compensation: Compensation) -> Result<(), FitError> {
    let (what, got, (min, max)) = match compensation {
        Compensation::Linear { per_kelvin } => {
            (quantity::COEFFICIENT, per_kelvin, compensation::PER_KELVIN_RANGE)
        }
        Compensation::NaturalWater { exponent } => {
            (quantity::EXPONENT, exponent, compensation::EXPONENT_RANGE)
        }
    };
    if within(got, (min, max)) {
        Ok(())
    } else {
        Err(FitError::Compensation(OutOfRange { what, got, min, max }))
    }
}

/// Resistance in Ω of a conductance in µS, or the other way round.
fn inverse(value: f64) -> f64 {
    OHM_PER_PER_MICROSIEMENS / value
}

/// Points that were checked, with what is known beside them.
struct Points<'a> {
    points: &'a [ConductivityPoint],
    assumed: &'a Assumed,
}

impl Points<'_> {
    /// How many ranges measured them.
    fn ranges(&self) -> usize {
        let on = |range| self.points.iter().any(|point| point.range == range);
        Range::ALL.into_iter().filter(|range| on(*range)).count()
    }

    /// 10⁶/(κ + K·G₀) in Ω·cm, what the line runs over.
    fn abscissa(&self, point: &ConductivityPoint, cell_constant: f64) -> f64 {
        inverse(point.standard.get() + cell_constant * self.assumed.zero_us.value)
    }

    /// Relative standard uncertainty of what is in a point's bottle.
    fn relative_bottle(point: &ConductivityPoint) -> f64 {
        let value = point.standard.get();
        point.standard_uncertainty.map_or(DEFAULT_STANDARD_UNCERTAINTY.value, |u| u / value)
    }

    /// The same of a point's standard, the temperature's part included.
    fn relative_standard(point: &ConductivityPoint) -> f64 {
        libm::hypot(Self::relative_bottle(point), Self::relative_gradient(point))
    }

    /// What [`DEFAULT_GRADIENT_K`] makes of a standard, relative.
    fn relative_gradient(point: &ConductivityPoint) -> f64 {
        DEFAULT_GRADIENT_K.value * point.standard_per_kelvin / point.standard.get()
    }

    /// How far a point lies off, where its signal is `signal` and the standard makes `standard` of it.
    fn residual(point: &ConductivityPoint, off: f64, signal: f64, standard: f64) -> Residual {
        let (signal, gradient, bottle) = (
            signal * DEFAULT_CONDUCTANCE_UNCERTAINTY.value,
            standard * Self::relative_gradient(point),
            standard * Self::relative_bottle(point),
        );
        let own = signal * signal + gradient * gradient;
        Residual { bottle: point.bottle, off, own, standard: bottle * bottle }
    }

    /// One cell constant for all ranges.
    fn common(&self, compensation: Compensation) -> Result<ConductivityFit, LineError> {
        /// The zero is so small that K in its own abscissa stands after a few rounds.
        const ROUNDS: usize = 4;
        let first = &self.points[0];
        let mut cell_constant = first.standard.get() / first.conductance.get();
        let mut line = self.line(cell_constant)?;
        for _ in 1..ROUNDS {
            cell_constant = line.slope;
            line = self.line(cell_constant)?;
        }
        let series = self.assumed.series_ohm;
        let prior = Residual {
            bottle: None,
            off: series.value - line.intercept,
            own: series.standard_uncertainty * series.standard_uncertainty,
            standard: 0.0,
        };
        let residuals = self.points.iter().map(|point| {
            let (x, y) = (self.abscissa(point, cell_constant), inverse(point.conductance.get()));
            Self::residual(point, y - line.at(x), y, line.slope * x)
        });
        let scatter = Scatter::of(residuals.chain([prior]), 2, 0);
        let widening = scatter.widening();
        let covariance = line.covariance.scaled(widening);
        // A standard that is taken as too strong stands too far to the left; so does, by what K·G₀
        // makes of it, a zero that is taken as too large.
        let left = |relative: f64, x: f64| line.slope * relative * x;
        let per_kelvin = self.response(line.slope, |point, x| {
            left(point.standard_per_kelvin / point.standard.get(), x)
        })?;
        let per_zero_us =
            self.response(line.slope, |point, x| left(line.slope / point.standard.get(), x))?;
        let calibration = ConductivityCalibration {
            cell_constant_per_cm: line.slope,
            variance_per_cm2: covariance.slope,
            series_ohm: Estimate {
                value: line.intercept,
                standard_uncertainty: libm::sqrt(covariance.intercept),
            },
            cell_series_ohm_per_cm: covariance.intercept_slope,
            zero_us: self.assumed.zero_us,
            relative_per_kelvin: per_kelvin / line.slope,
            thermometer_k: self.assumed.thermometer_k,
            relative_per_zero_us: per_zero_us / line.slope,
            range_factor: Range::ALL
                .map(|range| self.points.iter().any(|point| point.range == range).then_some(1.0)),
            compensation,
        };
        Ok(ConductivityFit {
            calibration,
            chi_squared: scatter.chi_squared,
            degrees_of_freedom: scatter.degrees_of_freedom,
            widening,
            per_range: false,
        })
    }

    /// The points, and what is known of the series resistance as one more at 0.
    fn line(&self, cell_constant: f64) -> Result<both_axes::Line, LineError> {
        let series = self.assumed.series_ohm;
        let prior = both_axes::Observation {
            x: 0.0,
            y: series.value,
            u_x: 0.0,
            u_y: series.standard_uncertainty,
        };
        let points = self.points.iter().map(|point| {
            let (x, y) = (self.abscissa(point, cell_constant), inverse(point.conductance.get()));
            both_axes::Observation {
                x,
                y,
                u_x: x * Self::relative_standard(point),
                u_y: y * DEFAULT_CONDUCTANCE_UNCERTAINTY.value,
            }
        });
        both_axes::fit(points.chain([prior]))
    }

    /// What the cell constant changes by when every resistance is higher by what `error_ohm` says of
    /// a point and its abscissa, with the weights of the fit.
    fn response(
        &self,
        cell_constant: f64,
        error_ohm: impl Fn(&ConductivityPoint, f64) -> f64 + Copy,
    ) -> Result<f64, LineError> {
        let series = self.assumed.series_ohm.standard_uncertainty;
        let prior = least_squares::Observation { x: 0.0, y: 0.0, weight: 1.0 / (series * series) };
        let points = self.points.iter().map(|point| {
            let x = self.abscissa(point, cell_constant);
            let relative =
                libm::hypot(Self::relative_standard(point), DEFAULT_CONDUCTANCE_UNCERTAINTY.value);
            let u = cell_constant * x * relative;
            least_squares::Observation { x, y: error_ohm(point, x), weight: 1.0 / (u * u) }
        });
        Ok(least_squares::fit(points.chain([prior]))?.slope)
    }

    /// A cell constant for each range; the series resistance stays as it is known beforehand, since a
    /// range of its own and a resistance explain the same. `None` where that explains no more.
    fn by_range(&self, common: &ConductivityFit) -> Option<ConductivityFit> {
        let series = self.assumed.series_ohm;
        // Each point's own cell constant with its weight and 1/x.
        let own = |point: &ConductivityPoint| {
            let x = self.abscissa(point, common.calibration.cell_constant_per_cm);
            let found = (inverse(point.conductance.get()) - series.value) / x;
            let relative =
                libm::hypot(Self::relative_standard(point), DEFAULT_CONDUCTANCE_UNCERTAINTY.value);
            (found, 1.0 / (found * found * relative * relative), 1.0 / x)
        };
        let mean = |on: &dyn Fn(&ConductivityPoint) -> bool| {
            let (mut total, mut sum, mut steep) = (0.0, 0.0, 0.0);
            for (found, weight, per_x) in self.points.iter().filter(|point| on(point)).map(own) {
                total += weight;
                sum += weight * found;
                steep += weight * per_x;
            }
            (total > 0.0).then(|| (sum / total, 1.0 / total, steep / total))
        };
        let (overall, ..) = mean(&|_| true)?;
        let ranges = Range::ALL.map(|range| mean(&|point| point.range == range));
        let residuals = self.points.iter().filter_map(|point| {
            let (of_range, ..) = ranges[point.range as usize]?;
            let (found, ..) = own(point);
            // A bottle is another one in each range.
            let of_range_too = |bottle: usize| {
                bottle.wrapping_mul(Range::COUNT).wrapping_add(point.range as usize)
            };
            let residual = Self::residual(point, found - of_range, found, found);
            Some(Residual { bottle: point.bottle.map(of_range_too), ..residual })
        });
        let scatter = Scatter::of(residuals, self.ranges(), 0);
        let widening = scatter.widening();
        // The range that is known worst stands for all.
        let (variance, steep) =
            ranges.iter().flatten().fold((0.0, 0.0), |(most, of_most), &(_, variance, steep)| {
                if variance > most { (variance, steep) } else { (most, of_most) }
            });
        let own_variance =
            steep * steep * series.standard_uncertainty * series.standard_uncertainty;
        let calibration = ConductivityCalibration {
            cell_constant_per_cm: overall,
            variance_per_cm2: variance * widening + own_variance,
            series_ohm: series,
            cell_series_ohm_per_cm: -steep
                * series.standard_uncertainty
                * series.standard_uncertainty,
            range_factor: ranges.map(|range| range.map(|(of_range, ..)| of_range / overall)),
            ..common.calibration
        };
        let fit = ConductivityFit {
            calibration,
            chi_squared: scatter.chi_squared,
            degrees_of_freedom: scatter.degrees_of_freedom,
            widening,
            per_range: true,
        };
        (fit.chi_squared < common.chi_squared && fit.widening < common.widening).then_some(fit)
    }
}

#[cfg(test)]
mod tests;
