//! How uncertain one pH is, and what makes it so.

use crate::front_end::BoardLimits;
use crate::front_end::potential::{self, Source};
use crate::front_end::surroundings::MEMBRANE_OHM;
use crate::reference::ionic_strength::residual_junction;
use crate::uncertainty::Since;
use rillmark_proto::calibration::ph::{OFFSET_PH, PhCalibration, PhCovariance, PhResponse};
use rillmark_proto::reference::{Sourced, Tag, nernst};
use rillmark_proto::units::{Celsius, MicrosiemensPerCm, Millivolts, Ph};

/// Standard uncertainty in K of the glass being as warm as the thermometer says, in a reading of its
/// own.
pub const DEFAULT_GRADIENT_K: Sourced = Sourced {
    value: 0.1,
    standard_uncertainty: None,
    source: "thermometer and glass beside each other in stirred water: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Standard uncertainty of a potential in mV as the electrode repeats it: noise that settling leaves,
/// and stirring. What the front end adds is
/// [`front_end::potential`](crate::front_end::potential)'s; points of one calibration share it.
pub const DEFAULT_POTENTIAL_UNCERTAINTY: Sourced = Sourced {
    value: 0.3,
    standard_uncertainty: None,
    source: "0.005 pH of repeatability in a buffer: common practice, no source",
    tag: Tag::CommonPractice,
};

/// What a reading was taken under, as standard uncertainties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Conditions {
    /// Of the potential as the electrode repeats it, in mV.
    pub potential_mv: f64,
    /// Of what the front end adds to it since the calibration, in mV.
    pub front_end_mv: f64,
    /// Of the thermometer's error, in K.
    pub thermometer_k: f64,
    /// Whether the electrode was calibrated with that same error.
    pub since: Since,
    /// Of the glass being as warm as the thermometer, in K.
    pub gradient_k: f64,
    /// Of the converter's gain, relative; it too was there at the calibration.
    pub gain: f64,
    /// Of the residual liquid-junction potential, in pH.
    pub junction_ph: f64,
    /// Of what the offset has drifted since the calibration, in mV.
    pub offset_drift_mv: f64,
    /// Of what the slope fraction has.
    pub slope_drift: f64,
    /// Of what the thermometer has since its own, in K.
    pub thermometer_drift_k: f64,
    /// Of what the lag of the glass still hides, in mV.
    pub response_mv: f64,
    /// Of what the lag of the thermometer does, in K.
    pub thermometer_response_k: f64,
}

impl Conditions {
    /// The defaults for this potential of a usual membrane, with a thermometer of this standard
    /// uncertainty in K in a water of this conductivity at 25 °C, where that is known; just calibrated, and
    /// at rest.
    pub fn new(
        potential: Millivolts,
        thermometer_k: f64,
        specific_conductance: Option<MicrosiemensPerCm>,
    ) -> Self {
        Self::on(&BoardLimits::ANY, potential, thermometer_k, specific_conductance)
    }

    /// The same on a board of which more is known.
    pub fn on(
        board: &BoardLimits,
        potential: Millivolts,
        thermometer_k: f64,
        specific_conductance: Option<MicrosiemensPerCm>,
    ) -> Self {
        let source = Source::electrode(potential.get(), MEMBRANE_OHM);
        Self {
            potential_mv: DEFAULT_POTENTIAL_UNCERTAINTY.value,
            front_end_mv: potential::budget_on(board, &source).calibrated(),
            thermometer_k,
            since: Since::Same,
            gradient_k: DEFAULT_GRADIENT_K.value,
            gain: potential::gain(),
            junction_ph: residual_junction(specific_conductance).value,
            offset_drift_mv: 0.0,
            slope_drift: 0.0,
            thermometer_drift_k: 0.0,
            response_mv: 0.0,
            thermometer_response_k: 0.0,
        }
    }
}

/// What a contribution comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The points of the calibration: their buffers, and their potentials (and a slope that was
    /// known beforehand).
    Calibration,
    /// The potential of this reading as the electrode repeats it.
    Potential,
    /// What the front end adds to it since the calibration: drift, leakage, bending.
    FrontEnd,
    /// The error of the thermometer: common to calibration and reading, or of the reading alone.
    Thermometer,
    /// The error that the thermometer had at the calibration, if it is another one today.
    EarlierThermometer,
    /// The glass warmer or colder than the thermometer in this reading.
    Gradient,
    /// The converter's gain, common to calibration and reading.
    Gain,
    /// The isopotential pH.
    Isopotential,
    /// What is left of the liquid-junction potential.
    Junction,
    /// Drift of the offset since the calibration.
    OffsetDrift,
    /// Drift of the slope since the calibration.
    SlopeDrift,
    /// Drift of the thermometer since its calibration.
    ThermometerDrift,
    /// What the lag of the glass still hides in a reading that moves.
    Response,
    /// What the lag of the thermometer does.
    ThermometerResponse,
}

/// How many causes there are.
pub const CAUSES: usize = 14;

/// One contribution to the uncertainty of a pH.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Where it comes from.
    pub cause: Cause,
    /// Standard uncertainty of the cause in its own unit (mV, K, 1, pH); `None` for the
    /// calibration's points, which are several.
    pub input: Option<f64>,
    /// Change of pH for a change of one in that unit; correlated parts of the calibration are in it.
    pub sensitivity: Option<f64>,
    /// Its standard uncertainty in pH.
    pub u_ph: f64,
}

/// A pH with everything that makes it uncertain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budget {
    /// The pH.
    pub ph: Ph,
    /// What contributes, in the order of [`Cause`].
    pub contributions: [Contribution; CAUSES],
    /// Combined standard uncertainty in pH (k = 1): the causes are independent of each other.
    pub combined: f64,
}

/// How uncertain a calibrated electrode is.
pub trait PhUncertainty {
    /// Standard uncertainty (k = 1) in pH that the coefficients' covariance gives to
    /// [`PhCalibration::ph`], correlation included. The potential's and the temperature's own uncertainty
    /// are not part of it.
    fn ph_uncertainty(&self, potential: Millivolts, temperature: Celsius) -> Option<f64>;

    /// Standard uncertainty of the slope fraction, with what the points share: the errors of the
    /// thermometer, of the converter's gain ([`potential::gain`]) and of the isopotential
    /// pH.
    fn slope_uncertainty(&self) -> f64;

    /// The same of the offset, in mV.
    fn offset_uncertainty_mv(&self) -> f64;

    /// The uncertainty of the pH at a potential and a temperature, contribution by contribution,
    /// by the law of propagation of uncertainty (JCGM 100:2008, 5.1.2).
    ///
    /// An error that calibration and reading share enters once, through both: a gain error of the
    /// converter that calibrated the electrode cancels. The thermometer's does so as long as it is
    /// known as it was.
    ///
    /// `None` where [`PhCalibration::ph`] is.
    fn budget(
        &self,
        potential: Millivolts,
        temperature: Celsius,
        conditions: &Conditions,
    ) -> Option<Budget>;
}

impl PhUncertainty for PhCalibration {
    fn ph_uncertainty(&self, potential: Millivolts, temperature: Celsius) -> Option<f64> {
        self.ph(potential, temperature)?;
        let Sensitivities { offset: by_offset, slope: by_slope, .. } =
            sensitivities(self, potential, temperature);
        let PhCovariance { slope, offset_mv2, slope_offset_mv } = self.covariance;
        let variance = by_offset * by_offset * offset_mv2
            + by_slope * by_slope * slope
            + 2.0 * by_offset * by_slope * slope_offset_mv;
        // Rounding may leave a variance of nothing just below zero.
        let uncertainty = libm::sqrt(libm::fmax(variance, 0.0));
        uncertainty.is_finite().then_some(uncertainty)
    }

    fn slope_uncertainty(&self) -> f64 {
        with_shared(self, self.covariance.slope, |response| response.slope)
    }

    fn offset_uncertainty_mv(&self) -> f64 {
        with_shared(self, self.covariance.offset_mv2, |response| response.offset_mv)
    }

    fn budget(
        &self,
        potential: Millivolts,
        temperature: Celsius,
        conditions: &Conditions,
    ) -> Option<Budget> {
        let ph = self.ph(potential, temperature)?;
        let by = sensitivities(self, potential, temperature);
        let through =
            |response: &PhResponse| by.slope * response.slope + by.offset * response.offset_mv;
        let at_calibration = by.calibration_temperature + through(&self.shared.per_kelvin);
        let (thermometer, earlier) = match conditions.since {
            Since::Same => (by.temperature + at_calibration, 0.0),
            Since::Other => (by.temperature, at_calibration),
        };
        let gain = by.potential * potential.get() + through(&self.shared.per_gain);
        let isopotential = by.isopotential + through(&self.shared.per_isopotential);
        let one = |cause, input: f64, sensitivity: f64| Contribution {
            cause,
            input: Some(input),
            sensitivity: Some(sensitivity),
            u_ph: libm::fabs(input * sensitivity),
        };
        let contributions = [
            Contribution {
                cause: Cause::Calibration,
                input: None,
                sensitivity: None,
                u_ph: self.ph_uncertainty(potential, temperature)?,
            },
            one(Cause::Potential, conditions.potential_mv, by.potential),
            one(Cause::FrontEnd, conditions.front_end_mv, by.potential),
            one(Cause::Thermometer, conditions.thermometer_k, thermometer),
            one(Cause::EarlierThermometer, self.shared.thermometer_k, earlier),
            one(Cause::Gradient, conditions.gradient_k, by.temperature),
            one(Cause::Gain, conditions.gain, gain),
            one(Cause::Isopotential, self.isopotential.standard_uncertainty, isopotential),
            one(Cause::Junction, conditions.junction_ph, 1.0),
            one(Cause::OffsetDrift, conditions.offset_drift_mv, by.offset),
            one(Cause::SlopeDrift, conditions.slope_drift, by.slope),
            one(Cause::ThermometerDrift, conditions.thermometer_drift_k, by.temperature),
            one(Cause::Response, conditions.response_mv, by.potential),
            one(Cause::ThermometerResponse, conditions.thermometer_response_k, by.temperature),
        ];
        let combined = combined(&contributions);
        combined.is_finite().then_some(Budget { ph, contributions, combined })
    }
}

fn with_shared(
    calibration: &PhCalibration,
    own_variance: f64,
    of: impl Fn(&PhResponse) -> f64,
) -> f64 {
    let shared = &calibration.shared;
    let variance = [
        (&shared.per_kelvin, shared.thermometer_k),
        (&shared.per_gain, potential::gain()),
        (&shared.per_isopotential, calibration.isopotential.standard_uncertainty),
    ]
    .iter()
    .fold(own_variance, |variance, (response, u)| {
        variance + (of(response) * u) * (of(response) * u)
    });
    libm::sqrt(libm::fmax(variance, 0.0))
}

/// Change of pH for a change of one in something.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Sensitivities {
    /// Per mV of the offset.
    offset: f64,
    /// Per mV of the potential.
    potential: f64,
    /// Per slope fraction.
    slope: f64,
    /// Per kelvin of the reading's temperature.
    temperature: f64,
    /// Per kelvin of the calibration's temperature.
    calibration_temperature: f64,
    /// Per pH of the isopotential pH.
    isopotential: f64,
}

/// How [`PhCalibration::ph`] moves with everything that goes into it.
fn sensitivities(
    calibration: &PhCalibration,
    potential: Millivolts,
    temperature: Celsius,
) -> Sensitivities {
    let (s, k) = (calibration.slope_fraction, nernst::millivolts_per_ph(temperature));
    let calibrated = nernst::millivolts_per_ph(Celsius::new(calibration.at_c));
    let from_offset = (calibration.offset_mv - potential.get()) / s;
    let from_7 = calibration.isopotential.ph - OFFSET_PH;
    Sensitivities {
        offset: 1.0 / (s * k),
        potential: -1.0 / (s * k),
        slope: -from_offset / (s * k),
        // Of numerator and denominator of (from_offset + lift)/k.
        temperature: nernst::PER_KELVIN * (from_7 * calibrated - from_offset) / (k * k),
        calibration_temperature: -nernst::PER_KELVIN * from_7 / k,
        isopotential: 1.0 - calibrated / k,
    }
}

fn combined(contributions: &[Contribution]) -> f64 {
    libm::sqrt(contributions.iter().map(|each| each.u_ph * each.u_ph).sum())
}

impl Budget {
    /// The contribution of a cause.
    pub const fn of(&self, cause: Cause) -> &Contribution {
        &self.contributions[cause as usize]
    }

    /// Takes other standard uncertainties of causes that have a single one each.
    pub fn set(&mut self, inputs: &[(Cause, f64)]) {
        for (cause, input) in inputs {
            let contribution = &mut self.contributions[*cause as usize];
            if let Some(sensitivity) = contribution.sensitivity {
                contribution.input = Some(*input);
                contribution.u_ph = libm::fabs(input * sensitivity);
            }
        }
        self.combined = combined(&self.contributions);
    }
}

#[cfg(test)]
#[path = "ph_tests.rs"]
mod tests;
