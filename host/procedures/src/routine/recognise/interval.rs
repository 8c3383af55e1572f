//! Signals that a healthy sensor may give in a standard.

use super::{Known, Seen};
use crate::routine::limits;
use crate::routine::standard::Value;
use rillmark_metrology::fit::conductivity::DEFAULT_STANDARD_UNCERTAINTY;
use rillmark_metrology::fit::ph::DEFAULT_BUFFER_UNCERTAINTY;
use rillmark_metrology::uncertainty::conductivity::DEFAULT_CONDUCTANCE_UNCERTAINTY;
use rillmark_metrology::uncertainty::ph::DEFAULT_POTENTIAL_UNCERTAINTY;
use rillmark_metrology::uncertainty::reading::Circumstances;
use rillmark_metrology::uncertainty::temperature::uncalibrated_k;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration, Range};
use rillmark_proto::calibration::ph::{OFFSET_PH, PhCalibration};
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;
use rillmark_proto::reference::nernst;
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

/// From lowest to highest: in mV, or in the natural logarithm of a conductivity in µS/cm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Interval {
    low: f64,
    high: f64,
}

fn root_of_squares(parts: &[f64]) -> f64 {
    libm::sqrt(parts.iter().map(|part| part * part).sum())
}

impl Interval {
    const fn around(middle: f64, half: f64) -> Self {
        Self { low: middle - half, high: middle + half }
    }

    /// How far from the middle in half widths; `None` for what is not a number.
    pub(super) fn distance(&self, x: f64) -> Option<f64> {
        let half = (self.high - self.low) / 2.0;
        let distance = libm::fabs(x - (self.low + half)) / half;
        distance.is_finite().then_some(distance)
    }

    /// What a healthy sensor gives in a standard of this value.
    pub(super) fn of(
        known: &Known,
        standard: &Value,
        temperature: Celsius,
        unsettled: f64,
    ) -> Option<Self> {
        match known {
            Known::Electrode { calibration, drifted } => {
                electrode(calibration, drifted.as_ref(), standard, temperature, unsettled)
            }
            Known::AnyElectrode => Some(any_electrode(standard, temperature, unsettled)),
            Known::Cell { calibration, drifted } => {
                let constant =
                    calibration.standard_uncertainty() / calibration.cell_constant_per_cm;
                let ageing = limits::CELL_AGEING.value.with(drifted.map(|by| by.cell_drift));
                let u = root_of_squares(&[
                    constant,
                    ageing,
                    conductivity_u(standard, temperature, unsettled),
                ]);
                Some(Self::around(libm::log(standard.value), limits::NEAR.value * u))
            }
            Known::NominalCell { .. } => {
                let half = libm::log(1.0 + limits::NOMINAL_CELL_PERCENT.value / 100.0)
                    + limits::NEAR.value * conductivity_u(standard, temperature, unsettled);
                Some(Self::around(libm::log(standard.value), half))
            }
        }
    }
}

/// Uncertainty in mV that buffer, potential and thermometer leave to a slope of so many mV per pH.
fn potential_u(standard: &Value, per_ph: f64, temperature: Celsius, unsettled: f64) -> f64 {
    let buffer = standard.standard_uncertainty.unwrap_or(DEFAULT_BUFFER_UNCERTAINTY.value);
    // The Nernst factor is proportional to the absolute temperature.
    let warmth = uncalibrated_k(temperature) * per_ph / temperature.kelvin();
    let from_7 = standard.value - OFFSET_PH;
    let potential = DEFAULT_POTENTIAL_UNCERTAINTY.value;
    root_of_squares(&[per_ph * buffer, warmth * from_7, potential, unsettled])
}

fn electrode(
    calibration: &PhCalibration,
    drifted: Option<&Circumstances>,
    standard: &Value,
    temperature: Celsius,
    unsettled: f64,
) -> Option<Interval> {
    let middle = calibration.potential(Ph::new(standard.value), temperature)?.get();
    let k = nernst::millivolts_per_ph(temperature);
    // The derivative of E = E₇ − s · x by s.
    let by_slope = (middle - calibration.offset_mv) / calibration.slope_fraction;
    let calibrated_k = nernst::millivolts_per_ph(Celsius::new(calibration.at_c));
    let by_isopotential = calibration.slope_fraction * (k - calibrated_k);
    let covariance = calibration.covariance;
    let fitted = covariance.offset_mv2
        + by_slope * (by_slope * covariance.slope + 2.0 * covariance.slope_offset_mv);
    let u = root_of_squares(&[
        // Rounding may leave a variance of nothing just below zero.
        libm::sqrt(libm::fmax(fitted, 0.0)),
        limits::OFFSET_AGEING_MV.value.with(drifted.map(|by| by.offset_drift_mv)),
        limits::SLOPE_AGEING.value.with(drifted.map(|by| by.slope_drift)) * by_slope,
        by_isopotential * calibration.isopotential.standard_uncertainty,
        potential_u(standard, calibration.slope_fraction * k, temperature, unsettled),
    ]);
    Some(Interval::around(middle, limits::NEAR.value * u))
}

fn any_electrode(standard: &Value, temperature: Celsius, unsettled: f64) -> Interval {
    let k = nernst::millivolts_per_ph(temperature);
    let by_slope = -k * (standard.value - OFFSET_PH);
    let (least, most) = limits::ANY_SLOPE.value;
    let (flat, steep) = (least * by_slope, most * by_slope);
    let beyond = limits::ANY_OFFSET_MV.value
        + limits::NEAR.value * potential_u(standard, k, temperature, unsettled);
    Interval { low: libm::fmin(flat, steep) - beyond, high: libm::fmax(flat, steep) + beyond }
}

/// Relative uncertainty that standard, conductance and thermometer leave.
fn conductivity_u(standard: &Value, temperature: Celsius, unsettled: f64) -> f64 {
    let bottle = match standard.standard_uncertainty {
        Some(u) => u / standard.value,
        None => DEFAULT_STANDARD_UNCERTAINTY.value,
    };
    let warmth = uncalibrated_k(temperature) * DEFAULT_PER_KELVIN;
    root_of_squares(&[bottle, warmth, DEFAULT_CONDUCTANCE_UNCERTAINTY.value, unsettled])
}

impl Known {
    fn cell(&self) -> Option<ConductivityCalibration> {
        match self {
            Self::Cell { calibration, .. } => Some(*calibration),
            Self::NominalCell { cell_constant_per_cm } => {
                // Not used: standards are compared at their own temperature.
                let compensation = Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN };
                Some(ConductivityCalibration::exact(*cell_constant_per_cm, compensation))
            }
            Self::Electrode { .. } | Self::AnyElectrode => None,
        }
    }

    fn conductivity(&self, conductance: Microsiemens, range: Range) -> Option<f64> {
        self.cell()?.conductivity(conductance, range).map(MicrosiemensPerCm::get)
    }

    /// A signal where the intervals have it; `None` when it is not this sensor's, or a conductance
    /// that has no logarithm: the cell is in air.
    pub(super) fn axis(&self, seen: Seen) -> Option<f64> {
        match (self, seen) {
            (Self::Electrode { .. } | Self::AnyElectrode, Seen::Potential(mv)) => Some(mv.get()),
            (_, Seen::Conductance(us, range)) => {
                let logarithm = libm::log(self.conductivity(us, range)?);
                logarithm.is_finite().then_some(logarithm)
            }
            (_, Seen::Potential(_)) => None,
        }
    }

    /// What the coefficients, or a nominal sensor, make of a signal.
    pub(in crate::routine) fn found(&self, seen: Seen, temperature: Celsius) -> Option<f64> {
        let ph =
            |electrode: &PhCalibration, mv: Millivolts| electrode.ph(mv, temperature).map(Ph::get);
        match (self, seen) {
            (Self::Electrode { calibration, .. }, Seen::Potential(mv)) => ph(calibration, mv),
            (Self::AnyElectrode, Seen::Potential(mv)) => ph(&super::NOMINAL_ELECTRODE, mv),
            (_, Seen::Conductance(us, range)) => self.conductivity(us, range),
            (_, Seen::Potential(_)) => None,
        }
    }
}
