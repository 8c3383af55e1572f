//! `rillmark watch`: readings as they come, kept nowhere.

use std::path::PathBuf;

use clap::{Args, ValueEnum};
use rillmark_metrology::assess::{Assessor, Tally};
use rillmark_metrology::reference::ionic_strength::Class;
use rillmark_metrology::uncertainty::reading::Uncertainty;
use rillmark_procedures::routine::water::judge_water;
use rillmark_proto::reading::Reading;
use rillmark_proto::units::MicrosiemensPerCm;
use rillmark_proto::wire::message::Sampling;

use super::in_force::assessor;
use super::measured::{Measured, limits};
use super::reading_view::{assessed_json, heading, line};
use super::record_view::kept_records;
use super::{Context, interrupt, missing, output};
use crate::exit::Failure;
use crate::link::probe::{Probe, ProbeError, READING_PATIENCE_MS, connect};
use crate::words::en::{assess as assess_words, judgement, probe as words};

/// The longest wait in one piece, so that an interruption is heard soon.
const SLICE_MS: u64 = 250;

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
    /// Standard uncertainty in pH that `stir-check` found for the reference electrode's junction in this very
    /// water, in place of the default.
    #[arg(long, value_name = "U", value_parser = super::junction)]
    junction: Option<f64>,
    /// What was measured of the board while it was built (hardware-notes/bring-up.md): uncertainties count
    /// with it in place of the parts' limits. Nothing checks it here; `check-board --measured` does.
    #[arg(long, value_name = "FILE")]
    measured: Option<PathBuf>,
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
    let measured = options.measured.as_deref().map(Measured::read).transpose()?;
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    limits(measured.as_ref(), probe.answer().board)?;
    let every_ms = options.every.map_or(0, |seconds| seconds * 1000);
    watch(&options, measured.as_ref(), every_ms, &mut probe, context, interrupted)
}

fn watch(
    options: &Options,
    measured: Option<&Measured>,
    every_ms: u32,
    probe: &mut Probe,
    context: &mut Context<'_>,
    interrupted: fn() -> bool,
) -> Result<(), Failure> {
    probe.sample(Sampling::Off)?;
    probe.forget_readings();
    let kept = kept_records(probe)?;
    let equipment = probe.equipment()?;
    probe.sample(match options.only {
        Some(Only::Ph) => Sampling::Ph,
        Some(Only::Conductivity) => Sampling::Conductivity,
        None => Sampling::Full { interval_ms: every_ms },
    })?;
    let mut assessor = assessor(&kept, equipment.as_ref());
    assessor.on(limits(measured, probe.answer().board)?);
    if let Some(u_ph) = options.junction {
        assessor.junction(u_ph);
    }
    let (every_ms, with) = (every_ms.into(), measured);
    let result = show(options, with, every_ms, probe, assessor, context, interrupted);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    result
}

fn show(
    options: &Options,
    measured: Option<&Measured>,
    every_ms: u64,
    probe: &mut Probe,
    mut assessor: Assessor,
    context: &mut Context<'_>,
    interrupted: fn() -> bool,
) -> Result<(), Failure> {
    if !context.json {
        output::text(context.out, &heading())?;
        output::text(context.progress, &format!("{}\n", assess_words::MARKS))?;
        if let Some(measured) = measured {
            output::text(context.progress, &output::folded(&measured.said(), 2))?;
        }
    }
    let (mut tally, mut said_dilute) = (Tally::default(), false);
    let mut missing = missing::Told::default();
    let (mut shown, mut heard) = (0, probe.link().monotonic_ms());
    // Sampling one quantity alone has a pace of its own; what comes too early is left out.
    let mut next_ms = None;
    while options.count.is_none_or(|count| shown < count) && !interrupted() {
        let Some(arrived) = probe.next_reading(SLICE_MS)? else {
            if probe.link().monotonic_ms().saturating_sub(heard) > READING_PATIENCE_MS + every_ms {
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
        let assessment = assessor.reading(reading, utc_ms);
        if context.json {
            let mut value = assessed_json(reading, &reading.computed, &assessment, utc_ms);
            if let Some(measured) = measured {
                value["counted_with"] = measured.json();
            }
            output::json(context.out, &value)?;
            continue;
        }
        // What is said of many readings is said once.
        for remark in tally.add(&assessment) {
            let sentence = assess_words::sentence(&remark);
            output::line(context.progress, &assess_words::said(&sentence))?;
        }
        for sentence in missing.add(reading) {
            output::text(context.progress, &format!("{}\n", assess_words::said(sentence)))?;
        }
        if let Some(us_cm) = dilute(reading, &assessment.uncertainty).filter(|_| !said_dilute)
            && let Ok(Some(said)) = judge_water(us_cm)
        {
            said_dilute = true;
            let severity = judgement::severity(said.severity());
            let sentence = judgement::sentence(&said);
            output::line(context.progress, &format!("{severity}: {sentence}"))?;
        }
        let (uncertainty, states) = (&assessment.uncertainty, &assessment.states);
        output::text(context.out, &line(reading, &reading.computed, uncertainty, states, utc_ms))?;
    }
    Ok(())
}

/// The conductivity at 25 °C of a dilute water whose pH is told.
fn dilute(reading: &Reading, uncertainty: &Uncertainty) -> Option<MicrosiemensPerCm> {
    let us_cm = reading.computed.ph.and(reading.computed.specific_conductance_us_cm)?;
    (uncertainty.water == Some(Class::Dilute)).then(|| MicrosiemensPerCm::new(us_cm.into()))
}

#[cfg(test)]
#[path = "watch_tests.rs"]
mod tests;
