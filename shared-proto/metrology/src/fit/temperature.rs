//! From points beside a reference thermometer to a thermometer's correction.

use crate::fit::FitError;
use crate::fit::error::check;
use rillmark_proto::calibration::TEMPERATURE_RANGE;
use rillmark_proto::calibration::temperature::{TemperatureCalibration, Thermometer};
use rillmark_proto::reference::{Sourced, Tag, quantity};
use rillmark_proto::units::{Celsius, Ohms};

/// How far the gain of a platinum thermometer is from 1 before it was measured: the half width that
/// class B of IEC 60751 allows, 0.005, as a standard uncertainty of a rectangular distribution.
pub const PLATINUM_GAIN_PRIOR: Sourced = Sourced {
    value: 0.0,
    standard_uncertainty: Some(0.002_9),
    source: "class B of IEC 60751, 0.3 K + 0.005 |t|: 0.005 / sqrt(3)",
    tag: Tag::Recalled,
};

/// The same of a thermistor by its beta equation: a beta that is 1 % off makes a gain that is 1 % off. Sold
/// within 1 %, it is another 1.2 to 4.2 % away at 22 °C where the maker states it for 25 and 50 or 85 °C (two
/// of the triples of REFERENCES 14; computed), 2.8 % in all, in the root of the mean square.
pub const THERMISTOR_GAIN_PRIOR: Sourced = Sourced {
    value: 0.0,
    standard_uncertainty: Some(0.028),
    source: "beta within 1 %, and 1 to 4 % away where it is not stated: Steinhart-Hart curves, 0 to 85 °C",
    tag: Tag::Computed,
};

/// Below this temperature in °C a curve's gain by beta is further away, …
const COLD_BELOW_C: f64 = 22.0;
/// … by so much for each kelvin: 0.05 at 0 °C, where four triples are 3 to 7 % away (computed).
const COLD_GAIN_PER_K: f64 = 0.001;

/// The same of a thermistor by its maker's a, b and c, which leave only what its type is sold within.
pub const STEINHART_HART_GAIN_PRIOR: Sourced = Sourced {
    value: 0.0,
    standard_uncertainty: Some(0.006),
    source: "its type sold with beta within 1 %, 0.01 / sqrt(3): common practice, no source",
    tag: Tag::CommonPractice,
};

/// How far a thermistor bends away from its beta equation: by this times (t - t1)·(t - t2) in K,
/// where t1 and t2 are the temperatures at which both agree. Three public triples of coefficients
/// (REFERENCES 14) bend by 3.3e-4 to 7.1e-4: taken as a standard uncertainty, it covers them with k = 2.
pub const THERMISTOR_BEND_PER_K: Sourced = Sourced {
    value: 3.8e-4,
    standard_uncertainty: None,
    source: "beta equation against an illustrative Steinhart-Hart curve, 0 to 50 °C",
    tag: Tag::Computed,
};

/// Temperatures in °C over which the bend is to be covered. Own choice: waters, and what the curves are
/// known for.
const BENT_OVER: (f64, f64) = (0.0, 50.0);

/// Standard uncertainty in K of thermometer and reference being equally warm in stirred water.
pub const EQUALLY_WARM_K: Sourced = Sourced {
    value: 0.02,
    standard_uncertainty: None,
    source: "side by side in a stirred bath: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Standard uncertainty in K of a reference thermometer that does not state its own.
pub const DEFAULT_REFERENCE_UNCERTAINTY_K: Sourced = Sourced {
    value: 0.1,
    standard_uncertainty: None,
    source: "a liquid-in-glass or electronic reference within 0.2 K: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Standard uncertainties of a reference in K that can be meant.
pub const REFERENCE_UNCERTAINTY_RANGE_K: (f64, f64) = (1e-4, 5.0);

/// One point: thermometer and reference side by side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TemperaturePoint {
    /// What the reference says.
    pub reference: Celsius,
    /// Its standard uncertainty in K.
    pub reference_uncertainty_k: f64,
    /// Which reference said so: points with the same number share its error.
    pub reference_number: usize,
    /// Mean settled resistance of the thermometer.
    pub resistance: Ohms,
}

impl TemperaturePoint {
    /// What coefficients make of this point minus what the reference says, in K; `None` where
    /// [`TemperatureCalibration::temperature`] is.
    pub fn residual_k(&self, calibration: &TemperatureCalibration) -> Option<f64> {
        Some(calibration.temperature(self.resistance)?.get() - self.reference.get())
    }

    /// Standard uncertainty in K with which this point compares thermometer and reference: the
    /// reference's own and [`EQUALLY_WARM_K`].
    pub fn uncertainty_k(&self) -> f64 {
        libm::hypot(self.reference_uncertainty_k, EQUALLY_WARM_K.value)
    }
}

/// A thermometer's correction with what the points say about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TemperatureFit {
    /// The coefficients.
    pub calibration: TemperatureCalibration,
    /// Sum of the squared residuals in units of the uncertainties stated beforehand.
    pub chi_squared: f64,
    /// Points beyond one: the gain is known beforehand within its prior.
    pub degrees_of_freedom: usize,
    /// What a thermistor bends away from its equation in the middle between the outer points, in K.
    pub bent_k: f64,
}

impl TemperatureFit {
    /// Standard uncertainty in K with which a point is compared with the correction of all.
    pub fn uncertainty_k(&self, point: &TemperaturePoint) -> f64 {
        libm::hypot(point.uncertainty_k(), self.bent_k)
    }
}

/// Finds offset and gain by least squares, with the gain held near 0 by its prior
/// ([`PLATINUM_GAIN_PRIOR`], [`THERMISTOR_GAIN_PRIOR`]): one point gives an offset, two that lie far
/// enough apart a gain as well.
///
/// **Uncertainty.** The error of a reference moves all its points together, so it stays in the offset
/// whatever their number. In the gain it would fall out, if it were the same at every temperature;
/// nobody knows that, so for the gain every point counts as if its error were its own. Nothing is made
/// smaller by points that agree.
///
/// A thermistor by its beta equation bends between and beyond its points ([`THERMISTOR_BEND_PER_K`]): with
/// a the distance from the middle and h that of the points, by b·(a² − h²), which is nothing at the points.
/// Offset and gain can only carry a variance v + g·a²; taken is the least that is no smaller anywhere
/// between 0 and 50 °C, b²·(h⁴ + (A² − 2h²)·a²) with A the farthest of them. It is too much at the points
/// themselves, by up to the bend in the middle between them.
///
/// # Errors
/// [`FitError`]: no point, numbers that are not finite or cannot be meant (reference −5 to 100 °C,
/// uncertainty 0.0001 to 5 K), or a resistance that this kind of thermometer does not have.
pub fn fit(
    points: &[TemperaturePoint],
    thermometer: Thermometer,
) -> Result<TemperatureFit, FitError> {
    if points.is_empty() {
        return Err(FitError::TooFewPoints { got: 0, need: 1 });
    }
    let (mut total, mut sum_t, mut sum_off) = (0.0, 0.0, 0.0);
    let (mut lowest, mut highest) = (f64::INFINITY, f64::NEG_INFINITY);
    for (point, n) in points.iter().zip(1..) {
        let Part { weight, nominal, off } = part(point, n, thermometer)?;
        total += weight;
        sum_t += weight * nominal;
        sum_off += weight * off;
        (lowest, highest) = (libm::fmin(lowest, nominal), libm::fmax(highest, nominal));
    }
    let (at_c, offset_k) = (sum_t / total, sum_off / total);
    let (prior, bend) = match thermometer {
        Thermometer::Platinum { .. } => (PLATINUM_GAIN_PRIOR, 0.0),
        Thermometer::SteinhartHart { .. } => (STEINHART_HART_GAIN_PRIOR, 0.0),
        Thermometer::Thermistor { .. } => (THERMISTOR_GAIN_PRIOR, THERMISTOR_BEND_PER_K.value),
    };
    let mut prior = prior.standard_uncertainty.unwrap_or(0.0);
    if bend > 0.0 {
        // The colder, the further the curve is from one of beta.
        prior += COLD_GAIN_PER_K * libm::fmax(COLD_BELOW_C - at_c, 0.0);
    }
    let (mut spread, mut together) = (1.0 / (prior * prior), 0.0);
    for (point, n) in points.iter().zip(1..) {
        let Part { weight, nominal, off } = part(point, n, thermometer)?;
        spread += weight * (nominal - at_c) * (nominal - at_c);
        together += weight * (nominal - at_c) * (off - offset_k);
    }
    let gain = together / spread;
    let mut chi_squared = gain * gain / (prior * prior);
    for (point, n) in points.iter().zip(1..) {
        let Part { weight, nominal, off } = part(point, n, thermometer)?;
        let residual = off - offset_k - gain * (nominal - at_c);
        chi_squared += weight * residual * residual;
    }
    let half = 0.5 * (highest - lowest);
    let farthest = libm::fmax(at_c - BENT_OVER.0, BENT_OVER.1 - at_c);
    let bent_k = bend * half * half;
    let bent2 = bend * bend * libm::fmax(farthest * farthest - 2.0 * half * half, 0.0);
    // One point shows no gain: what the prior says of it has the bend in it.
    let bent2 = if half > 0.0 { bent2 } else { 0.0 };
    let calibration = TemperatureCalibration {
        thermometer,
        offset_k,
        gain,
        at_c,
        variance_k2: offset_variance(points) + bent_k * bent_k,
        gain_variance: 1.0 / spread + bent2,
        offset_gain_k: 0.0,
    };
    let degrees_of_freedom = points.len() - 1;
    Ok(TemperatureFit { calibration, chi_squared, degrees_of_freedom, bent_k })
}

/// Variance in K² of the weighted mean of the corrections: the errors of one reference add up, those
/// of several and those of being equally warm add in squares.
fn offset_variance(points: &[TemperaturePoint]) -> f64 {
    let weight = |point: &TemperaturePoint| 1.0 / (point.uncertainty_k() * point.uncertainty_k());
    let total: f64 = points.iter().map(weight).sum();
    let shared = |number: usize| {
        let same = points.iter().filter(move |point| point.reference_number == number);
        same.map(|point| weight(point) * point.reference_uncertainty_k).sum::<f64>()
    };
    let mut variance = 0.0;
    for (index, point) in points.iter().enumerate() {
        let own = weight(point) * EQUALLY_WARM_K.value;
        variance += own * own;
        let number = point.reference_number;
        if points[..index].iter().all(|earlier| earlier.reference_number != number) {
            variance += shared(number) * shared(number);
        }
    }
    variance / (total * total)
}

/// What a point contributes.
struct Part {
    weight: f64,
    /// Temperature by the kind alone.
    nominal: f64,
    /// What is missing to the reference.
    off: f64,
}

fn part(point: &TemperaturePoint, n: usize, thermometer: Thermometer) -> Result<Part, FitError> {
    let reference = check(n, quantity::TEMPERATURE, point.reference.get(), TEMPERATURE_RANGE)?;
    let what = "standard uncertainty of the reference in K";
    check(n, what, point.reference_uncertainty_k, REFERENCE_UNCERTAINTY_RANGE_K)?;
    let nominal = thermometer.temperature(point.resistance).map_or(f64::NAN, Celsius::get);
    let nominal = check(n, quantity::RESISTANCE, nominal, (f64::MIN, f64::MAX))?;
    let uncertainty = point.uncertainty_k();
    Ok(Part { weight: 1.0 / (uncertainty * uncertainty), nominal, off: reference - nominal })
}

#[cfg(test)]
mod tests;
