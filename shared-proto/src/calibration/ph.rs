//! The pH electrode as a straight line in temperature-normalised form.
//!
//! E = E₀ − s · k(T) · (pH − 7), with k(T) the Nernst factor at the point's own temperature, s the
//! slope as a fraction of Nernst and E₀ the offset in mV at pH 7.

mod fit;

pub use fit::{DEFAULT_BUFFER_UNCERTAINTY, DEFAULT_POTENTIAL_UNCERTAINTY, PhFit, PhPoint, fit};

use serde::{Deserialize, Serialize};

use super::{TEMPERATURE_RANGE, within};
use crate::reference::nernst;
use crate::units::{Celsius, Millivolts, Ph};

/// pH at which the offset is the whole potential.
pub const ISOPOTENTIAL_PH: f64 = 7.0;

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

/// The coefficients of a pH calibration.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct PhCalibration {
    /// Slope as a fraction of the Nernst factor (1 = 100 %).
    pub slope_fraction: f64,
    /// Electrode potential in mV at pH 7.
    pub offset_mv: f64,
    /// How well both are known.
    pub covariance: PhCovariance,
}

impl PhCalibration {
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
        let per_ph = self.slope_fraction * nernst::millivolts_per_ph(temperature);
        let potential = self.offset_mv - per_ph * (ph.get() - ISOPOTENTIAL_PH);
        potential.is_finite().then_some(Millivolts::new(potential))
    }

    /// What this line makes of a point, minus the point's own pH.
    ///
    /// `None` when the temperature is outside [`TEMPERATURE_RANGE`] or the slope is zero.
    pub fn residual(&self, point: &PhPoint) -> Option<f64> {
        let residual = self.ph_anywhere(point.potential, point.temperature)? - point.buffer.get();
        residual.is_finite().then_some(residual)
    }

    /// Standard uncertainty (k = 1) in pH that the coefficients' covariance gives to
    /// [`Self::ph`], correlation included. The potential's and the temperature's own uncertainty
    /// are not part of it.
    pub fn ph_uncertainty(&self, potential: Millivolts, temperature: Celsius) -> Option<f64> {
        let from_7 = self.ph(potential, temperature)?.get() - ISOPOTENTIAL_PH;
        // d pH/d E₀ = 1/(s k), d pH/d s = −(pH − 7)/s.
        let by_offset = 1.0 / (self.slope_fraction * nernst::millivolts_per_ph(temperature));
        let by_slope = -from_7 / self.slope_fraction;
        let PhCovariance { slope, offset_mv2, slope_offset_mv } = self.covariance;
        let variance = by_offset * by_offset * offset_mv2
            + by_slope * by_slope * slope
            + 2.0 * by_offset * by_slope * slope_offset_mv;
        // Rounding may leave a variance of nothing just below zero.
        let uncertainty = libm::sqrt(libm::fmax(variance, 0.0));
        uncertainty.is_finite().then_some(uncertainty)
    }

    /// As [`Self::ph`] without a range of pH; finite.
    fn ph_anywhere(&self, potential: Millivolts, temperature: Celsius) -> Option<f64> {
        if !within(temperature.get(), TEMPERATURE_RANGE) {
            return None;
        }
        let per_ph = self.slope_fraction * nernst::millivolts_per_ph(temperature);
        let ph = ISOPOTENTIAL_PH + (self.offset_mv - potential.get()) / per_ph;
        ph.is_finite().then_some(ph)
    }
}

#[cfg(test)]
mod tests;
