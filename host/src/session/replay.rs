//! Reads a session back and computes every reading again from its raw integers.

use std::collections::BTreeMap;

use rillmark_metrology::assess::{Assessment, Assessor, Tally};
use rillmark_proto::identity::{RecordId, ShortId};
use rillmark_proto::reading::{Computed, Reading};
use rillmark_proto::record::{Record, codec};

use super::entry::{EndReason, Entry, Header, SESSION_VERSION};
use super::reader::{Item, items};
use super::time::Marks;

/// Why bytes are no session.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum NotASession {
    /// There is not one byte.
    Empty,
    /// There is not one whole frame in it.
    Foreign,
    /// All that the host wrote is of a later file format.
    Newer {
        /// The format.
        found: u8,
    },
}

/// A record as the session holds it.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Identity under which it was written.
    pub id: RecordId,
    /// What it says; an error when this release cannot read it.
    pub record: Result<Record, codec::DecodeError>,
    /// True when the bytes do not have that identity: somebody changed them.
    pub altered: bool,
}

/// Everything of a session that holds for more than one reading.
#[derive(Clone, Debug, Default)]
pub struct Session {
    /// The headers, the first one first.
    pub headers: Vec<Header>,
    /// The records by their short forms.
    pub records: BTreeMap<ShortId, Held>,
    /// Notes, in order.
    pub notes: Vec<String>,
    /// Where probe time stands against UTC.
    pub marks: Marks,
}

/// What a replay found.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Summary {
    /// Whole readings.
    pub readings: u64,
    /// Places where readings are missing: the host recorded a gap, the running number steps by
    /// more than one, or the probe started anew.
    pub gaps: u64,
    /// Readings missing by their running numbers, as far as these tell.
    pub missing_readings: u64,
    /// Bytes of the file that belong to no whole frame, the torn end not counted.
    pub damaged_bytes: u64,
    /// Bytes of a frame whose writing was cut short at the end.
    pub torn_bytes: u64,
    /// Damaged bytes that the host saw on the line while it logged.
    pub line_damaged_bytes: u64,
    /// Readings whose recorded values are not what their raw integers give.
    pub mismatches: u64,
    /// Readings that name a record which the session does not hold or nobody can read.
    pub unresolved: u64,
    /// Records whose bytes do not have the identity they were written under.
    pub altered_records: u64,
    /// Whole frames that this release does not read.
    pub unknown_frames: u64,
    /// How the log ended; `None` when it was cut short.
    pub end: Option<EndReason>,
    /// What was said of the readings.
    pub tally: Tally,
}

impl Replayed {
    /// The values: those under the other calibrations where any were given, else as recorded.
    #[must_use]
    pub fn values(&self) -> &Computed {
        self.assessment.recalibrated.as_ref().unwrap_or(&self.reading.computed)
    }
}

impl Summary {
    /// True when every value that could be computed again is the recorded one.
    #[must_use]
    pub const fn verified(&self) -> bool {
        self.mismatches == 0 && self.altered_records == 0
    }
}

/// Whether a recorded reading is what its raw integers give.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Match {
    /// To the last bit.
    Same,
    /// It is not.
    Different,
    /// A record it names is not there or cannot be read; what does not depend on it is the same.
    Unresolved,
}

/// One reading of a replay.
#[derive(Clone, Debug, PartialEq)]
pub struct Replayed {
    /// As recorded.
    pub reading: Reading,
    /// Computed again, and what that is worth.
    pub assessment: Assessment,
    /// Recorded and computed again, compared.
    pub matches: Match,
    /// UTC in ms since 1970; `None` without a mark of that start of the probe.
    pub utc_ms: Option<i64>,
}

/// Reads what holds for the whole session.
///
/// # Errors
/// When the bytes are no session at all. Damage is not an error.
pub fn open(bytes: &[u8]) -> Result<Session, NotASession> {
    if bytes.is_empty() {
        return Err(NotASession::Empty);
    }
    let (mut session, mut frames, mut newer) = (Session::default(), 0_u64, None);
    for (_, item) in items(bytes) {
        match item {
            Item::Damage { .. } | Item::Torn { .. } => continue,
            Item::Newer { version } => newer = Some(version),
            Item::Entry(entry) => take(&mut session, *entry),
            Item::Reading(_) | Item::Other => {}
        }
        frames += 1;
    }
    match (frames, newer) {
        (0, _) => Err(NotASession::Foreign),
        (_, Some(found)) if found > SESSION_VERSION => Err(NotASession::Newer { found }),
        _ => Ok(session),
    }
}

fn take(session: &mut Session, entry: Entry) {
    match entry {
        Entry::Header(header) => session.headers.push(header),
        Entry::Record { id, bytes } => {
            let altered = codec::identity(&bytes) != id;
            let record = codec::decode(&bytes);
            session.records.insert(id.short(), Held { id, record, altered });
        }
        Entry::Mark(mark) => session.marks.add(&mark),
        Entry::Note { text, .. } => session.notes.push(text),
        Entry::Opening { .. }
        | Entry::GapBegan { .. }
        | Entry::GapEnded { .. }
        | Entry::End { .. }
        | Entry::Junction { .. } => {}
    }
}

/// Computes every reading again and hands each to `visit`, in the order of the file.
///
/// `other` holds calibrations to compute with in place of the session's own of the same quantity.
///
/// # Errors
/// Those of `visit`.
pub fn replay<E>(
    bytes: &[u8],
    session: &Session,
    other: &[Record],
    mut visit: impl FnMut(Replayed) -> Result<(), E>,
) -> Result<Summary, E> {
    let altered = session.records.values().filter(|held| held.altered).count();
    let mut summary = Summary { altered_records: altered as u64, ..Summary::default() };
    let mut assessor = Assessor::new();
    for (short, held) in &session.records {
        if let Ok(record) = &held.record {
            assessor.know(*short, record);
        }
    }
    for record in other {
        assessor.apply(record);
    }
    let mut trail = Trail::default();
    for (_, item) in items(bytes) {
        match item {
            Item::Reading(reading) => {
                trail.reading(&reading, &mut summary);
                let replayed = compute(&reading, session, &mut assessor);
                summary.tally.add(&replayed.assessment);
                match replayed.matches {
                    Match::Same => {}
                    Match::Different => summary.mismatches += 1,
                    Match::Unresolved => summary.unresolved += 1,
                }
                visit(replayed)?;
            }
            Item::Entry(entry) => match *entry {
                Entry::GapBegan { .. } => trail.gap = true,
                // Numbers of a file are foreign.
                Entry::Junction { u_ph, .. } if u_ph.is_finite() && u_ph > 0.0 => {
                    assessor.junction(u_ph);
                }
                Entry::End { reason, line_damaged_bytes, .. } => {
                    summary.end = Some(reason);
                    summary.line_damaged_bytes = line_damaged_bytes;
                }
                _ => {}
            },
            Item::Other | Item::Newer { .. } => summary.unknown_frames += 1,
            Item::Damage { bytes } => summary.damaged_bytes += bytes,
            Item::Torn { bytes } => summary.torn_bytes += bytes,
        }
    }
    summary.gaps += u64::from(trail.gap);
    Ok(summary)
}

/// Where the readings stand, to see what is missing between them.
#[derive(Debug, Default)]
struct Trail {
    last: Option<(u32, u32)>,
    /// A gap was recorded since the last reading.
    gap: bool,
}

impl Trail {
    fn reading(&mut self, reading: &Reading, summary: &mut Summary) {
        let (boot, running) = (reading.time.boot, reading.running);
        let gap = std::mem::take(&mut self.gap);
        let step = match self.last {
            Some((last_boot, last)) if last_boot == boot => {
                let step = i64::from(running) - i64::from(last);
                summary.missing_readings += u64::try_from(step - 1).unwrap_or(0);
                step != 1
            }
            Some(_) => true,
            None => false,
        };
        summary.gaps += u64::from(gap || step);
        summary.readings += 1;
        self.last = Some((boot, running));
    }
}

fn compute(reading: &Reading, session: &Session, assessor: &mut Assessor) -> Replayed {
    let utc_ms = session.marks.utc_ms(reading.time);
    let assessment = assessor.reading(reading, utc_ms);
    let (recomputed, unresolved) = (&assessment.computed, assessment.unresolved);
    // What hangs on a missing record cannot be compared; the rest can.
    let mut comparable = reading.computed;
    if unresolved.temperature {
        comparable.temperature_c = recomputed.temperature_c;
    }
    if unresolved.ph || unresolved.temperature {
        comparable.ph = recomputed.ph;
    }
    if unresolved.conductivity {
        comparable.conductivity_us_cm = recomputed.conductivity_us_cm;
    }
    if unresolved.conductivity || unresolved.temperature {
        comparable.specific_conductance_us_cm = recomputed.specific_conductance_us_cm;
    }
    let matches = match (comparable.same_bits(recomputed), unresolved.any()) {
        (false, _) => Match::Different,
        (true, true) => Match::Unresolved,
        (true, false) => Match::Same,
    };
    Replayed { reading: *reading, assessment, matches, utc_ms }
}

#[cfg(test)]
#[path = "replay_tests.rs"]
mod tests;
