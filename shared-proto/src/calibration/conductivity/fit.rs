//! From points in conductivity standards to a cell constant.

use super::super::error::check;
use super::super::{FitError, TEMPERATURE_RANGE};
use super::{Compensation, ConductivityCalibration, Range};
use crate::reference::{OutOfRange, Sourced, Tag, compensation, quantity};
use crate::units::{Celsius, Microsiemens, MicrosiemensPerCm};

/// Relative standard uncertainty of a standard that does not state its own: half of 1 %.
pub const DEFAULT_STANDARD_UNCERTAINTY: Sourced = Sourced {
    value: 0.005,
    standard_uncertainty: None,
    source: "bottles are sold as within 1 %: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Relative standard uncertainty of a point's conductance: what the front end and 0.1 K of
/// temperature leave.
pub const DEFAULT_CONDUCTANCE_UNCERTAINTY: Sourced = Sourced {
    value: 0.003,
    standard_uncertainty: None,
    source: "0.1 K is 0.2 %, the front end another 0.2 %: common practice, no source",
    tag: Tag::CommonPractice,
};

/// Conductivities of standards in µS/cm, and conductances in µS, that can be meant.
const VALUE_RANGE: (f64, f64) = (1e-3, 1e6);

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
}

/// A cell constant with what the points say about it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConductivityFit {
    /// The coefficients; the variance is already widened by [`Self::widening`].
    pub calibration: ConductivityCalibration,
    /// Sum of the squared residuals in units of the uncertainties stated beforehand.
    pub chi_squared: f64,
    /// Points beyond one.
    pub degrees_of_freedom: usize,
    /// Factor on the variance, at least 1: chi-squared per degree of freedom where the points
    /// scatter more than their stated uncertainties allow. Less scatter never narrows it.
    pub widening: f64,
}

/// Finds the cell constant: the mean of conductivity/conductance over the points, each weighted by
/// its relative uncertainty.
///
/// The relative uncertainties are relative to the one common cell constant, so every weight is
/// 1/(u_κ² + u_G²) with u_κ the standard's own or [`DEFAULT_STANDARD_UNCERTAINTY`] and u_G
/// [`DEFAULT_CONDUCTANCE_UNCERTAINTY`]. The variance follows from these, and is widened when the
/// points scatter more. The standards' errors are taken as independent.
///
/// # Errors
/// [`FitError`]: no point, numbers that are not finite or outside what can be meant (standard and
/// conductance 0.001 to 1 000 000, temperature −5 to 100 °C, uncertainty up to the standard's
/// value), or a coefficient outside [`compensation::PER_KELVIN_RANGE`].
pub fn fit(
    points: &[ConductivityPoint],
    compensation: Compensation,
) -> Result<ConductivityFit, FitError> {
    if points.is_empty() {
        return Err(FitError::TooFewPoints { got: 0, need: 1 });
    }
    check_compensation(compensation)?;
    for (point, n) in points.iter().zip(1..) {
        let standard = check(n, quantity::CONDUCTIVITY, point.standard.get(), VALUE_RANGE)?;
        check(n, "conductance in µS", point.conductance.get(), VALUE_RANGE)?;
        check(n, quantity::TEMPERATURE, point.temperature.get(), TEMPERATURE_RANGE)?;
        if let Some(uncertainty) = point.standard_uncertainty {
            let what = "standard uncertainty of the standard in µS/cm";
            check(n, what, uncertainty, (0.0, standard))?;
        }
    }

    let (mut total, mut sum) = (0.0, 0.0);
    for point in points {
        let weight = 1.0 / relative_variance(point);
        total += weight;
        sum += weight * cell_constant(point);
    }
    let cell_constant_per_cm = sum / total;
    let chi_squared = points.iter().map(|point| {
        let residual = cell_constant(point) / cell_constant_per_cm - 1.0;
        residual * residual / relative_variance(point)
    });
    let chi_squared = chi_squared.sum::<f64>();
    let degrees_of_freedom = points.len() - 1;
    let widening = match degrees_of_freedom {
        0 => 1.0,
        degrees => libm::fmax(1.0, chi_squared / degrees as f64),
    };
    let variance_per_cm2 = cell_constant_per_cm * cell_constant_per_cm / total * widening;
    let calibration = ConductivityCalibration {
        variance_per_cm2,
        ..ConductivityCalibration::exact(cell_constant_per_cm, compensation)
    };
    Ok(ConductivityFit { calibration, chi_squared, degrees_of_freedom, widening })
}

fn check_compensation(compensation: Compensation) -> Result<(), FitError> {
    let Compensation::Linear { per_kelvin: got } = compensation;
    let (min, max) = compensation::PER_KELVIN_RANGE;
    if super::within(got, (min, max)) {
        Ok(())
    } else {
        Err(FitError::Compensation(OutOfRange { what: quantity::COEFFICIENT, got, min, max }))
    }
}

fn cell_constant(point: &ConductivityPoint) -> f64 {
    point.standard.get() / point.conductance.get()
}

fn relative_variance(point: &ConductivityPoint) -> f64 {
    let standard = match point.standard_uncertainty {
        Some(uncertainty) => uncertainty / point.standard.get(),
        None => DEFAULT_STANDARD_UNCERTAINTY.value,
    };
    let conductance = DEFAULT_CONDUCTANCE_UNCERTAINTY.value;
    standard * standard + conductance * conductance
}
