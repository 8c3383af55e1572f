//! The pH electrode as a straight line in temperature-normalised form.
//!
//! E = E₇ − s · [k(T) · (pH − 7) − (k(T) − k(T₀)) · (pHᵢ − 7)], with k(T) the Nernst factor at the
//! reading's own temperature, s the slope as a fraction of Nernst, E₇ the offset: the potential in
//! mV at pH 7 and at the calibration's temperature T₀. pHᵢ is the isopotential pH, where the
//! potential does not move with temperature; with pHᵢ = 7 that is E = E₇ − s · k(T) · (pH − 7).

use serde::{Deserialize, Serialize};

use super::{TEMPERATURE_RANGE, within};
use crate::reference::nernst;
use crate::units::{Celsius, Millivolts, Ph};

/// pH at which the offset is the whole potential.
pub const OFFSET_PH: f64 = 7.0;

/// Where the potential of an electrode does not move with temperature.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Isopotential {
    /// Its pH.
    pub ph: f64,
    /// Standard uncertainty of that pH.
    pub standard_uncertainty: f64,
}

/// Isopotential pH of an electrode that has not been measured at two temperatures: nominal 7, real
/// ones within 0.5. Common practice, no source; wider by a third than limits of 0.5 would be, so that U
/// covers electrodes of a spread of 0.9 15 K from their calibration too (`tests/trials/REALITY.md`).
pub const DEFAULT_ISOPOTENTIAL: Isopotential = Isopotential { ph: 7.0, standard_uncertainty: 0.4 };

/// pH that an electrode's line is trusted to give: 0 to 14 with room for noise, offset and the
/// strongest acids and bases. Common practice, no source.
pub const PH_RANGE: (f64, f64) = (-2.0, 16.0);

/// Variances and covariance of the two coefficients of a pH line.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhCovariance {
    /// Variance of the slope fraction.
    pub slope: f64,
    /// Variance of the offset in mV².
    pub offset_mv2: f64,
    /// Covariance of slope fraction and offset in mV.
    pub slope_offset_mv: f64,
}

impl PhCovariance {
    /// Correlation coefficient of slope and offset, −1 to 1; `None` without both variances.
    pub fn correlation(&self) -> Option<f64> {
        let correlation =
            self.slope_offset_mv / (libm::sqrt(self.slope) * libm::sqrt(self.offset_mv2));
        correlation.is_finite().then_some(correlation)
    }
}

/// How much both coefficients would change if something that all points share were larger by one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PhResponse {
    /// Of the slope fraction.
    pub slope: f64,
    /// Of the offset in mV.
    pub offset_mv: f64,
}

/// How the coefficients answer to errors that all points share. Such an error is also in a later
/// reading with the same thermometer and converter, so it enters once and may cancel.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct PhShared {
    /// For each kelvin that the thermometer reads too high.
    pub per_kelvin: PhResponse,
    /// For potentials read too large by their own size (1 = 100 %).
    pub per_gain: PhResponse,
    /// For each pH that the isopotential pH is taken too high.
    pub per_isopotential: PhResponse,
    /// Standard uncertainty in K of the thermometer at 25 °C when the electrode was calibrated.
    pub thermometer_k: f64,
}

/// The coefficients of a pH calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhCalibration {
    /// Slope as a fraction of the Nernst factor (1 = 100 %).
    pub slope_fraction: f64,
    /// Electrode potential in mV at pH 7 and [`Self::at_c`].
    pub offset_mv: f64,
    /// Temperature of the calibration in °C: the mean of its points.
    pub at_c: f64,
    /// The isopotential pH that was assumed or measured.
    pub isopotential: Isopotential,
    /// How well slope and offset are known from errors that are each point's own.
    pub covariance: PhCovariance,
    /// How slope and offset answer to errors that the points share.
    pub shared: PhShared,
}

impl PhCalibration {
    /// Coefficients taken as exact, at 25 °C, with an isopotential pH of 7.
    pub const fn exact(slope_fraction: f64, offset_mv: f64) -> Self {
        const NONE: PhResponse = PhResponse { slope: 0.0, offset_mv: 0.0 };
        Self {
            slope_fraction,
            offset_mv,
            at_c: 25.0,
            isopotential: Isopotential { ph: OFFSET_PH, standard_uncertainty: 0.0 },
            covariance: PhCovariance { slope: 0.0, offset_mv2: 0.0, slope_offset_mv: 0.0 },
            shared: PhShared {
                per_kelvin: NONE,
                per_gain: NONE,
                per_isopotential: NONE,
                thermometer_k: 0.0,
            },
        }
    }

    /// pH of a potential at a temperature.
    ///
    /// `None` when the temperature is outside [`TEMPERATURE_RANGE`], the result outside
    /// [`PH_RANGE`], or the slope zero.
    pub fn ph(&self, potential: Millivolts, temperature: Celsius) -> Option<Ph> {
        let ph = self.ph_anywhere(potential, temperature)?;
        within(ph, PH_RANGE).then_some(Ph::new(ph))
    }

    /// Potential at a pH and a temperature, the inverse of [`Self::ph`].
    ///
    /// `None` when the temperature is outside [`TEMPERATURE_RANGE`], the pH outside [`PH_RANGE`],
    /// or the coefficients are not finite.
    pub fn potential(&self, ph: Ph, temperature: Celsius) -> Option<Millivolts> {
        if !within(temperature.get(), TEMPERATURE_RANGE) || !within(ph.get(), PH_RANGE) {
            return None;
        }
        let x = self.abscissa(ph.get(), temperature);
        let potential = self.offset_mv - self.slope_fraction * x;
        potential.is_finite().then_some(Millivolts::new(potential))
    }

    /// As [`Self::ph`] without a range of pH; finite.
    pub fn ph_anywhere(&self, potential: Millivolts, temperature: Celsius) -> Option<f64> {
        if !within(temperature.get(), TEMPERATURE_RANGE) {
            return None;
        }
        let per_ph = nernst::millivolts_per_ph(temperature);
        let from_offset = (self.offset_mv - potential.get()) / self.slope_fraction;
        let ph = OFFSET_PH + (from_offset + self.lift(temperature)) / per_ph;
        ph.is_finite().then_some(ph)
    }

    /// What the line runs over: k(T)·(pH − 7), less what the isopotential pH lifts it.
    fn abscissa(&self, ph: f64, temperature: Celsius) -> f64 {
        nernst::millivolts_per_ph(temperature) * (ph - OFFSET_PH) - self.lift(temperature)
    }

    /// (k(T) − k(T₀)) · (pHᵢ − 7) in mV.
    fn lift(&self, temperature: Celsius) -> f64 {
        let calibrated = nernst::millivolts_per_ph(Celsius::new(self.at_c));
        (nernst::millivolts_per_ph(temperature) - calibrated) * (self.isopotential.ph - OFFSET_PH)
    }
}
