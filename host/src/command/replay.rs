//! `rillmark replay`: a session read back, every reading computed again.

mod counted;
mod csv_file;
mod summary;

use std::path::{Path, PathBuf};

use clap::Args;
use rillmark_proto::identity::RecordId;
use rillmark_proto::reading::CalibrationsUsed;
use rillmark_proto::record::{Quantity, Record, codec};
use serde_json::json;

use self::counted::Counted;
use self::csv_file::CsvFile;
use super::new_file::NewFile;
use super::reading_view::{assessed_json, computed_json};
use super::record_view::what;
use super::{Context, output};
use crate::exit::{Exit, Failure, after_verdict};
use crate::session::replay::{Match, Replayed, Summary};
use crate::session::source::Source;
use crate::words::en::session as words;

/// The most readings that are named one by one when they do not match.
const NAMED: usize = 10;

/// `rillmark replay …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_REPLAY)]
pub struct Options {
    /// The session file.
    file: PathBuf,
    /// Write the readings as CSV into a new file, or `-` for standard output.
    #[arg(long, value_name = "FILE")]
    csv: Option<PathBuf>,
    /// Compute the values under this calibration record (a file of `show --export`) and not under the one
    /// that the probe used; again for another sensor.
    #[arg(long, value_name = "FILE")]
    calibration: Vec<PathBuf>,
    /// What was measured of the board while it was built (hardware-notes/bring-up.md): uncertainties count
    /// with it in place of the parts' limits. Without this option they count with what `log --measured` kept
    /// in the session; `none` leaves that out too.
    #[arg(long, value_name = "FILE")]
    measured: Option<PathBuf>,
}

impl Options {
    #[cfg(test)]
    pub(super) const fn of(file: PathBuf) -> Self {
        Self { file, csv: None, calibration: Vec::new(), measured: None }
    }

    /// A replay of this file with its readings into that CSV file.
    pub(super) fn into_csv(file: PathBuf, csv: PathBuf) -> Self {
        Self { file, csv: Some(csv), calibration: Vec::new(), measured: None }
    }
}

/// Other records to compute with.
#[derive(Default)]
struct Other {
    records: Vec<(RecordId, Record)>,
    used: CalibrationsUsed,
}

/// Reads, computes again, compares and prints.
///
/// # Errors
/// [`Exit::Mismatch`] when a reading does not match its raw values, or a record was altered, is missing,
/// cannot be read or cannot be told from another; [`Exit::CannotTell`] when records of a later release are
/// all that is in the way;
/// [`Exit::BadInput`] for a file that is no session or no record; [`Exit::Storage`] when a file
/// cannot be read or written.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let csv_to_output = options.csv.as_deref() == Some(Path::new("-"));
    if csv_to_output && context.json {
        return Err(Failure::new(Exit::Usage, words::CSV_OR_JSON));
    }
    let name = options.file.display().to_string();
    let source = Source::of(&options.file)?;
    let mut session = source.session()?;
    let counted = Counted::with(options.measured.as_deref(), &mut session)?;
    let other = other_calibrations(&options.calibration)?;

    let mut mismatched = Vec::new();
    let csv_place = options.csv.as_deref().filter(|_| !csv_to_output);
    let mut file = csv_place.map(NewFile::beside).transpose()?;
    // What cannot be written any more is not; every reading is checked all the same.
    let mut printed = Ok(());
    let summary = {
        let out = &mut *context.out;
        let (mut csv, mut lines) = match &mut file {
            _ if csv_to_output => (Some(CsvFile::over(out)?), None),
            Some(file) => (Some(CsvFile::over(file)?), context.json.then_some(out)),
            None => (None, context.json.then_some(out)),
        };
        let summary = source.replay(&session, &other.records, |replayed| {
            let replayed = under(replayed, &other.used);
            if let Some(csv) = csv.as_mut().filter(|_| printed.is_ok()) {
                printed = csv.reading(&replayed);
            }
            if let Some(out) = lines.as_mut().filter(|_| printed.is_ok()) {
                printed = output::json(*out, &reading_line(&replayed));
            }
            if replayed.matches == Match::Different && mismatched.len() < NAMED {
                mismatched.push(replayed);
            }
        })?;
        if let Some(csv) = csv {
            printed = printed.and(csv.finish());
        }
        summary
    };
    if let Some(file) = file.filter(|_| printed.is_ok()) {
        printed = file.keep();
    }

    let counted = counted.over(&session, &summary);
    let ids: Vec<_> = other.records.iter().map(|(id, _)| id.to_string()).collect();
    let told = if context.json {
        output::json(context.out, &summary::json(&session, &summary, &ids, &counted))
    } else {
        let text = summary::table(&name, &session, &summary, &ids, &mismatched) + &counted.text();
        // Rows of CSV on standard output stay alone there.
        let to = if csv_to_output { &mut *context.progress } else { &mut *context.out };
        output::text(to, &text)
    };
    after_verdict(verdict(&summary), printed.and(told))
}

/// Whether what was recorded holds.
fn verdict(summary: &Summary) -> Result<(), Failure> {
    let exit = match summary.holds_but_for_later_releases() {
        _ if summary.verified() => return Ok(()),
        true => Exit::CannotTell,
        false => Exit::Mismatch,
    };
    let wrong = words::Wrong {
        mismatches: summary.mismatches,
        readings: summary.readings,
        altered: summary.altered_records,
        ambiguous: summary.ambiguous_records,
        unchecked: summary.unresolved - summary.later_release,
        later_release: summary.later_release,
        missing_verifications: summary.missing_verifications.len(),
        without_header: summary.without_header,
        other_board: summary.other_board,
    };
    Err(Failure::new(exit, words::does_not_match(&wrong)))
}

fn other_calibrations(files: &[PathBuf]) -> Result<Other, Failure> {
    let mut other = Other::default();
    for path in files {
        let source = Source::of(path)?;
        let name = source.name();
        let bytes = source.record_bytes()?;
        let record = codec::decode(&bytes)
            .map_err(|error| Failure::new(Exit::BadInput, words::not_a_record(name, &error)))?;
        let id = codec::identity(&bytes);
        if record.calibration().is_none() {
            return Err(Failure::new(Exit::BadInput, words::not_a_calibration(name)));
        }
        let used = match record.quantity() {
            Quantity::Ph => &mut other.used.ph,
            Quantity::Conductivity => &mut other.used.conductivity,
            Quantity::Temperature => &mut other.used.temperature,
        };
        if let Some(earlier) = used.replace(id.short()) {
            let of = what(record.quantity());
            let sentence = words::two_calibrations(&earlier, &id.short(), of);
            return Err(Failure::new(Exit::BadInput, sentence));
        }
        other.records.push((id, record));
    }
    Ok(other)
}

/// The reading with the other calibrations named as the ones used, when there are any.
fn under(mut replayed: Replayed, other: &CalibrationsUsed) -> Replayed {
    if replayed.assessment.recalibrated.is_some() {
        let own = &mut replayed.reading.calibrations;
        own.ph = other.ph.or(own.ph);
        own.temperature = other.temperature.or(own.temperature);
        own.conductivity = other.conductivity.or(own.conductivity);
    }
    replayed
}

fn reading_line(replayed: &Replayed) -> serde_json::Value {
    let recorded = &replayed.reading.computed;
    let assessment = &replayed.assessment;
    let mut value =
        assessed_json(&replayed.reading, replayed.values(), assessment, replayed.utc_ms);
    value["utc_doubtful"] = replayed.is_utc_doubtful.into();
    value["match"] = match replayed.matches {
        Match::Same => json!(true),
        Match::Different => json!(false),
        Match::Unresolved => json!(null),
    };
    if replayed.matches == Match::Different {
        value["recomputed"] = computed_json(&assessment.computed);
    }
    if assessment.recalibrated.is_some() {
        value["recorded"] = computed_json(recorded);
    }
    value
}

#[cfg(test)]
#[path = "replay/tests.rs"]
mod tests;
