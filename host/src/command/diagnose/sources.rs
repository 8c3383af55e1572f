//! Files that are looked at: sessions and exported records, told apart by their content.

use std::fs;
use std::path::PathBuf;

use rillmark_proto::record::{CalibrationRecord, Record, codec};

use crate::exit::{Exit, Failure};
use crate::session::replay::{Session, open};
use crate::words::en::{diagnose as words, session as file_words};

/// A session with its bytes.
pub(super) struct Logged {
    pub(super) bytes: Vec<u8>,
    pub(super) session: Session,
}

/// What there is to look at.
#[derive(Default)]
pub(super) struct Sources {
    /// Calibrations, the latest first; each once.
    pub(super) records: Vec<CalibrationRecord>,
    /// Sessions, in the order named.
    pub(super) sessions: Vec<Logged>,
}

impl Sources {
    /// Records alone.
    pub(super) fn of_records(records: impl Iterator<Item = Record>) -> Self {
        let mut sources = Self::default();
        sources.add(records);
        sources
    }

    fn add(&mut self, records: impl Iterator<Item = Record>) {
        for record in records {
            if let Record::Calibration(record) = record
                && !self.records.contains(&record)
            {
                self.records.push(record);
            }
        }
        self.records.sort_by_key(|record| std::cmp::Reverse(record.utc_ms));
    }
}

/// Reads the files. The records that a session carries count too.
pub(super) fn read(files: &[PathBuf]) -> Result<Sources, Failure> {
    let mut sources = Sources::default();
    for path in files {
        let name = path.display().to_string();
        let bytes = fs::read(path)
            .map_err(|error| Failure::new(Exit::Storage, file_words::cannot_read(&name, &error)))?;
        if let Ok(record) = codec::decode(&bytes) {
            sources.add([record].into_iter());
            continue;
        }
        let session =
            open(&bytes).map_err(|_| Failure::new(Exit::BadInput, words::neither(&name)))?;
        sources.add(session.records.values().filter_map(|held| held.record.clone().ok()));
        sources.sessions.push(Logged { bytes, session });
    }
    Ok(sources)
}
