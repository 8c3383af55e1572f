//! Judges what a fit found, apart from any guided calibration.

use super::judgement::Judgement;
use super::limits;
use super::said::Said;
use rillmark_metrology::fit::conductivity::{ConductivityFit, ConductivityPoint};
use rillmark_metrology::fit::ph::{NOMINAL_SLOPE, PhFit, PhPoint, SlopePrior};
use rillmark_metrology::fit::temperature::{TemperatureFit, TemperaturePoint};
use rillmark_metrology::least_squares::chi_squared;
use rillmark_metrology::uncertainty::ph::PhUncertainty;

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

/// How many points there are, for a judgement.
fn count(points: usize) -> u8 {
    u8::try_from(points).unwrap_or(u8::MAX)
}

/// The point, counted from 1, that lies farthest off, and by how much, when that is beyond a limit. What one
/// point that is off makes of the others is not told of each.
fn farthest(residuals: impl Iterator<Item = Option<f64>>, limit: f64) -> Option<(u8, f64)> {
    let far = residuals.enumerate().filter_map(|(index, residual)| Some((index, residual?)));
    far.filter(|(_, residual)| libm::fabs(*residual) > limit)
        .reduce(|one, other| if libm::fabs(other.1) > libm::fabs(one.1) { other } else { one })
        .map(|(index, residual)| (number(index), residual))
}

/// What is to be said of a slope that no points told.
pub(super) fn single_point(slope: &SlopePrior) -> Judgement {
    let off = slope.standard_uncertainty - NOMINAL_SLOPE.standard_uncertainty;
    // It went through a root.
    let nominal = slope.slope_fraction == NOMINAL_SLOPE.slope_fraction && libm::fabs(off) < 1e-12;
    Judgement::SinglePoint {
        slope_percent: 100.0 * slope.slope_fraction,
        u_percent: 100.0 * slope.standard_uncertainty,
        assumed: u8::from(nominal),
    }
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
        said.say(single_point(&SlopePrior {
            slope_fraction: fit.calibration.slope_fraction,
            standard_uncertainty: fit.calibration.slope_uncertainty(),
        }));
    } else if span_ph < least_ph {
        said.say(Judgement::BuffersTooClose { span_ph, least_ph });
    }
    let limit_ph = limits::RESIDUAL_PH.value;
    let far = farthest(points.iter().map(|point| point.residual(&fit.calibration)), limit_ph);
    said.say_all(far.map(|(point, residual_ph)| {
        let points = count(points.len());
        Judgement::ResidualLarge { point, points, residual_ph, limit_ph }
    }));
    // A point that lies far off is named already.
    let named = far.is_some();
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
    let residuals = points.iter().map(|point| point.residual_percent(&fit.calibration));
    let far = farthest(residuals, limit_percent);
    said.say_all(far.map(|(point, residual_percent)| {
        let points = count(points.len());
        Judgement::ConductivityResidualLarge { point, points, residual_percent, limit_percent }
    }));
    let named = far.is_some();
    match chi_squared::upper_99(fit.degrees_of_freedom) {
        Some(limit) if fit.chi_squared > limit && !named => {
            let chi_squared = fit.chi_squared;
            said.say(Judgement::ConductivityPointsContradict { chi_squared, limit });
        }
        _ => {}
    }
    if fit.per_range {
        let factors = || fit.calibration.range_factor.into_iter().flatten();
        let (min, max) = limits::RANGE_FACTOR_POSSIBLE.value;
        let impossible =
            factors().filter(|factor| !(min..=max).contains(factor)).reduce(|one, other| {
                if libm::fabs(one - 1.0) < libm::fabs(other - 1.0) { other } else { one }
            });
        let away = factors().map(|factor| 100.0 * libm::fabs(factor - 1.0));
        let largest_percent = extremes(away).map_or(0.0, |(_, largest)| largest);
        said.say(match impossible {
            Some(factor) => Judgement::RangeFactorImpossible { factor, min, max },
            None => Judgement::RangesDisagree { largest_percent },
        });
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
        let residual = point.residual_k(&fit.calibration);
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
