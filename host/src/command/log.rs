//! `rillmark log`: readings into a session file.

use std::io::{IsTerminal, Write};
use std::path::PathBuf;

use clap::Args;
use rillmark_proto::reading::Flags;
use rillmark_proto::wire::message::Sampling;
use serde_json::json;

use super::measured::{Measured, limits};
use super::reading_view::{line, tally_json, tally_lines, tally_rows};
use super::session_view::{
    clock_sentence, clock_set_rows, clock_sets_json, doubled_rows, store_fault_row,
};
use super::typed::plain;
use super::{Context, interrupt, missing, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::connect;
use crate::session::entry::Cause;
use crate::session::log::{Event, Logged, Plan, log};
use crate::session::time::utc_text;
use crate::session::writer::Writer;
use crate::words::en::{assess as assess_words, session as words, typed as typed_words};

/// `rillmark log …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_LOG)]
pub struct Options {
    /// The session file to make; nothing is overwritten [default: log-TIME.session].
    #[arg(long, value_name = "FILE")]
    out: Option<PathBuf>,
    /// Go on in FILE if it is there already and of this board, as a log that is started again after a
    /// crash does.
    #[arg(long = "continue", requires = "out")]
    resume: bool,
    /// Seconds from reading to reading, 0 as fast as it goes.
    #[arg(long, value_name = "SECONDS", default_value_t = 10,
          value_parser = clap::value_parser!(u32).range(0..=86_400))]
    every: u32,
    /// End after so many readings [default: when interrupted].
    #[arg(long, value_name = "N", conflicts_with = "for")]
    count: Option<u64>,
    /// End after so many seconds.
    #[arg(long = "for", value_name = "SECONDS")]
    r#for: Option<u64>,
    /// Words to keep in the session.
    #[arg(long, value_name = "TEXT")]
    note: Option<String>,
    /// Standard uncertainty in pH that `stir-check` found for the reference electrode's junction in this very
    /// water, in place of the default. The session keeps it.
    #[arg(long, value_name = "U", value_parser = super::junction)]
    junction: Option<f64>,
    /// What was measured of the board while it was built (hardware-notes/bring-up.md): uncertainties count
    /// with it in place of the parts' limits, here and in every replay. The session keeps it; nothing checks
    /// it here, `check-board --measured` does.
    #[arg(long, value_name = "FILE")]
    measured: Option<PathBuf>,
}

/// Logs until the plan is done or the person ends it.
///
/// # Errors
/// See [`log`].
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    if let Some(note) = &options.note {
        plain(typed_words::NOTE, note).map_err(|text| Failure::new(Exit::BadInput, text))?;
    }
    let measured = options.measured.as_deref().map(Measured::read).transpose()?;
    let plan = Plan {
        sampling: Sampling::Full { interval_ms: options.every * 1000 },
        count: options.count,
        for_ms: options.r#for.map(|seconds| seconds.saturating_mul(1000)),
        note: options.note,
        junction_ph: options.junction,
        measured: measured.as_ref().map(Measured::kept),
    };
    plan.check()?;
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    limits(measured.as_ref(), probe.answer().board)?;
    let path = options.out.unwrap_or_else(|| default_name(probe.link().utc_ms()).into());
    let mut writer = match options.resume {
        true => Writer::resume(&path, probe.answer().board)?,
        false => Writer::create(&path)?,
    };
    let began = match writer.is_resumed() {
        true => words::going_on_in(writer.name()),
        false => words::logging_into(writer.name()),
    };
    // A line that is written over again, for a person who looks on.
    let live = std::io::stderr().is_terminal() && !context.json;
    let progress = &mut *context.progress;
    let line_name = probe.link().name().to_owned();
    let (mut gone, mut said_fault) = (String::new(), false);
    let mut missing = missing::Told::default();
    let logged = log(&mut probe, &mut writer, &plan, &interrupted, &mut |event| {
        // Progress that cannot be shown is no reason to stop logging.
        let _ = match event {
            Event::Began => output::line(progress, &began).and_then(|()| {
                let said =
                    measured.as_ref().map_or_else(String::new, |it| output::folded(&it.said(), 2));
                output::text(progress, &said)
            }),
            Event::Reading { reading, utc_ms, assessment, new } => {
                // What is said of many readings is said once.
                let is_fault = reading.flags.has(Flags::STORE_FAULT);
                if is_fault && !std::mem::replace(&mut said_fault, true) {
                    let _ = instead(progress, live, words::STORE_FAULT_BEGAN);
                }
                let remarks = new.iter().map(assess_words::sentence);
                let missing = missing.add(reading).into_iter().map(str::to_owned);
                for sentence in remarks.chain(missing) {
                    let _ = instead(progress, live, &assess_words::said(&sentence));
                }
                if live {
                    let (uncertainty, states) = (&assessment.uncertainty, &assessment.states);
                    let line = line(reading, &reading.computed, uncertainty, states, utc_ms);
                    let _ = output::over(progress, line.trim_end());
                }
                Ok(())
            }
            Event::ClockSet(set) => instead(progress, live, &clock_sentence(set)),
            Event::GapBegan(cause, error) => {
                gone = error.to_string();
                if live {
                    let _ = output::text(progress, "\n");
                }
                let sentence = match cause {
                    Cause::LineLost => words::gap_line_lost(&line_name),
                    Cause::Silent => words::gap_silent(&line_name),
                };
                output::line(progress, &sentence)
            }
            // Said once for every new reason, not at every attempt.
            Event::StillGone(error) if error.to_string() == gone => Ok(()),
            Event::StillGone(error) => {
                gone = error.to_string();
                output::line(progress, &words::still_gone(error))
            }
            Event::GapEnded(ms) => output::line(progress, &words::gap_ended(ms)),
            Event::Restarted(boot) => instead(progress, live, &words::restarted(boot)),
        };
        Ok(())
    })?;
    if live {
        let _ = output::text(context.progress, "\n");
    }
    tell(&writer, &logged, measured.as_ref(), context)
}

/// A line in place of the one that is written over again.
fn instead(progress: &mut dyn Write, live: bool, sentence: &str) -> Result<(), Failure> {
    if !live {
        return output::line(progress, sentence);
    }
    output::over(progress, sentence)?;
    output::text(progress, "\n")
}

fn tell(
    writer: &Writer,
    logged: &Logged,
    measured: Option<&Measured>,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    if context.json {
        let tally = tally_json(&logged.tally);
        let mut value = json!({
            "file": writer.name(),
            "bytes": writer.written(),
            "readings": logged.readings,
            "gaps": logged.gaps,
            "restarts": logged.restarts,
            "line_damaged_bytes": logged.line_damaged_bytes,
            "duplicates": logged.duplicates,
            "contradictions": logged.contradictions,
            "store_fault_readings": logged.store_faults,
            "clock_set": clock_sets_json(&logged.clock_sets),
            "clock_set_left_out": logged.clock_sets.left_out(),
            "interrupted": logged.interrupted,
            "states": tally["states"],
            "remarks": tally["remarks"],
        });
        measured.into_iter().for_each(|it| value["counted_with"] = it.json());
        return output::json(context.out, &value);
    }
    let mut table = output::Table::pairs();
    table.row([words::FILE, writer.name()]);
    table.row([words::BYTES.to_owned(), writer.written().to_string()]);
    table.row([words::READINGS.to_owned(), logged.readings.to_string()]);
    table.row([words::GAPS.to_owned(), logged.gaps.to_string()]);
    if logged.restarts > 0 {
        table.row([words::RESTARTS.to_owned(), logged.restarts.to_string()]);
    }
    table.row([words::LINE_DAMAGE.to_owned(), logged.line_damaged_bytes.to_string()]);
    doubled_rows(logged.duplicates, logged.contradictions, &mut table);
    store_fault_row(logged.store_faults, &mut table);
    clock_set_rows(&logged.clock_sets, &mut table);
    tally_rows(&logged.tally, &mut table);
    output::text(context.out, &(table.text() + &tally_lines(&logged.tally)))
}

/// `log-20260101T000000Z.session`.
fn default_name(utc_ms: i64) -> String {
    let time = utc_text(utc_ms).unwrap_or_default();
    let time: String = time.chars().take(19).filter(|c| *c != '-' && *c != ':').collect();
    format!("log-{time}Z.session")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_default_name_tells_the_time() {
        assert_eq!(default_name(1_767_225_600_007), "log-20260101T000000Z.session");
    }
}
