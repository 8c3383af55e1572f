//! `rillmark diagnose`: what is wrong with a probe, from its calibrations or from a session.

mod answer;
mod marks;
mod session_evidence;
mod sources;

use std::path::PathBuf;

use clap::Args;
use rillmark_proto::diagnose::{Answer, Evidence, diagnose, records};

use self::answer::Found;
use self::marks::{In, Reference, Stirred};
use self::session_evidence::session_evidence;
use self::sources::{Sources, read};
use super::in_force::{in_force, lines, remarks_json};
use super::record_view::kept_records;
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::connect;
use crate::words::en::diagnose as words;

/// `rillmark diagnose …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// Sessions and exported records to look at instead of the records that the probe keeps.
    #[arg(value_name = "FILE")]
    files: Vec<PathBuf>,
    /// From this second of the session on the probe stood in this solution: a buffer or standard of
    /// `reference list`, or air or water for anything else.
    #[arg(long = "in", value_name = "NAME@SECONDS", value_parser = marks::parse_in)]
    beakers: Vec<In>,
    /// The water was stirred between these seconds of the session, and still before and after.
    #[arg(long, value_name = "FROM..TO", value_parser = marks::parse_stirred)]
    stirred: Vec<Stirred>,
    /// A reference thermometer beside the probe showed this at that second of the session.
    #[arg(long, value_name = "CELSIUS@SECONDS", value_parser = marks::parse_reference, allow_hyphen_values = true)]
    reference_temperature: Option<Reference>,
    /// Cell constant in 1/cm that the maker states, where there is no earlier calibration.
    #[arg(long, value_name = "PER_CM", value_parser = marks::above_zero)]
    nominal_cell_constant: Option<f64>,
}

/// Gathers the evidence, looks for causes and prints.
///
/// # Errors
/// [`Exit::Fails`] when something is wrong, [`Exit::CannotTell`] when something is unclear or there is
/// too little evidence for anything, both after the diagnosis was printed; [`Exit::BadInput`] for a file that is neither session nor record, a solution that nobody knows
/// or nothing to look at; [`Exit::Storage`] when a file cannot be read; those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let marked = !options.beakers.is_empty()
        || !options.stirred.is_empty()
        || options.reference_temperature.is_some();
    let mut due = None;
    let Sources { records, sessions } = if options.files.is_empty() {
        let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
        let kept = kept_records(&mut probe)?;
        due = Some(in_force(&kept, probe.link().utc_ms()));
        Sources::of_records(kept.into_iter().filter_map(|k| k.record.ok()))
    } else {
        read(&options.files)?
    };
    let bad = |sentence: &str| Failure::new(Exit::BadInput, sentence);
    match sessions.len() {
        0 if records.is_empty() => return Err(bad(words::NO_RECORDS)),
        0 if marked => return Err(bad(words::NO_SESSION)),
        2.. if marked => return Err(bad(words::SEVERAL_SESSIONS)),
        _ => {}
    }
    let mut evidence = records::evidence(records.iter());
    for session in &sessions {
        let seen = session_evidence(
            session,
            &options.beakers,
            &options.stirred,
            options.reference_temperature,
        )?;
        evidence = merged(evidence, seen);
    }
    evidence.cell.nominal_per_cm = options.nominal_cell_constant;
    let found = Found { diagnosis: diagnose(&evidence), evidence };
    if context.json {
        let mut value = found.json();
        value["remarks"] = due.as_ref().map(remarks_json).into();
        output::json(context.out, &value)?;
    } else {
        let remarks = due.as_ref().map(lines).unwrap_or_default();
        output::text(context.out, &(found.text() + &remarks))?;
    }
    match &found.diagnosis.answer {
        Answer::NothingFound => Ok(()),
        Answer::Unclear { .. } | Answer::NotEnough => {
            Err(Failure::new(Exit::CannotTell, words::CANNOT_TELL))
        }
        Answer::Likely(_) | Answer::Unsure { .. } | Answer::Unnamed { .. } => {
            Err(Failure::new(Exit::Fails, words::SOMETHING_WRONG))
        }
    }
}

/// What a session shows goes before what the records hold; a calibration in the records is then the
/// earlier one.
fn merged(records: Evidence, mut session: Evidence) -> Evidence {
    let (was, now) = (records.electrode, &mut session.electrode);
    match (now.line, was.line) {
        (Some(_), Some(line)) => {
            let latest = records::as_earlier(&line);
            now.earlier = [latest].into_iter().chain(was.earlier).take(EARLIER).collect();
        }
        (Some(_), None) => now.earlier = was.earlier,
        (None, _) => {
            now.line = was.line;
            now.disagreement = was.disagreement;
            now.odd_buffer = was.odd_buffer;
            now.earlier = was.earlier;
            now.cold = was.cold;
        }
    }
    now.settling_s = now.settling_s.or(was.settling_s);
    let (was, now) = (records.cell, &mut session.cell);
    match now.constant_per_cm {
        Some(_) => now.earlier_per_cm = was.constant_per_cm.or(was.earlier_per_cm),
        None => {
            now.constant_per_cm = was.constant_per_cm;
            now.earlier_per_cm = was.earlier_per_cm;
        }
    }
    now.standards_percent = now.standards_percent.or(was.standards_percent);
    session
}

/// The most earlier calibrations that are kept.
const EARLIER: usize = rillmark_proto::diagnose::evidence::MAX_EARLIER;

#[cfg(test)]
#[path = "diagnose/tests.rs"]
mod tests;
