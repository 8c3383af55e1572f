//! What is asked about a water: its conductivity at 25 °C, and what that says about its pH.

use rillmark_metrology::reference::buffers::Uncertainty;
use rillmark_metrology::reference::ionic_strength;
use rillmark_procedures::routine::water::judge_water;
use rillmark_proto::reference::{Sourced, Tag, compensation};
use rillmark_proto::units::{Celsius, MicrosiemensPerCm};

use super::answer::{Answer, Unit, Water};
use super::outside;
use crate::exit::{Exit, Failure};
use crate::words::en::{judgement, reference as words};

pub(super) fn linear(us_per_cm: f64, t: f64, percent: Option<f64>) -> Result<Answer, Failure> {
    let (per_kelvin, source, tag) = match percent {
        Some(percent) => (percent / 100.0, words::LINEAR_WITH_OWN_COEFFICIENT, Tag::CommonPractice),
        None => (
            compensation::DEFAULT_PER_KELVIN,
            compensation::DEFAULT_SOURCE,
            compensation::DEFAULT_TAG,
        ),
    };
    let (conductivity, t) = (checked(us_per_cm)?, Celsius::new(t));
    let factor = compensation::to_25_linear(MicrosiemensPerCm::new(1.0), t, per_kelvin)
        .map_err(outside("linear compensation"))?
        .get();
    let value = compensation::to_25_linear(conductivity, t, per_kelvin)
        .map_err(outside("linear compensation"))?
        .get();
    let answer = Answer::new(Some(value), Unit::CONDUCTIVITY, source, tag).with_factor(factor);
    // How well a coefficient of the user's own is known, only the user can tell.
    match percent {
        Some(_) => Ok(answer),
        None => compensation::relative_uncertainty_linear(t, per_kelvin)
            .map_err(outside("linear compensation"))
            .map(|relative| with_relative(answer, value, &relative)),
    }
}

pub(super) fn natural(us_per_cm: f64, t: f64, exponent: Option<f64>) -> Result<Answer, Failure> {
    let (power, source, tag) = match exponent {
        Some(exponent) => (exponent, words::NATURAL_WITH_OWN_EXPONENT, Tag::CommonPractice),
        None => (
            compensation::DEFAULT_EXPONENT,
            compensation::NATURAL_WATER_SOURCE,
            compensation::NATURAL_WATER_TAG,
        ),
    };
    let (conductivity, t) = (checked(us_per_cm)?, Celsius::new(t));
    let out_of_range = outside("natural-water compensation");
    let factor = compensation::natural_water_factor(t, power).map_err(&out_of_range)?;
    let value =
        compensation::to_25_natural_water(conductivity, t, power).map_err(&out_of_range)?.get();
    let answer = Answer::new(Some(value), Unit::CONDUCTIVITY, source, tag).with_factor(factor);
    match exponent {
        Some(_) => Ok(answer),
        None => compensation::relative_uncertainty_natural_water(t)
            .map_err(&out_of_range)
            .map(|relative| with_relative(answer, value, &relative)),
    }
}

fn with_relative(answer: Answer, value: f64, relative: &Sourced) -> Answer {
    let Sourced { source, tag, .. } = *relative;
    answer.with_uncertainty(Uncertainty { standard: relative.value * value, source, tag })
}

/// The library lets noise just below zero through; a person who types it means something else.
fn checked(us_per_cm: f64) -> Result<MicrosiemensPerCm, Failure> {
    if us_per_cm < 0.0 {
        return Err(Failure::new(Exit::BadInput, words::negative_conductivity(us_per_cm)));
    }
    Ok(MicrosiemensPerCm::new(us_per_cm))
}

pub(super) fn class(us_per_cm: f64) -> Result<Answer, Failure> {
    let water = MicrosiemensPerCm::new(us_per_cm);
    let out_of_range = outside("the class of a water");
    let estimate = ionic_strength::estimate(water).map_err(&out_of_range)?;
    let class = ionic_strength::class(water).map_err(&out_of_range)?;
    let said = judge_water(water).map_err(&out_of_range)?;
    Ok(Answer::sourced(Unit::IONIC_STRENGTH, &estimate).with_water(Water {
        class,
        junction: ionic_strength::residual_junction(Some(water)),
        sentence: said.map(|said| judgement::sentence(&said)),
    }))
}
