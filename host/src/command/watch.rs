//! `rillmark watch`: readings as they come, kept nowhere.

use clap::{Args, ValueEnum};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::reading::uncertainty::uncertainty;
use rillmark_proto::record::Record;
use rillmark_proto::reference::ionic_strength::Class;
use rillmark_proto::routine::water::judge_water;
use rillmark_proto::units::MicrosiemensPerCm;
use rillmark_proto::wire::message::Sampling;

use super::reading_view::{heading, line, reading_json, uncertainty_json};
use super::record_view::kept_records;
use super::{Context, interrupt, output};
use crate::exit::Failure;
use crate::link::probe::{Probe, ProbeError, connect};
use crate::words::en::{judgement, probe as words};

/// The longest wait in one piece, so that an interruption is heard soon.
const SLICE_MS: u64 = 250;
/// How long after its time a reading may come. A full sequence takes 4.1 s.
const OVERDUE_MS: u64 = 15_000;

/// `rillmark watch …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_WATCH)]
pub struct Options {
    /// End after so many readings [default: when interrupted].
    #[arg(long, value_name = "N")]
    count: Option<u64>,
    /// Seconds from reading to reading [default: as fast as it goes].
    #[arg(long, value_name = "S", value_parser = clap::value_parser!(u32).range(1..=86_400))]
    every: Option<u32>,
    /// Sample this alone, quicker than the full sequence.
    #[arg(long, value_enum)]
    only: Option<Only>,
}

/// What to sample alone.
#[derive(Clone, Copy, Debug, ValueEnum)]
enum Only {
    /// Electrode potential, with a temperature now and then.
    Ph,
    /// Conductance and temperature.
    Conductivity,
}

/// Samples and prints until the count is reached or the person ends it.
///
/// # Errors
/// Those of the conversation, also when readings stay away.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    let every_ms = options.every.map_or(0, |seconds| seconds * 1000);
    probe.sample(Sampling::Off)?;
    probe.forget_readings();
    let kept = kept_records(&mut probe)?;
    probe.sample(match options.only {
        Some(Only::Ph) => Sampling::Ph,
        Some(Only::Conductivity) => Sampling::Conductivity,
        None => Sampling::Full { interval_ms: every_ms },
    })?;
    let mut in_force = Coefficients::default();
    for record in kept.iter().filter(|kept| kept.in_force) {
        if let Ok(Record::Calibration(record)) = &record.record {
            record.result.put_into(&mut in_force);
        }
    }
    let result = show(&options, every_ms.into(), &mut probe, &in_force, context, interrupted);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    result
}

fn show(
    options: &Options,
    every_ms: u64,
    probe: &mut Probe,
    in_force: &Coefficients,
    context: &mut Context<'_>,
    interrupted: fn() -> bool,
) -> Result<(), Failure> {
    if !context.json {
        output::text(context.out, &heading())?;
    }
    let mut told = None;
    let (mut shown, mut heard) = (0, probe.link().monotonic_ms());
    // Sampling one quantity alone has a pace of its own; what comes too early is left out.
    let mut next_ms = None;
    while options.count.is_none_or(|count| shown < count) && !interrupted() {
        let Some(arrived) = probe.next_reading(SLICE_MS)? else {
            if probe.link().monotonic_ms().saturating_sub(heard) > OVERDUE_MS + every_ms {
                let name = probe.link().name().to_owned();
                let order = words::order::SAMPLE;
                return Err(ProbeError::NoAnswer { name, order }.into());
            }
            continue;
        };
        heard = probe.link().monotonic_ms();
        let reading = &arrived.reading;
        if options.only.is_some() && next_ms.is_some_and(|next| reading.time.ms < next) {
            continue;
        }
        next_ms = Some(reading.time.ms.saturating_add(every_ms));
        shown += 1;
        let utc_ms = Some(arrived.utc_ms);
        let uncertain = uncertainty(&reading.raw, in_force);
        if context.json {
            let mut value = reading_json(reading, &reading.computed, utc_ms);
            value["standard_uncertainty"] = uncertainty_json(&uncertain);
            value["water"] = uncertain.water.map(Class::name).into();
            output::json(context.out, &value)?;
            continue;
        }
        // What is said of a water is said once, until it is another kind of water.
        if reading.computed.ph.is_some() && uncertain.water != told {
            told = uncertain.water;
            let specific = reading.computed.specific_conductance_us_cm;
            if let Some(said) = specific
                .and_then(|us_cm| judge_water(MicrosiemensPerCm::new(us_cm.into())).ok().flatten())
            {
                let severity = judgement::severity(said.severity());
                let sentence = judgement::sentence(&said);
                output::text(context.progress, &format!("{severity}: {sentence}\n"))?;
            }
        }
        output::text(context.out, &line(reading, &reading.computed, &uncertain, utc_ms))?;
    }
    Ok(())
}
