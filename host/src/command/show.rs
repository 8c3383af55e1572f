//! `rillmark show`: who the probe is, what is fitted, and which calibrations it keeps.

use std::fs::OpenOptions;
use std::io::Write;
use std::path::PathBuf;

use clap::Args;
use serde_json::json;

use super::equip::equipment_rows;
use super::record_view::{Kept, equipment_json, kept_records, utc};
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::link::probe::{ProbeError, connect};
use crate::session::time::utc_text;
use crate::words::en::{probe as words, session as file_words};

/// `rillmark show …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_SHOW)]
pub struct Options {
    /// One record whole, by its short form or any longer beginning of its identity.
    #[arg(long, value_name = "SHORT")]
    record: Option<String>,
    /// Write that record's canonical bytes into a new file, for `replay --calibration`.
    #[arg(long, value_name = "FILE", requires = "record")]
    export: Option<PathBuf>,
}

/// Asks the probe and prints.
///
/// # Errors
/// Those of the conversation; [`Exit::BadInput`] for a record that the probe does not keep;
/// [`Exit::Storage`] when the export cannot be written.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    let kept = kept_records(&mut probe)?;
    let now_ms = probe.link().utc_ms();
    if let Some(wanted) = options.record {
        let record = find(&kept, &wanted)?;
        if let Some(path) = &options.export {
            let name = path.display().to_string();
            OpenOptions::new()
                .write(true)
                .create_new(true)
                .open(path)
                .and_then(|mut file| file.write_all(&record.bytes).and_then(|()| file.sync_all()))
                .map_err(|error| {
                    Failure::new(Exit::Storage, file_words::cannot_export(&name, &error))
                })?;
        }
        return match context.json {
            true => output::json(context.out, &record.json()),
            false => output::text(context.out, &record.whole(now_ms)),
        };
    }
    let equipment = probe.equipment()?;
    let clock = match probe.clock() {
        Ok(clock) => Ok(clock),
        Err(error @ ProbeError::Refused(_)) => Err(error.to_string()),
        Err(error) => return Err(error.into()),
    };
    let answer = probe.answer();
    let [major, minor, patch] = answer.firmware;
    let firmware = format!("{major}.{minor}.{patch}");
    if context.json {
        let time = clock.as_ref().ok().copied().flatten();
        let value = json!({
            "port": probe.link().name(),
            "board": answer.board.to_string(),
            "firmware": firmware,
            "boot": answer.boot,
            "wire": { "min": answer.wire_min, "max": answer.wire_max },
            "record_max": answer.record_max,
            "equipment": equipment_json(equipment.as_ref()),
            "clock": {
                "utc": time.and_then(utc_text),
                "ahead_ms": time.map(|time| time.saturating_sub(now_ms)),
                "problem": match &clock {
                    Ok(Some(_)) => None,
                    Ok(None) => Some("lost"),
                    Err(_) => Some("silent"),
                },
            },
            "records": kept.iter().map(Kept::json).collect::<Vec<_>>(),
        });
        return output::json(context.out, &value);
    }
    let mut table = output::Table::pairs();
    table.row([words::PORT, probe.link().name()]);
    table.row([words::BOARD.to_owned(), answer.board.to_string()]);
    table.row([words::FIRMWARE.to_owned(), firmware]);
    table.row([words::BOOT.to_owned(), answer.boot.to_string()]);
    equipment_rows(&mut table, equipment.as_ref());
    let clock = match clock {
        Ok(Some(time)) => words::clock(&utc(time), time.saturating_sub(now_ms)),
        Ok(None) => words::CLOCK_LOST.to_owned(),
        Err(refusal) => refusal,
    };
    table.row([words::CLOCK.to_owned(), clock]);
    let records = match kept.as_slice() {
        [] => format!("{}\n", words::NO_RECORDS),
        kept => Kept::table(kept, now_ms),
    };
    output::text(context.out, &format!("{}\n{records}", table.text()))
}

/// The record whose identity begins so.
fn find<'a>(kept: &'a [Kept], wanted: &str) -> Result<&'a Kept, Failure> {
    let wanted = wanted.to_ascii_lowercase();
    let mut found = kept.iter().filter(|kept| kept.id.to_string().starts_with(&wanted));
    match (found.next(), found.next()) {
        (Some(one), None) if !wanted.is_empty() => Ok(one),
        (None, _) => Err(Failure::new(
            Exit::BadInput,
            words::no_such_record(&wanted, &kept.iter().map(short).collect::<Vec<_>>()),
        )),
        (Some(_), _) => Err(Failure::new(Exit::BadInput, words::several_records(&wanted))),
    }
}

fn short(kept: &Kept) -> String {
    kept.id.short().to_string()
}
