//! `rillmark diagnose`: what is wrong with a probe, from its calibrations or from a session.

mod answer;
mod marks;
mod session_evidence;
mod slip;
mod sources;

use std::path::PathBuf;

use clap::Args;
use rillmark_procedures::diagnose::{Answer, Evidence, diagnose, records};
use rillmark_proto::record::fitted::Fitted;

use self::answer::Found;
use self::marks::{In, Reference, Stirred};
use self::session_evidence::session_evidence;
use self::sources::{Sources, Why, read};
use super::in_force::in_force;
use super::record_view::{Unread, kept_records};
use super::{Context, output};
use crate::exit::{Exit, Failure, after_verdict};
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
/// [`Exit::Fails`] when something is wrong or a verification failed, [`Exit::CannotTell`] when something
/// is unclear or there is too little evidence for anything, both after the diagnosis was printed;
/// [`Exit::BadInput`] for a file that is neither session nor record, a solution that nobody knows, a mark
/// outside the session or a change of beaker where none was stated, sessions of different sensors or
/// nothing to look at; [`Exit::Storage`] when a file cannot be read; those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let marked = !options.beakers.is_empty()
        || !options.stirred.is_empty()
        || options.reference_temperature.is_some();
    let (mut due, mut told) = (None, None);
    let sources = if options.files.is_empty() {
        let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
        told = probe.equipment()?.map(|equipment| equipment.fitted);
        let kept = kept_records(&mut probe)?;
        due = Some(in_force(&kept, None, probe.link().utc_ms()));
        let mut sources = Sources::default();
        for kept in kept {
            let short = kept.id.short();
            match kept.record {
                Ok(record) => sources.add(short, Ok(record)),
                Err(Unread::Here(error)) => sources.add(short, Err(error)),
                Err(_) => sources.pass_over(short, Why::NotGiven),
            }
        }
        sources
    } else {
        read(&options.files)?
    };
    let bad = |sentence: &str| Failure::new(Exit::BadInput, sentence);
    match sources.sessions.len() {
        0 if sources.are_empty() => return Err(bad(words::NO_RECORDS)),
        0 if marked => return Err(bad(words::NO_SESSION)),
        2.. if marked => return Err(bad(words::SEVERAL_SESSIONS)),
        _ => {}
    }
    let fitted = sources.fitted(told)?;
    let evidence = gathered(&options, &sources, &fitted)?;
    let found = Found {
        diagnosis: diagnose(&evidence),
        evidence,
        passed_over: sources.passed_over(&fitted),
        failed: sources.failed(&fitted),
        parted: sources.parted(&fitted),
        fitted,
        remarks: due.as_ref().map(|due| due.remarks.as_slice()),
    };
    let printed = match context.json {
        true => output::json(context.out, &found.json()),
        false => output::text(context.out, &found.text()),
    };
    let verdict = match &found.diagnosis.answer {
        _ if !found.failed.is_empty() => Err(Failure::new(Exit::Fails, words::VERIFICATION_FAILED)),
        _ if !found.parted.is_empty() => Err(Failure::new(Exit::Fails, words::COEFFICIENTS_PART)),
        Answer::NothingFound => Ok(()),
        Answer::Unclear { .. } | Answer::NotEnough => {
            Err(Failure::new(Exit::CannotTell, words::CANNOT_TELL))
        }
        Answer::Likely(_) | Answer::Unsure { .. } | Answer::Unnamed { .. } => {
            Err(Failure::new(Exit::Fails, words::SOMETHING_WRONG))
        }
    };
    after_verdict(verdict, printed)
}

/// Everything that sessions and records say about what is fitted.
fn gathered(options: &Options, sources: &Sources, fitted: &Fitted) -> Result<Evidence, Failure> {
    let mut kept = records::evidence(sources.calibrations(), fitted);
    kept.cell.nominal_per_cm = options.nominal_cell_constant;
    let mut seen: Option<Evidence> = None;
    for session in &sources.sessions {
        let (beakers, stirred) = (&options.beakers, &options.stirred);
        let one = session_evidence(session, beakers, stirred, options.reference_temperature)?;
        seen = Some(match seen {
            Some(others) => others.with(one, &kept),
            None => one,
        });
    }
    Ok(seen.map_or(kept.clone(), |seen| seen.after(kept)))
}

#[cfg(test)]
#[path = "diagnose/tests.rs"]
mod tests;
