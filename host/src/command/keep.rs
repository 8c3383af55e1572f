//! `rillmark keep`: records from files into the probe again.

use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;

use clap::Args;
use rillmark_proto::identity::RecordId;
use rillmark_proto::record::{Record, RecordBytes, RecordKind, codec};
use rillmark_proto::wire::message::Refusal;
use serde_json::json;

use super::guided::Gone;
use super::record_view::{Kept, brief, kept_records};
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, ProbeError, connect};
use crate::session::source::Source;
use crate::words::en::{probe as words, routine as routine_words};

/// `rillmark keep …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_KEEP)]
pub struct Options {
    /// Records of `show --export`, and sessions, which carry the records that were in force.
    #[arg(value_name = "FILE", required = true)]
    files: Vec<PathBuf>,
}

type Records = BTreeMap<RecordId, (Record, RecordBytes)>;

/// Has the probe keep them. A calibration that is in force stays so; where none is, the newest is then.
///
/// # Errors
/// [`Exit::BadInput`] for a file that holds no record or those of another board, and [`Exit::Refused`] for
/// one of a sensor that is not fitted, before anything is kept; otherwise those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let records = read(&options.files)?;
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    let before = probe.records()?;
    let kept = keep(&mut probe, records)?;
    let gone = Gone::between(before, &probe.records()?);
    let in_force: Vec<_> =
        kept_records(&mut probe)?.into_iter().filter(|kept| kept.in_force).collect();
    if context.json {
        let value = json!({
            "board": probe.answer().board.to_string(),
            "kept": kept.iter().map(|(id, _)| id.to_string()).collect::<Vec<_>>(),
            "no_longer_kept": gone.ids(),
            "in_force": in_force.iter().map(Kept::json).collect::<Vec<_>>(),
        });
        return output::json(context.out, &value);
    }
    let again = kept.iter().map(|(id, record)| words::kept_again(&id.short(), &brief(record)));
    let text = match kept.is_empty() {
        true => output::line_of(words::ALL_KEPT_ALREADY),
        false => again.map(|line| output::line_of(&line)).collect(),
    };
    let table = Kept::table(&in_force, probe.link().utc_ms());
    output::text(context.out, &format!("{text}{}\n{}\n{table}", gone.lines(), words::IN_FORCE))
}

/// What was kept that the probe did not have.
fn keep(probe: &mut Probe, mut records: Records) -> Result<Vec<(RecordId, Record)>, Failure> {
    let board = probe.answer().board;
    let fitted = probe.equipment()?.map(|equipment| equipment.fitted).unwrap_or_default();
    for (record, _) in records.values() {
        if record.board() != board {
            let made_for = record.board();
            return Err(ProbeError::Refused(Refusal::OtherBoard { made_for }).into());
        }
        if record.of().is_none() || fitted.serial_for(record.quantity()) != record.of() {
            return Err(ProbeError::Refused(Refusal::NotFitted).into());
        }
    }
    let listed = kept_records(probe)?;
    let in_force: BTreeSet<_> = listed.iter().filter(|it| it.in_force).map(|it| it.id).collect();
    records.retain(|id, _| !listed.iter().any(|kept| kept.id == *id && kept.record.is_ok()));
    let new: Vec<_> = records.iter().map(|(id, (record, _))| (*id, record.clone())).collect();
    if new.is_empty() {
        return Ok(new);
    }
    // What is kept last is in force: so the calibrations that are now follow once more.
    for Kept { id, bytes, record, .. } in listed {
        if let (true, Ok(record)) = (in_force.contains(&id), record) {
            records.insert(id, (record, bytes));
        }
    }
    let mut records: Vec<_> = records.into_iter().collect();
    records.sort_by_key(|(id, (record, _))| {
        let is_check = record.kind() == RecordKind::Verification;
        (in_force.contains(id), record.utc_ms(), is_check)
    });
    for (id, (_, bytes)) in records {
        let kept = probe.keep(bytes.clone())?;
        if kept != id || probe.record(kept)? != bytes {
            return Err(Failure::new(Exit::Probe, routine_words::NOT_KEPT_AS_GIVEN));
        }
    }
    Ok(new)
}

/// The records of the files, each once.
fn read(files: &[PathBuf]) -> Result<Records, Failure> {
    let mut records = BTreeMap::new();
    for path in files {
        let source = Source::of(path)?;
        let none = || Failure::new(Exit::BadInput, words::no_record_in(source.name()));
        let held = match source.record()? {
            Some(record) => vec![record],
            None => {
                let session = source.session().map_err(|failure| match failure.exit {
                    Exit::BadInput => none(),
                    _ => failure,
                })?;
                let held = session.records.into_values().filter(|held| !held.altered);
                held.filter_map(|held| Some((held.id, held.record.ok()?))).collect()
            }
        };
        // Nothing but what has the very same bytes, and so the same identity.
        let same = held.into_iter().filter_map(|(id, record)| {
            let bytes = codec::encode(&record).ok()?;
            (codec::identity(&bytes) == id).then_some((id, (record, bytes)))
        });
        let same: Vec<_> = same.collect();
        if same.is_empty() {
            return Err(none());
        }
        records.extend(same);
    }
    Ok(records)
}
