//! Judges what a fit found, apart from any guided calibration.

use super::judgement::Judgement;
use super::limits;
use super::said::Said;
use crate::calibration::conductivity::{ConductivityFit, ConductivityPoint};
use crate::calibration::least_squares::chi_squared;
use crate::calibration::ph::{PhFit, PhPoint};
use crate::calibration::temperature::{TemperatureFit, TemperaturePoint};

/// Lowest and highest of some numbers; `None` of none.
pub(super) fn extremes(values: impl Iterator<Item = f64>) -> Option<(f64, f64)> {
    values.fold(None, |so_far, value| match so_far {
        None => Some((value, value)),
        Some((low, high)) => Some((libm::fmin(low, value), libm::fmax(high, value))),
    })
}

fn temperatures(celsius: impl Iterator<Item = f64>, said: &mut Said) {
    let span_k = extremes(celsius).map_or(0.0, |(low, high)| high - low);
    let limit_k = limits::TEMPERATURE_SPAN_K.value;
    if span_k > limit_k {
        said.say(Judgement::TemperaturesDiffer { span_k, limit_k });
    }
}

/// Number of a point for a judgement, counted from 1; points beyond 255 share the last number.
fn number(index: usize) -> u8 {
    u8::try_from(index + 1).unwrap_or(u8::MAX)
}

/// What is to be said about a pH line and its points, which are counted from 1.
pub fn judge_ph_fit(fit: &PhFit, points: &[PhPoint]) -> Said {
    let mut said = Said::new();
    let slope_percent = 100.0 * fit.calibration.slope_fraction;
    let (least, most) = limits::SLOPE_POSSIBLE_PERCENT.value;
    let (min_percent, max_percent) = limits::SLOPE_BAND_PERCENT.value;
    if slope_percent < 0.0 {
        said.say(Judgement::SlopeReversed { slope_percent });
    } else if !(least..=most).contains(&slope_percent) {
        let (min_percent, max_percent) = (least, most);
        said.say(Judgement::SlopeImpossible { slope_percent, min_percent, max_percent });
    } else if !(min_percent..=max_percent).contains(&slope_percent) {
        said.say(Judgement::SlopeOutOfBand { slope_percent, min_percent, max_percent });
    }
    let (offset_mv, limit_mv) = (fit.calibration.offset_mv, limits::OFFSET_MV.value);
    if libm::fabs(offset_mv) > limit_mv {
        said.say(Judgement::OffsetOutOfBand { offset_mv, limit_mv });
    }
    let span_ph = extremes(points.iter().map(|point| point.buffer.get()))
        .map_or(0.0, |(low, high)| high - low);
    let least_ph = limits::BUFFER_SPAN_PH.value;
    if let [_] = points {
        said.say(Judgement::SinglePoint {
            slope_percent,
            u_percent: 100.0 * fit.calibration.slope_uncertainty(),
        });
    } else if span_ph < least_ph {
        said.say(Judgement::BuffersTooClose { span_ph, least_ph });
    }
    let limit_ph = limits::RESIDUAL_PH.value;
    for (index, point) in points.iter().enumerate() {
        let residual = fit.calibration.residual(point);
        if let Some(residual_ph) = residual.filter(|residual| libm::fabs(*residual) > limit_ph) {
            said.say(Judgement::ResidualLarge { point: number(index), residual_ph, limit_ph });
        }
    }
    // A point that lies far off is named already.
    let named = said.all().iter().any(|said| matches!(said, Judgement::ResidualLarge { .. }));
    match chi_squared::upper_99(fit.degrees_of_freedom) {
        None if points.len() > 1 => said.say(Judgement::TwoPointsOnly {}),
        Some(limit) if fit.chi_squared > limit && !named => {
            let chi_squared = fit.chi_squared;
            said.say(Judgement::PhPointsContradict { chi_squared, limit });
        }
        _ => {}
    }
    temperatures(points.iter().map(|point| point.temperature.get()), &mut said);
    said
}

/// What is to be said about a cell constant and its points, which are counted from 1.
pub fn judge_conductivity_fit(fit: &ConductivityFit, points: &[ConductivityPoint]) -> Said {
    let mut said = Said::new();
    let cell_constant_per_cm = fit.calibration.cell_constant_per_cm;
    let (least, most) = limits::CELL_CONSTANT_POSSIBLE_PER_CM.value;
    let (min_per_cm, max_per_cm) = limits::CELL_CONSTANT_USUAL_PER_CM.value;
    if !(least..=most).contains(&cell_constant_per_cm) {
        let (min_per_cm, max_per_cm) = (least, most);
        said.say(Judgement::CellConstantImpossible {
            cell_constant_per_cm,
            min_per_cm,
            max_per_cm,
        });
    } else if !(min_per_cm..=max_per_cm).contains(&cell_constant_per_cm) {
        said.say(Judgement::CellConstantUnusual { cell_constant_per_cm, min_per_cm, max_per_cm });
    }
    let limit_percent = limits::RESIDUAL_PERCENT.value;
    for (index, point) in points.iter().enumerate() {
        let residual = fit.calibration.residual_percent(point);
        if let Some(residual_percent) =
            residual.filter(|residual| libm::fabs(*residual) > limit_percent)
        {
            let point = number(index);
            said.say(Judgement::ConductivityResidualLarge {
                point,
                residual_percent,
                limit_percent,
            });
        }
    }
    let far = |said: &Judgement| matches!(said, Judgement::ConductivityResidualLarge { .. });
    let named = said.all().iter().any(far);
    match chi_squared::upper_99(fit.degrees_of_freedom) {
        Some(limit) if fit.chi_squared > limit && !named => {
            let chi_squared = fit.chi_squared;
            said.say(Judgement::ConductivityPointsContradict { chi_squared, limit });
        }
        _ => {}
    }
    if fit.per_range {
        let factors = fit.calibration.range_factor.into_iter().flatten();
        let away = factors.map(|factor| 100.0 * libm::fabs(factor - 1.0));
        let largest_percent = extremes(away).map_or(0.0, |(_, largest)| largest);
        said.say(Judgement::RangesDisagree { largest_percent });
    }
    temperatures(points.iter().map(|point| point.temperature.get()), &mut said);
    said
}

/// What is to be said about a thermometer's correction and its points, which are counted from 1.
pub fn judge_temperature_fit(fit: &TemperatureFit, points: &[TemperaturePoint]) -> Said {
    let mut said = Said::new();
    let (offset_k, limit_k) = (fit.calibration.offset_k, limits::THERMOMETER_OFFSET_K.value);
    if libm::fabs(offset_k) > limit_k {
        said.say(Judgement::ThermometerOffsetLarge { offset_k, limit_k });
    }
    let span_k = extremes(points.iter().map(|point| point.reference.get()))
        .map_or(0.0, |(low, high)| high - low);
    let least_k = limits::THERMOMETER_SPAN_K.value;
    if points.len() > 1 && span_k < least_k {
        said.say(Judgement::ThermometerPointsClose { span_k, least_k });
    }
    for (index, point) in points.iter().enumerate() {
        let limit_k = limits::THERMOMETER_RESIDUAL.value * fit.uncertainty_k(point);
        let residual = fit.calibration.residual_k(point);
        if let Some(residual_k) = residual.filter(|residual| libm::fabs(*residual) > limit_k) {
            let point = number(index);
            said.say(Judgement::ThermometerResidualLarge { point, residual_k, limit_k });
        }
    }
    said
}

#[cfg(test)]
#[path = "judge_tests.rs"]
mod tests;
