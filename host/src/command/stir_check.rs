//! `rillmark stir-check`: one water still and stirred, and what that says about the junction.

use clap::Args;
use rillmark_metrology::decision::Decision;
use rillmark_metrology::reference::ionic_strength;
use rillmark_metrology::reference::ionic_strength::Class;
use rillmark_procedures::routine::judgement::Judgement;
use rillmark_procedures::routine::limits;
use rillmark_procedures::routine::stir::{
    Comparison, ComparisonError, Heard, LEAST_PATIENCE_MS, Listener, Rest, compare,
};
use rillmark_proto::units::MicrosiemensPerCm;
use rillmark_proto::wire::message::Sampling;
use serde_json::{Value, json};

use super::guided::report::judgement_json;
use super::in_force::{in_force, lines, remarks_json};
use super::output::Table;
use super::record_view::kept_records;
use super::{Context, input, interrupt, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, READING_PATIENCE_MS, connect};
use crate::words::en::{judgement, stir_check as words};

/// Full readings taken for the water's conductivity, some 15 s; the last one counts, when the cell has
/// filled with the water. It decides about a class of water, so a percent is enough.
const FULL_READINGS: usize = 6;
/// For how long readings may be unusable in a row, in ms of probe time.
const UNUSABLE_MS: u64 = limits::UNUSABLE_MS.value;

/// `rillmark stir-check …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// Take the mean of a minute as it is when the pH has not come to rest after so many seconds.
    #[arg(long, value_name = "SECONDS", default_value_t = 180,
          value_parser = clap::value_parser!(u64).range(LEAST_PATIENCE_MS / 1000..=86_400))]
    patience: u64,
}

/// Guides the comparison and prints it.
///
/// # Errors
/// [`Exit::Refused`] without a pH calibration or when readings cannot be used, [`Exit::Cancelled`] when the person cancels, or those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    check(&mut probe, options.patience, interrupt::listen(), context)
}

/// Compares on a line that is open already.
///
/// # Errors
/// As [`run`].
pub fn check(
    probe: &mut Probe,
    patience_s: u64,
    interrupted: fn() -> bool,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    probe.sample(Sampling::Off)?;
    let equipment = probe.equipment()?;
    let in_force = in_force(&kept_records(probe)?, equipment.as_ref(), probe.link().utc_ms());
    let found = Check { patience_s, interrupted }.both(probe, context);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    let _ = probe.link_mut().stir(false);
    probe.forget_readings();
    let found = found?;
    if !context.json {
        return output::text(context.out, &(found.text() + &lines(&in_force)));
    }
    let mut value = found.json();
    value["remarks"] = remarks_json(&in_force);
    output::json(context.out, &value)
}

struct Check {
    patience_s: u64,
    interrupted: fn() -> bool,
}

/// What was found.
#[derive(Clone, Debug)]
struct Found {
    still: Rest,
    stirred: Rest,
    again: Rest,
    specific_us_cm: Option<f64>,
    class: Class,
    comparison: Comparison,
    said: Vec<Judgement>,
}

fn refused(sentence: impl Into<String>) -> Failure {
    Failure::new(Exit::Refused, sentence.into())
}

impl Check {
    fn both(&self, probe: &mut Probe, context: &mut Context<'_>) -> Result<Found, Failure> {
        ready(probe, false, words::PLACE_STILL, context)?;
        let specific_us_cm = self.conductivity(probe)?;
        let still = self.rest(probe)?;
        ready(probe, true, words::STIR, context)?;
        let stirred = self.rest(probe)?;
        ready(probe, false, words::STILL_AGAIN, context)?;
        let again = self.rest(probe)?;

        let water = specific_us_cm.map(MicrosiemensPerCm::new);
        // Noise of a cell in air is no water, and says nothing about one.
        let class = water.and_then(|water| ionic_strength::class(water).ok());
        let known = class.unwrap_or(Class::Ordinary);
        let comparison = compare(&still, &stirred, &again, class.and(water)).map_err(|error| {
            refused(match error {
                ComparisonError::Restarted => words::RESTARTED,
                ComparisonError::OutOfOrder | ComparisonError::Unusable(_) => words::NOT_COMPARABLE,
            })
        })?;
        Ok(Found {
            still,
            stirred,
            again,
            specific_us_cm: class.and(specific_us_cm),
            class: known,
            comparison,
            said: comparison.judgements().collect(),
        })
    }

    /// The water's conductivity at 25 °C, where the cell is calibrated.
    fn conductivity(&self, probe: &mut Probe) -> Result<Option<f64>, Failure> {
        probe.sample(Sampling::Full { interval_ms: 0 })?;
        probe.forget_readings();
        let mut last = None;
        for _ in 0..FULL_READINGS {
            last = self.reading(probe)?.computed.specific_conductance_us_cm.map(f64::from);
        }
        Ok(last)
    }

    /// The pH, at rest where it comes to rest.
    fn rest(&self, probe: &mut Probe) -> Result<Rest, Failure> {
        // The answer stands behind all readings of the time before in the line.
        probe.sample(Sampling::Ph)?;
        probe.forget_readings();
        let mut listener = Listener::new(self.patience_s * 1000);
        let mut usable_ms = probe.link().monotonic_ms();
        loop {
            let reading = self.reading(probe)?;
            let now_ms = probe.link().monotonic_ms();
            match listener.reading(&reading) {
                Heard::Rest(rest) => return Ok(rest),
                Heard::NotCalibrated => return Err(refused(words::NOT_CALIBRATED)),
                Heard::Waiting => usable_ms = now_ms,
                Heard::Unusable(said) if now_ms.saturating_sub(usable_ms) > UNUSABLE_MS => {
                    return Err(refused(words::unusable(&judgement::sentence(&said))));
                }
                Heard::Unusable(_) => {}
            }
        }
    }

    fn reading(&self, probe: &mut Probe) -> Result<rillmark_proto::reading::Reading, Failure> {
        if (self.interrupted)() {
            return Err(Failure::new(Exit::Cancelled, words::CANCELLED));
        }
        let arrived = probe.next_reading(READING_PATIENCE_MS)?.ok_or_else(|| {
            let sentence = crate::words::en::routine::no_readings(READING_PATIENCE_MS / 1000);
            Failure::new(Exit::Probe, sentence)
        })?;
        Ok(arrived.reading)
    }
}

/// Has the water moved or left still, by the bench or by the person.
fn ready(
    probe: &mut Probe,
    moving: bool,
    question: &str,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    let moved = probe
        .link_mut()
        .stir(moving)
        .map_err(|error| Failure::new(Exit::Port, error.to_string()))?;
    let mut say = |text: &str| output::line(context.progress, text);
    say(question)?;
    if moved {
        return say(if moving { words::BENCH_STIRS } else { words::BENCH_STILL });
    }
    loop {
        match input::line(context.answers) {
            Ok(None) | Err(_) => return Err(Failure::new(Exit::Cancelled, words::CANCELLED)),
            Ok(Some(line)) => match line.as_str() {
                "" | "done" => return Ok(()),
                "cancel" => return Err(Failure::new(Exit::Cancelled, words::CANCELLED)),
                _ => output::line(context.progress, words::NOT_UNDERSTOOD)?,
            },
        }
    }
}

fn rest_json(rest: &Rest) -> Value {
    json!({ "ph": rest.ph, "temperature_c": rest.temperature_c, "waited_ms": rest.waited_ms, "settled": rest.settled })
}

impl Found {
    fn json(&self) -> Value {
        let Comparison { difference_ph, u_difference_ph, decision, u_junction_ph, .. } =
            self.comparison;
        let Decision { verdict, conformance_probability, .. } = decision;
        json!({
            "still": rest_json(&self.still),
            "stirred": rest_json(&self.stirred),
            "still_again": rest_json(&self.again),
            "difference_ph": difference_ph,
            "standard_uncertainty_ph": u_difference_ph,
            "limit_ph": limits::STIR_PH.value,
            "verdict": verdict.name(),
            "conformance_probability": conformance_probability,
            "specific_conductance_us_cm": self.specific_us_cm,
            "class": self.specific_us_cm.map(|_| self.class.name()),
            "junction_standard_uncertainty_ph": u_junction_ph,
            "judgements": self.said.iter().map(judgement_json).collect::<Vec<_>>(),
        })
    }

    fn text(&self) -> String {
        let Comparison { difference_ph, decision, u_junction_ph, .. } = self.comparison;
        let rest =
            |rest: &Rest| words::rest(rest.ph, rest.temperature_c, rest.waited_ms, rest.settled);
        let limit = limits::STIR_PH.value;
        let mut table = Table::pairs();
        table.row([words::STILL, &rest(&self.still)]);
        table.row([words::STIRRED, &rest(&self.stirred)]);
        table.row([words::STILL_THEN, &rest(&self.again)]);
        let difference = words::difference(difference_ph, decision.expanded_uncertainty, limit);
        table.row([words::DIFFERENCE, &difference]);
        table.row([words::CONDUCTIVITY, &words::conductivity(self.specific_us_cm, self.class)]);
        table.row([words::JUNCTION, &format!("{u_junction_ph:.3} pH (k = 1)")]);
        let said = self.said.iter().map(|said| {
            let severity = judgement::severity(said.severity());
            format!("{severity}: {}\n", judgement::sentence(said))
        });
        let said: String = said.collect();
        format!("{}\n{said}{}\n", table.text(), words::to_use(u_junction_ph))
    }
}
