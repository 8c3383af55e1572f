//! `rillmark watch`: readings as they come, kept nowhere.

use clap::{Args, ValueEnum};
use rillmark_proto::wire::message::Sampling;

use super::reading_view::{heading, line, reading_json};
use super::{Context, interrupt, output};
use crate::exit::Failure;
use crate::link::probe::{Probe, ProbeError, connect};
use crate::words::en::probe as words;

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
    probe.sample(match options.only {
        Some(Only::Ph) => Sampling::Ph,
        Some(Only::Conductivity) => Sampling::Conductivity,
        None => Sampling::Full { interval_ms: every_ms },
    })?;
    let result = show(&options, every_ms.into(), &mut probe, context, interrupted);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    result
}

fn show(
    options: &Options,
    every_ms: u64,
    probe: &mut Probe,
    context: &mut Context<'_>,
    interrupted: fn() -> bool,
) -> Result<(), Failure> {
    if !context.json {
        output::text(context.out, &heading())?;
    }
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
        match context.json {
            true => {
                output::json(context.out, &reading_json(reading, &reading.computed, utc_ms))?;
            }
            false => output::text(context.out, &line(reading, &reading.computed, utc_ms))?,
        }
    }
    Ok(())
}
