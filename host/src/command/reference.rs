//! `rillmark reference`: what the literature says about buffers, standards and relations.

mod answer;
mod list;
mod water;

use clap::{Args, Subcommand, ValueEnum};
use rillmark_metrology::reference::buffers;
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_metrology::reference::conductivity_standards;
use rillmark_metrology::reference::conductivity_standards::Standard;
use rillmark_metrology::reference::salinity;
use rillmark_proto::reference::{OutOfRange, Tag, nernst, quantity, rtd};
use rillmark_proto::units::{Celsius, Decibars, MicrosiemensPerCm, Ohms};

use self::answer::{Answer, NotDefined, Unit};
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::words::en::reference as words;

/// `rillmark reference …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// What to look up.
    #[command(subcommand)]
    question: Question,
}

#[derive(Debug, Subcommand)]
enum Question {
    /// pH of a buffer at a temperature.
    #[command(after_help = words::EXAMPLE_PH_BUFFER)]
    PhBuffer {
        /// Name of the buffer, as `reference list` gives it.
        name: String,
        /// Temperature of the buffer in °C.
        #[arg(long, value_name = "C", allow_negative_numbers = true)]
        at: f64,
    },
    /// Conductivity of a potassium chloride standard at a temperature.
    #[command(after_help = words::EXAMPLE_CONDUCTIVITY_STANDARD)]
    ConductivityStandard {
        /// Name of the standard, as `reference list` gives it, or the usual number of its label.
        name: String,
        /// Temperature of the standard in °C.
        #[arg(long, value_name = "C", allow_negative_numbers = true)]
        at: f64,
    },
    /// Practical salinity (PSS-78) from conductivity, temperature and pressure.
    #[command(after_help = words::EXAMPLE_SALINITY)]
    Salinity {
        /// Conductivity at the water's own temperature, in mS/cm.
        #[arg(long, value_name = "MS_PER_CM", allow_negative_numbers = true)]
        conductivity: f64,
        /// Temperature of the water in °C.
        #[arg(long, value_name = "C", allow_negative_numbers = true)]
        temperature: f64,
        /// Gauge pressure in dbar.
        #[arg(long, value_name = "DBAR", default_value_t = 0.0, allow_negative_numbers = true)]
        pressure: f64,
    },
    /// A conductivity referred to 25 °C.
    #[command(after_help = words::EXAMPLE_COMPENSATION)]
    Compensation {
        /// Conductivity at the water's own temperature, in µS/cm.
        #[arg(long, value_name = "US_PER_CM", allow_negative_numbers = true)]
        conductivity: f64,
        /// Temperature of the water in °C.
        #[arg(long, value_name = "C", allow_negative_numbers = true)]
        temperature: f64,
        /// How to refer it to 25 °C.
        #[arg(long, value_enum)]
        method: Method,
        /// Linear: temperature coefficient in % per kelvin, of the conductivity at 25 °C
        /// [default: 1.91].
        #[arg(long, value_name = "P", allow_negative_numbers = true)]
        percent_per_kelvin: Option<f64>,
        /// Natural water: exponent of the relative viscosity [default: 0.929].
        #[arg(long, value_name = "E", allow_negative_numbers = true)]
        exponent: Option<f64>,
    },
    /// What the conductivity of a water says about its pH: ionic strength and junction.
    #[command(after_help = words::EXAMPLE_WATER)]
    Water {
        /// Conductivity at 25 °C (specific conductance), in µS/cm.
        #[arg(long, value_name = "US_PER_CM", allow_negative_numbers = true)]
        conductivity: f64,
    },
    /// The Nernst factor at a temperature.
    #[command(after_help = words::EXAMPLE_NERNST)]
    Nernst {
        /// Temperature in °C.
        #[arg(long, value_name = "C", allow_negative_numbers = true)]
        at: f64,
    },
    /// Temperature of a platinum thermometer (IEC 60751) from its resistance.
    #[command(after_help = words::EXAMPLE_RTD)]
    Rtd {
        /// Measured resistance in Ω.
        #[arg(long, value_name = "R", allow_negative_numbers = true)]
        ohms: f64,
        /// Resistance at 0 °C in Ω.
        #[arg(long, value_name = "R0", default_value_t = 1000.0, allow_negative_numbers = true)]
        r0: f64,
    },
    /// Every buffer, standard and relation with its range, source and tag.
    #[command(after_help = words::EXAMPLE_LIST)]
    List,
}

/// How a conductivity is referred to 25 °C.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Method {
    /// Along a straight line.
    Linear,
    /// As the viscosity of water goes: for natural waters.
    NaturalWater,
}

/// Looks it up and prints it.
///
/// # Errors
/// [`Exit::BadInput`] for an unknown name or a number outside the valid range; [`Exit::Storage`]
/// when the answer cannot be written.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let text = match look_up(options.question)? {
        Some(answer) if context.json => answer.json(),
        Some(answer) => answer.table(),
        None if context.json => list::json(),
        None => list::table(),
    };
    match context.json {
        true => output::json_line(context.out, &text),
        false => output::text(context.out, &text),
    }
}

/// The answer to a question; `None` for the list of everything.
fn look_up(question: Question) -> Result<Option<Answer>, Failure> {
    match question {
        Question::PhBuffer { name, at } => ph_buffer(&name, at),
        Question::ConductivityStandard { name, at } => conductivity_standard(&name, at),
        Question::Salinity { conductivity, temperature, pressure } => {
            practical_salinity(conductivity, temperature, pressure)
        }
        Question::Compensation {
            conductivity,
            temperature,
            method,
            percent_per_kelvin,
            exponent,
        } => match (method, percent_per_kelvin, exponent) {
            (Method::Linear, percent, None) => water::linear(conductivity, temperature, percent),
            (Method::NaturalWater, None, exponent) => {
                water::natural(conductivity, temperature, exponent)
            }
            (Method::Linear, _, Some(_)) => {
                Err(Failure::new(Exit::BadInput, words::EXPONENT_OF_ANOTHER_METHOD))
            }
            (Method::NaturalWater, Some(_), _) => {
                Err(Failure::new(Exit::BadInput, words::COEFFICIENT_OF_ANOTHER_METHOD))
            }
        },
        Question::Water { conductivity } => water::class(conductivity),
        Question::Nernst { at } => nernst_factor(at),
        Question::Rtd { ohms, r0 } => thermometer(ohms, r0),
        Question::List => return Ok(None),
    }
    .map(Some)
}

fn outside(subject: &str) -> impl Fn(OutOfRange) -> Failure {
    move |error| Failure::new(Exit::BadInput, words::out_of_range(subject, &error))
}

fn ph_buffer(name: &str, at: f64) -> Result<Answer, Failure> {
    let buffer = buffers::by_name(name).ok_or_else(|| {
        let known: Vec<_> = buffers::ALL.iter().map(Buffer::name).collect();
        Failure::new(Exit::BadInput, words::unknown_buffer(name, &known))
    })?;
    let sourced = buffer.ph(Celsius::new(at)).map_err(outside(buffer.name()))?;
    Ok(Answer::sourced(Unit::PH, &sourced)
        .with_uncertainty_from(buffer.uncertainty())
        .with_solution(buffer.solution()))
}

fn conductivity_standard(name: &str, at: f64) -> Result<Answer, Failure> {
    let standard = conductivity_standards::by_name(name).ok_or_else(|| {
        let known: Vec<_> = conductivity_standards::ALL.iter().map(Standard::name).collect();
        Failure::new(Exit::BadInput, words::unknown_standard(name, &known))
    })?;
    let sourced = standard.conductivity(Celsius::new(at)).map_err(outside(standard.name()))?;
    Ok(Answer::sourced(Unit::CONDUCTIVITY, &sourced)
        .with_uncertainty_from(standard.relative_uncertainty())
        .with_basis(standard.basis()))
}

fn practical_salinity(ms_per_cm: f64, t: f64, p: f64) -> Result<Answer, Failure> {
    let value = salinity::practical_salinity(
        MicrosiemensPerCm::from_millisiemens_per_cm(ms_per_cm),
        Celsius::new(t),
        Decibars::new(p),
    )
    .map_err(|error| match error {
        // It was typed in mS/cm, so it is answered in mS/cm.
        OutOfRange { what: quantity::CONDUCTIVITY, got, min, max } => OutOfRange {
            what: words::CONDUCTIVITY_MS_PER_CM,
            got: got / 1000.0,
            min: min / 1000.0,
            max: max / 1000.0,
        },
        other => other,
    })
    .map_err(outside("practical salinity"))?;
    let answer = Answer::new(value, Unit::ONE, salinity::SOURCE, salinity::TAG);
    Ok(match value {
        Some(_) => answer,
        None => answer.not_defined(NotDefined {
            code: "conductivity-too-low",
            sentence: words::SALINITY_NOT_DEFINED,
        }),
    })
}

fn nernst_factor(at: f64) -> Result<Answer, Failure> {
    let (min, max) = nernst::RANGE;
    if !(min..=max).contains(&at) {
        let error = OutOfRange { what: quantity::TEMPERATURE, got: at, min, max };
        return Err(outside("the Nernst factor")(error));
    }
    let value = nernst::millivolts_per_ph(Celsius::new(at));
    Ok(Answer::new(Some(value), Unit::NERNST, nernst::SOURCE, Tag::Computed))
}

fn thermometer(ohms: f64, r0: f64) -> Result<Answer, Failure> {
    let value = rtd::temperature(Ohms::new(ohms), Ohms::new(r0))
        .map_err(outside("the platinum thermometer"))?;
    Ok(Answer::new(Some(value.get()), Unit::CELSIUS, rtd::SOURCE, rtd::TAG))
}

#[cfg(test)]
mod tests;
