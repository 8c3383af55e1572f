//! The thermometer: from its resistance to a temperature, corrected by its calibration.
//!
//! t = t' + offset + gain · (t' − t₀), with t' what the thermometer's kind makes of the resistance
//! and t₀ the temperature of the calibration.

use serde::{Deserialize, Serialize};

use super::within;
use crate::reference::{rtd, thermistor};
use crate::units::{Celsius, Ohms};

/// What kind of thermometer it is, with what its maker says of it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Thermometer {
    /// Platinum after IEC 60751.
    Platinum {
        /// Resistance at 0 °C in Ω.
        r0_ohm: f64,
    },
    /// A thermistor (NTC) by its beta equation.
    Thermistor {
        /// Resistance at 25 °C in Ω.
        r25_ohm: f64,
        /// Beta in K.
        beta_k: f64,
    },
    /// A thermistor (NTC) by the equation of Steinhart and Hart: 1/T = a + b · ln R + c · (ln R)³.
    SteinhartHart {
        /// In 1/K.
        a: f64,
        /// In 1/K.
        b: f64,
        /// In 1/K.
        c: f64,
    },
}

/// Resistances at 0 °C in Ω of the platinum thermometers that the front end can compare with its
/// reference resistor.
pub const R0_RANGE: (f64, f64) = (100.0, 10_000.0);

/// The thermometer of the front end as it is built: a Pt1000.
pub const PT1000: Thermometer = Thermometer::Platinum { r0_ohm: 1000.0 };

/// What a resistance says about the leads of a thermometer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeadFault {
    /// So much that a lead must be broken.
    Open,
    /// So little that the leads must touch.
    Short,
}

/// Platinum reaches 3.9 · R₀ at 850 °C and 0.185 · R₀ at −200 °C, the ends of its standard (IEC 60751,
/// recalled, not checked): beyond these multiples it is no platinum that is measured.
const PLATINUM_POSSIBLE: (f64, f64) = (0.18, 5.0);
/// A thermistor triples its resistance within 20 to 40 K: beyond three times what it has at the ends of
/// its range it does not hang in water. Common practice, no source.
const THERMISTOR_BEYOND: f64 = 3.0;

impl Thermometer {
    /// Whether a resistance can only come from broken or touching leads; `None` for one that this
    /// thermometer could have somewhere.
    pub fn lead_fault(self, resistance: Ohms) -> Option<LeadFault> {
        let at = |t: f64| self.resistance(Celsius::new(t)).map_or(f64::NAN, Ohms::get);
        let (least, most) = match self {
            Self::Platinum { r0_ohm } => {
                (r0_ohm * PLATINUM_POSSIBLE.0, r0_ohm * PLATINUM_POSSIBLE.1)
            }
            Self::Thermistor { .. } | Self::SteinhartHart { .. } => {
                let (coldest, warmest) = thermistor::RANGE;
                (at(warmest) / THERMISTOR_BEYOND, at(coldest) * THERMISTOR_BEYOND)
            }
        };
        match resistance.get() {
            ohms if ohms > most => Some(LeadFault::Open),
            ohms if ohms < least => Some(LeadFault::Short),
            _ => None,
        }
    }

    /// The temperature that the kind alone makes of a resistance; `None` outside the range of the
    /// relation.
    pub fn temperature(self, resistance: Ohms) -> Option<Celsius> {
        match self {
            Self::Platinum { r0_ohm } => rtd::temperature(resistance, Ohms::new(r0_ohm)).ok(),
            Self::Thermistor { r25_ohm, beta_k } => {
                thermistor::temperature(resistance, Ohms::new(r25_ohm), beta_k).ok()
            }
            Self::SteinhartHart { a, b, c } => {
                thermistor::steinhart_hart_temperature(resistance, [a, b, c]).ok()
            }
        }
    }

    /// The resistance at a temperature, the inverse of [`Self::temperature`].
    pub fn resistance(self, temperature: Celsius) -> Option<Ohms> {
        match self {
            Self::Platinum { r0_ohm } => rtd::resistance(temperature, Ohms::new(r0_ohm)).ok(),
            Self::Thermistor { r25_ohm, beta_k } => {
                thermistor::resistance(temperature, Ohms::new(r25_ohm), beta_k).ok()
            }
            Self::SteinhartHart { a, b, c } => {
                thermistor::steinhart_hart_resistance(temperature, [a, b, c]).ok()
            }
        }
    }
}

/// The coefficients of a thermometer's calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct TemperatureCalibration {
    /// The kind.
    pub thermometer: Thermometer,
    /// What is added to its temperature at [`Self::at_c`], in K.
    pub offset_k: f64,
    /// What is added besides for each kelvin away from [`Self::at_c`].
    pub gain: f64,
    /// Temperature of the calibration in °C: the mean of its points.
    pub at_c: f64,
    /// Variance of the offset in K².
    pub variance_k2: f64,
    /// Variance of the gain.
    pub gain_variance: f64,
    /// Covariance of offset and gain in K.
    pub offset_gain_k: f64,
}

impl TemperatureCalibration {
    /// A thermometer that is taken at its maker's word, exactly.
    pub const fn exact(thermometer: Thermometer) -> Self {
        Self {
            thermometer,
            offset_k: 0.0,
            gain: 0.0,
            at_c: 25.0,
            variance_k2: 0.0,
            gain_variance: 0.0,
            offset_gain_k: 0.0,
        }
    }

    /// Temperature of a resistance; `None` outside the range of the thermometer's relation, before
    /// or after the correction.
    pub fn temperature(&self, resistance: Ohms) -> Option<Celsius> {
        let nominal = self.thermometer.temperature(resistance)?.get();
        let corrected = nominal + self.offset_k + self.gain * (nominal - self.at_c);
        within(corrected, rtd::RANGE).then_some(Celsius::new(corrected))
    }

    /// Standard uncertainty in K that the coefficients give to a temperature.
    pub fn standard_uncertainty(&self, temperature: Celsius) -> f64 {
        let away = temperature.get() - self.at_c;
        let variance =
            self.variance_k2 + away * (2.0 * self.offset_gain_k + away * self.gain_variance);
        // Rounding may leave a variance of nothing just below zero.
        libm::sqrt(libm::fmax(variance, 0.0))
    }
}
