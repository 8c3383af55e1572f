//! `rillmark recognise`: which standard does the probe stand in?

mod answer;

use clap::{Args, Subcommand};
use rillmark_metrology::assess::InForce;
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_procedures::routine::look::{Look, Looked, Sight};
use rillmark_procedures::routine::recognise::{Known, MOST_CANDIDATES};
use rillmark_proto::record::Quantity;
use rillmark_proto::wire::message::Sampling;

use self::answer::{Answer, Calibration};
use super::calibrate::spec::Spec;
use super::in_force::{in_force, lines, remarks_json};
use super::record_view::{Kept, kept_records};
use super::{Context, interrupt, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, READING_PATIENCE_MS, connect};
use crate::words::en::{judgement, recognise as words, routine, standard};

/// Progress is said again after so many ms of probe time.
const SAY_EVERY_MS: u64 = 5_000;

/// `rillmark recognise …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Which buffer the electrode stands in.
    #[command(after_help = words::EXAMPLE)]
    Ph(Common),
    /// Which conductivity standard the cell stands in.
    #[command(after_help = words::EXAMPLE)]
    Conductivity {
        #[command(flatten)]
        common: Common,
        /// The cell constant in 1/cm that the maker states; not used when the cell is calibrated.
        #[arg(long, value_name = "K")]
        nominal_cell_constant: Option<f64>,
    },
}

/// What both take.
#[derive(Debug, Args)]
struct Common {
    /// A standard that it may be, as in `calibrate` [default: all that `reference list` names].
    #[arg(long = "standard", value_name = "STANDARD")]
    standards: Vec<String>,
    /// Virtual bench only: put the probe in this first.
    #[arg(long, value_name = "NAME")]
    beaker: Option<String>,
    /// Virtual bench only: the beaker's temperature in °C.
    #[arg(long, value_name = "C", requires = "beaker")]
    at: Option<f64>,
}

/// Looks at the beaker and says which of the candidates it may hold. Changes nothing.
///
/// # Errors
/// [`Exit::BadInput`] for options that cannot be used or a cell of which nothing is known,
/// [`Exit::Refused`] when the readings cannot be used, [`Exit::Cancelled`] when interrupted, and those
/// of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let (quantity, common, nominal) = match options.what {
        What::Ph(common) => (Quantity::Ph, common, None),
        What::Conductivity { common, nominal_cell_constant } => {
            (Quantity::Conductivity, common, nominal_cell_constant)
        }
    };
    let bad = |sentence| Failure::new(Exit::BadInput, sentence);
    if let Some(number) = nominal.filter(|number| !(number.is_finite() && *number > 0.0)) {
        return Err(bad(routine::not_above_zero("--nominal-cell-constant", number)));
    }
    let specs = candidates(&common.standards, quantity).map_err(bad)?;
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    if let Some(beaker) = &common.beaker {
        place(&mut probe, beaker, common.at)?;
    }
    look_at(&mut probe, quantity, nominal, &specs, interrupted, context)
}

/// The same on a line that is open already.
fn look_at(
    probe: &mut Probe,
    quantity: Quantity,
    nominal: Option<f64>,
    specs: &[Spec],
    interrupted: fn() -> bool,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    let bad = |sentence| Failure::new(Exit::BadInput, sentence);
    probe.sample(Sampling::Off)?;
    let kept = kept_records(probe)?;
    let equipment = probe.equipment()?;
    let in_force = in_force(&kept, equipment.as_ref(), probe.link().utc_ms());
    let (known, calibration) = known(&in_force, &kept, quantity, nominal)
        .ok_or_else(|| bad(words::NOTHING_KNOWN.to_owned()))?;
    let look = Look::new(quantity, in_force.coefficients);
    let sight = look_until_seen(probe, quantity, look, context, interrupted);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    let sight = sight?;
    let sources = specs.iter().map(|spec| &spec.planned.source);
    let recognition = sight.recognise(&known, sources);
    let names = specs.iter().map(|spec| spec.planned.name.as_str()).collect();
    let answer = Answer { quantity, sight, recognition, names, calibration };
    if !context.json {
        return output::text(context.out, &(answer.text() + &lines(&in_force)));
    }
    let mut value = answer.json();
    value["remarks"] = remarks_json(&in_force);
    output::json(context.out, &value)
}

/// The standards that it may be.
fn candidates(written: &[String], quantity: Quantity) -> Result<Vec<Spec>, String> {
    let published: Vec<_> = match quantity {
        Quantity::Conductivity => {
            conductivity_standards::ALL.iter().map(|standard| standard.name()).collect()
        }
        Quantity::Ph | Quantity::Temperature => {
            buffers::ALL.iter().map(|buffer| buffer.name()).collect()
        }
    };
    let names: Vec<_> = match written {
        [] => published,
        written => written.iter().map(String::as_str).collect(),
    };
    if names.len() > MOST_CANDIDATES {
        return Err(words::too_many(names.len(), MOST_CANDIDATES));
    }
    names.into_iter().map(|name| Spec::parse(name, quantity)).collect()
}

fn place(probe: &mut Probe, beaker: &str, at_c: Option<f64>) -> Result<(), Failure> {
    if !probe.link().places_by_itself() {
        return Err(Failure::new(Exit::BadInput, standard::BEAKER_NEEDS_BENCH));
    }
    let port = |error: &dyn std::fmt::Display| Failure::new(Exit::Port, error.to_string());
    let placed = probe.link_mut().place(beaker, at_c).map_err(|error| port(&error))?;
    match placed {
        true => Ok(()),
        false => Err(Failure::new(Exit::BadInput, words::cannot_place(beaker))),
    }
}

/// What is known about the sensor, and from which calibration; `None` for a cell of which nothing is.
fn known(
    in_force: &InForce,
    kept: &[Kept],
    quantity: Quantity,
    nominal: Option<f64>,
) -> Option<(Known, Option<Calibration>)> {
    let InForce { coefficients, ages, circumstances, .. } = in_force;
    let drifted = |age_days: Option<f64>| age_days.map(|_| *circumstances);
    let (known, age_days) = match quantity {
        Quantity::Conductivity => match coefficients.conductivity {
            Some(calibration) => {
                let drifted = drifted(ages.conductivity);
                (Known::Cell { calibration, drifted }, ages.conductivity)
            }
            None => return Some((Known::NominalCell { cell_constant_per_cm: nominal? }, None)),
        },
        Quantity::Ph | Quantity::Temperature => match coefficients.ph {
            Some(calibration) => {
                (Known::Electrode { calibration, drifted: drifted(ages.ph) }, ages.ph)
            }
            None => return Some((Known::AnyElectrode, None)),
        },
    };
    let used = kept.iter().find(|kept| kept.in_force && kept.quantity == quantity)?;
    Some((known, Some(Calibration { short: used.id.short().to_string(), age_days })))
}

/// Reads until the beaker's signal and temperature have come to rest, or will not.
fn look_until_seen(
    probe: &mut Probe,
    quantity: Quantity,
    mut look: Look,
    context: &mut Context<'_>,
    interrupted: fn() -> bool,
) -> Result<Sight, Failure> {
    probe.sample(match quantity {
        Quantity::Conductivity => Sampling::Conductivity,
        Quantity::Ph | Quantity::Temperature => Sampling::Ph,
    })?;
    probe.forget_readings();
    let mut said_ms = None;
    loop {
        if interrupted() {
            return Err(Failure::new(Exit::Cancelled, words::CANCELLED));
        }
        let arrived = probe.next_reading(READING_PATIENCE_MS)?.ok_or_else(|| {
            Failure::new(Exit::Probe, routine::no_readings(READING_PATIENCE_MS / 1000))
        })?;
        match look.reading(&arrived.reading) {
            Looked::Seen(sight) => return Ok(sight),
            Looked::Unusable(why) => {
                return Err(Failure::new(Exit::Refused, judgement::sentence(&why)));
            }
            Looked::Waiting(progress) => {
                let due = said_ms.is_none_or(|at| progress.waited_ms >= at + SAY_EVERY_MS);
                if let (true, Some(signal), false) = (due, progress.signal, context.json) {
                    said_ms = Some(progress.waited_ms);
                    let percent = 100.0 * progress.verdict.fraction;
                    let ph = quantity == Quantity::Ph;
                    let text = words::waiting(percent, ph, signal, progress.temperature_c);
                    output::line(context.progress, &text)?;
                }
            }
        }
    }
}

#[cfg(test)]
#[path = "recognise_tests.rs"]
mod tests;
