//! Reads a session back and computes every reading again from its raw integers.

use std::collections::{BTreeMap, BTreeSet};
use std::io::{self, BufRead};

use rillmark_metrology::assess::{Assessment, Assessor, Tally, Unresolved};
use rillmark_metrology::front_end::BoardLimits;
use rillmark_proto::identity::{BoardId, RecordId, ShortId};
use rillmark_proto::reading::{CalibrationsUsed, Computed, Flags, Reading};
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{Quantity, Record, codec};

use super::ends::Ends;
use super::entry::{EndReason, Entry, Header, HeaderReason, Mark, SESSION_VERSION};
use super::keeping::{Counted, Keeping, Learner, Place};
use super::measured::Measured;
use super::reader::{Item, items};
use super::time::{ClockSet, Dating};
use super::trail::{Stretches, Trail};
use crate::exit::{Exit, Failure};
use crate::words::en::session as words;

/// The most records of a session, and the most verifications that its headers name: a probe keeps 16.
const MOST_RECORDS: usize = 1_000;
/// The most starts of the probe whose first marks are held.
const MOST_STARTS: usize = 100_000;

/// Why bytes are no session.
#[derive(Debug)]
pub enum NotASession {
    /// They could not be read.
    Unread(io::Error),
    /// There is not one byte.
    Empty,
    /// There is not one whole frame in it.
    Foreign,
    /// All that the host wrote is of a later file format.
    Newer {
        /// The format.
        found: u8,
    },
    /// It holds or names more records than any log writes.
    Crowded,
}

impl NotASession {
    /// What to say of a file of this name.
    #[must_use]
    pub fn failure(&self, name: &str) -> Failure {
        let sentence = match self {
            Self::Unread(error) => {
                return Failure::new(Exit::Storage, words::cannot_read(name, error));
            }
            Self::Empty => words::empty_file(name),
            Self::Foreign => words::foreign_file(name),
            Self::Crowded => words::crowded_file(name, MOST_RECORDS),
            Self::Newer { found } => words::newer_file(name, *found, SESSION_VERSION),
        };
        Failure::new(Exit::BadInput, sentence)
    }
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
    pub headers: Ends<Header>,
    /// Two of the boards that all headers name, or the one.
    pub boards: Vec<BoardId>,
    /// What was fitted by all headers; of each kind of sensor the first and one other, if there is any.
    pub fitted: Vec<Fitted>,
    /// What is fitted, by the last header that says it.
    pub equipment: Option<Equipment>,
    /// The verifications that all headers name.
    pub verifications: BTreeSet<RecordId>,
    /// The calibrations that all headers name.
    pub in_force: BTreeSet<RecordId>,
    /// The records by their short forms.
    pub records: BTreeMap<ShortId, Held>,
    /// Records with which nothing is computed: altered ones whose true one is there too, and true ones that
    /// share their short form with another, so that nobody can say which of them a reading names.
    pub aside: Vec<Held>,
    /// Notes, in order.
    pub notes: Ends<String>,
    /// The first mark of each start of the probe, for readings whose own was lost: of so many starts that the
    /// others' readings have no time then.
    /// The key is the stretch of one file and board, counted from the beginning, and the start.
    pub first_marks: BTreeMap<(u32, u32), Mark>,
    /// What was measured of its boards, as its runs kept it, each once.
    pub measured: Vec<Measured>,
    /// Where they reach.
    pub(super) keeping: Keeping,
    /// What is known of its board, from whoever replays it: in place of [`Self::measured`].
    pub board_limits: Option<BoardLimits>,
}

impl Session {
    /// The verifications that a header names and the file does not hold: the doubt of a reading may be
    /// told too small without them.
    #[must_use]
    pub fn missing_verifications(&self) -> BTreeSet<RecordId> {
        let is_readable =
            |id: &RecordId| self.all().any(|it| it.id == *id && !it.altered && it.record.is_ok());
        self.verifications.iter().filter(|id| !is_readable(id)).copied().collect()
    }

    fn is_crowded(&self) -> bool {
        self.records.len() + self.aside.len() > MOST_RECORDS
            || self.verifications.len() > MOST_RECORDS
            || self.in_force.len() > MOST_RECORDS
            || self.measured.len() > MOST_RECORDS
    }

    /// What a run kept, and which of all it is.
    fn measure(&mut self, file: &str, lines: &str) -> usize {
        let is_known = |known: &Measured| known.file == file && known.lines == lines;
        self.measured.iter().position(is_known).unwrap_or_else(|| {
            let (file, lines) = (file.to_owned(), lines.to_owned());
            self.measured.push(Measured { file, lines, limits: None });
            self.measured.len() - 1
        })
    }

    fn header(&mut self, header: Header) {
        if self.boards.len() < 2 && !self.boards.contains(&header.board) {
            self.boards.push(header.board);
        }
        if let Some(equipment) = &header.equipment {
            if self.is_news(&equipment.fitted) {
                self.fitted.push(equipment.fitted.clone());
            }
            self.equipment = Some(equipment.clone());
        }
        self.verifications.extend(&header.verifications);
        self.in_force.extend(&header.in_force);
        self.headers.push(header);
    }

    /// Whether it names a sensor of a kind of which no two are known.
    fn is_news(&self, fitted: &Fitted) -> bool {
        self.fitted.is_empty()
            || [Quantity::Ph, Quantity::Conductivity, Quantity::Temperature].into_iter().any(|of| {
                let mut known = self.fitted.iter().filter_map(|known| known.serial_for(of));
                let first = known.next();
                let is_one = known.all(|other| Some(other) == first);
                is_one && fitted.serial_for(of).is_some_and(|it| Some(it) != first)
            })
    }

    /// All records, those [aside](Self::aside) included.
    pub fn all(&self) -> impl Iterator<Item = &Held> {
        self.records.values().chain(&self.aside)
    }

    /// Records that are what their identities say, and share their short forms with others.
    pub fn ambiguous(&self) -> impl Iterator<Item = &Held> {
        self.aside.iter().filter(|held| !held.altered)
    }

    fn hold(&mut self, held: Held) {
        if self.all().any(|known| *known == held) {
            return;
        }
        let short = held.id.short();
        if self.ambiguous().any(|other| other.id.short() == short) {
            self.aside.push(held);
            return;
        }
        match self.records.remove(&short) {
            None => drop(self.records.insert(short, held)),
            Some(known) if known.altered == held.altered && !held.altered => {
                self.aside.extend([known, held]);
            }
            Some(known) => {
                let (kept, altered) = if known.altered { (held, known) } else { (known, held) };
                self.records.insert(short, kept);
                self.aside.push(altered);
            }
        }
    }

    /// Puts aside what has the short form of another record that a header names, whole.
    fn put_aside_what_is_named_otherwise(&mut self) {
        for id in self.in_force.iter().chain(&self.verifications) {
            let is_another = |held: &Held| held.id != *id && !held.altered;
            if self.records.get(&id.short()).is_some_and(is_another) {
                self.aside.extend(self.records.remove(&id.short()));
            }
        }
    }

    /// True when all that a reading names and nobody can read is of a later release.
    fn is_of_a_later_release(&self, reading: &Reading, unresolved: Unresolved) -> bool {
        let is_later = |short: Option<ShortId>| {
            let held = short.and_then(|short| self.records.get(&short));
            held.is_some_and(|it| {
                !it.altered && matches!(it.record, Err(codec::DecodeError::NewerVersion { .. }))
            })
        };
        let CalibrationsUsed { ph, conductivity, temperature } = reading.calibrations;
        let Unresolved { ph: no_ph, conductivity: no_cell, temperature: no_warmth } = unresolved;
        let each = [(no_ph, ph), (no_cell, conductivity), (no_warmth, temperature)];
        each.into_iter().all(|(is_missing, short)| !is_missing || is_later(short))
    }
}

/// Readings are missing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gap {
    /// Start of the reading after it.
    pub boot: u32,
    /// Number of that reading.
    pub running: u32,
    /// UTC of the reading before it, in ms since 1970; `None` when that is not known.
    pub before_utc_ms: Option<i64>,
    /// UTC of the reading after it.
    pub utc_ms: Option<i64>,
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
    /// Readings that came again with the same content; they are counted here and nowhere else.
    pub duplicates: u64,
    /// Readings that came again with another content.
    pub contradictions: u64,
    /// Readings that an end counted and the file does not hold.
    pub lost_readings: u64,
    /// Readings that the file holds and its end did not count.
    pub uncounted_readings: u64,
    /// Readings that stand under no header: which verifications and which junction belong to them is not
    /// known.
    pub without_header: u64,
    /// Readings with a UTC behind bytes that nobody can read, up to the next mark: had the computer's clock
    /// been set there, the mark that said so is gone, and their UTC is off.
    pub doubtful_dates: u64,
    /// Frames behind an end that begin nothing.
    pub behind_end: u64,
    /// Runs of the log that began in this file.
    pub parts: u64,
    /// Those of them that have no end.
    pub cut_short: u64,
    /// Verifications that belong to the readings and are not there.
    pub missing_verifications: BTreeSet<RecordId>,
    /// Readings of a probe whose store was damaged or could not be read.
    pub store_faults: u64,
    /// Where UTC does not go on evenly.
    pub clock_sets: Ends<ClockSet>,
    /// The gaps before a reading.
    pub gap_list: Ends<Gap>,
    /// Times the probe started anew while it was logged.
    pub restarts: u64,
    /// Runs that stand in the file again; the readings that are there already are among the duplicates.
    pub repeated_runs: u64,
    /// Readings under a header of another board than the first one's.
    pub other_board: u64,
    /// Readings under a record of another board or sensor than their header's.
    pub other_sensor: u64,
    /// Readings under a record that no header of their run has in force, and that was not fetched before.
    pub not_in_force: u64,
    /// Readings whose recorded values are not what their raw integers give.
    pub mismatches: u64,
    /// Readings that name a record which the session does not hold or nobody can read.
    pub unresolved: u64,
    /// Those of them whose records are all there, of a later release.
    pub later_release: u64,
    /// Records that share their short form with another, so that nobody can say which of them is meant.
    pub ambiguous_records: u64,
    /// Records whose bytes do not have the identity they were written under.
    pub altered_records: u64,
    /// Whole frames that this release does not read.
    pub unknown_frames: u64,
    /// How the log ended, of several runs the last one; `None` when it was cut short.
    pub end: Option<EndReason>,
    /// What was said of the readings.
    pub tally: Tally,
    /// What was measured of the board, and counted with.
    pub counted: Counted,
}

impl Replayed {
    /// The values: those under the other calibrations where any were given, else as recorded.
    #[must_use]
    pub fn values(&self) -> &Computed {
        self.assessment.recalibrated.as_ref().unwrap_or(&self.reading.computed)
    }
}

impl Summary {
    /// True when every value was computed again and is the recorded one, and nothing is missing that makes
    /// its doubt larger.
    #[must_use]
    pub fn verified(&self) -> bool {
        self.unresolved == 0 && self.holds_but_for_later_releases()
    }

    /// True when nothing is wrong, but that records of a later release, which nobody here can read, leave
    /// readings unchecked.
    #[must_use]
    pub fn holds_but_for_later_releases(&self) -> bool {
        let is_doubt_known = self.missing_verifications.is_empty() && self.without_header == 0;
        let is_one_board = self.other_board == 0;
        let are_records_true = self.altered_records == 0 && self.ambiguous_records == 0;
        let all_checked = self.mismatches == 0 && self.unresolved == self.later_release;
        all_checked && are_records_true && is_doubt_known && is_one_board
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
    /// It is one of [`Summary::doubtful_dates`].
    pub is_utc_doubtful: bool,
}

/// Reads what holds for the whole session.
///
/// # Errors
/// When the bytes are no session at all. Damage is not an error.
pub fn open(from: impl BufRead) -> Result<Session, NotASession> {
    let (mut session, mut frames, mut newer) = (Session::default(), 0_u64, None);
    let (mut stretches, mut is_empty) = (Stretches::default(), true);
    let mut learner = Learner::default();
    for item in items(from) {
        is_empty = false;
        let item = item.map_err(NotASession::Unread)?.1;
        let kept = match &item {
            Item::Entry(entry) => match &**entry {
                Entry::Measured { file, lines, .. } => Some(session.measure(file, lines)),
                _ => None,
            },
            _ => None,
        };
        learner.take(&item, kept);
        match item {
            Item::Damage { .. } | Item::Torn { .. } => continue,
            Item::Newer { version } => newer = Some(version),
            Item::Entry(entry) => {
                stretches.take(&entry);
                take(&mut session, *entry, &stretches);
                if session.is_crowded() {
                    return Err(NotASession::Crowded);
                }
            }
            Item::Reading(_) | Item::Other => {}
        }
        frames += 1;
    }
    match (frames, newer) {
        (0, _) if is_empty => Err(NotASession::Empty),
        (0, _) => Err(NotASession::Foreign),
        (_, Some(found)) if found > SESSION_VERSION => Err(NotASession::Newer { found }),
        _ => {
            session.put_aside_what_is_named_otherwise();
            session.keeping = learner.over();
            Ok(session)
        }
    }
}

fn take(session: &mut Session, entry: Entry, stretches: &Stretches) {
    match entry {
        Entry::Header(header) => session.header(header),
        Entry::Record { id, bytes } => {
            let altered = codec::identity(&bytes) != id;
            let record = codec::decode(&bytes);
            session.hold(Held { id, record, altered });
        }
        Entry::Mark(mark) => {
            if session.first_marks.len() < MOST_STARTS {
                session.first_marks.entry((stretches.number(), mark.boot)).or_insert(mark);
            }
        }
        Entry::Note { text, .. } => session.notes.push(text),
        Entry::Opening { .. }
        | Entry::Measured { .. }
        | Entry::GapBegan { .. }
        | Entry::GapEnded { .. }
        | Entry::End { .. } => {}
    }
}

/// Computes every reading again and hands each to `visit`, in the order of the file.
///
/// `other` holds calibrations to compute with in place of the session's own of the same quantity.
///
/// # Errors
/// When the file cannot be read to its end.
pub fn replay(
    from: impl BufRead,
    session: &Session,
    other: &[(RecordId, Record)],
    mut visit: impl FnMut(Replayed),
) -> io::Result<Summary> {
    let altered = session.all().filter(|held| held.altered).count();
    let mut summary = Summary {
        altered_records: altered as u64,
        ambiguous_records: session.ambiguous().count() as u64,
        missing_verifications: session.missing_verifications(),
        ..Summary::default()
    };
    let mut fresh = Assessor::new();
    for (short, held) in &session.records {
        if let Ok(record) = &held.record {
            fresh.know(*short, record);
        }
    }
    for (id, record) in other {
        fresh.apply(id.short(), record);
    }
    let (mut stretches, mut place, mut header) = (Stretches::default(), Place::default(), None);
    let (mut assessor, mut trail, mut dating) =
        (fresh.clone(), Trail::default(), Dating::default());
    let mut last_utc_ms = None;
    for item in items(from) {
        let item = item?.1;
        place.follow(&item);
        match item {
            Item::Reading(reading) => {
                let Some(step) = trail.reading(&reading, &mut summary) else { continue };
                let later = session.first_marks.get(&(stretches.number(), reading.time.boot));
                let (utc_ms, set) = date(&reading, later, &mut dating);
                let before_utc_ms = std::mem::replace(&mut last_utc_ms, utc_ms);
                if step.is_gap {
                    let (boot, running) = (reading.time.boot, reading.running);
                    summary.gap_list.push(Gap { boot, running, before_utc_ms, utc_ms });
                }
                let is_other = header.as_ref().is_some_and(|it| is_of_other(&reading, it, session));
                summary.other_sensor += u64::from(is_other);
                set.into_iter().for_each(|set| summary.clock_sets.push(set));
                let lacks_a_mark = trail.may_lack_a_mark() || dating.lacks_a_mark(&reading);
                let is_doubtful = utc_ms.is_some() && lacks_a_mark;
                summary.doubtful_dates += u64::from(is_doubtful);
                summary.store_faults += u64::from(reading.flags.has(Flags::STORE_FAULT));
                assessor.on(summary.counted.limits(session, &place));
                let computed = compute(&reading, utc_ms, &mut assessor);
                let replayed = Replayed { is_utc_doubtful: is_doubtful, ..computed };
                summary.tally.add(&replayed.assessment);
                match replayed.matches {
                    Match::Same => {}
                    Match::Different => summary.mismatches += 1,
                    Match::Unresolved => {
                        summary.unresolved += 1;
                        let unresolved = replayed.assessment.unresolved;
                        let is_later = session.is_of_a_later_release(&reading, unresolved);
                        summary.later_release += u64::from(is_later);
                    }
                }
                visit(replayed);
            }
            Item::Entry(entry) => {
                trail.entry(&entry, &mut summary);
                if stretches.take(&entry) {
                    assessor = fresh.clone();
                    dating.forget();
                    (header, last_utc_ms) = (None, None);
                }
                match *entry {
                    Entry::Header(next) => {
                        let header = &*header.insert(next);
                        // As the log judged: each run begins anew.
                        if header.reason == HeaderReason::Began {
                            assessor = fresh.clone();
                            dating.begin();
                        }
                        let fitted = header.equipment.as_ref().map(|equipment| &equipment.fitted);
                        assessor.beside(fitted.and_then(|fitted| fitted.thermometer.as_ref()));
                        // Numbers of a file are foreign.
                        let junction = header.junction_ph.filter(|u| u.is_finite() && *u > 0.0);
                        junction.into_iter().for_each(|u_ph| assessor.junction(u_ph));
                    }
                    Entry::Mark(mark) => dating.mark(&mark),
                    _ => {}
                }
            }
            Item::Other | Item::Newer { .. } => {
                trail.stray(&mut summary);
                trail.unread();
                summary.unknown_frames += 1;
            }
            Item::Damage { bytes } => {
                trail.unread();
                summary.damaged_bytes += bytes;
            }
            Item::Torn { bytes } => summary.torn_bytes += bytes,
        }
    }
    trail.over(&mut summary);
    Ok(summary)
}

/// Whether a record that the reading names is of another board or sensor than the header's.
fn is_of_other(reading: &Reading, header: &Header, session: &Session) -> bool {
    let used = reading.calibrations;
    let used = [used.ph, used.conductivity, used.temperature].into_iter().flatten();
    let mut records = used.filter_map(|short| session.records.get(&short)?.record.as_ref().ok());
    records.any(|record| {
        let fitted = header.equipment.as_ref().map(|equipment| &equipment.fitted);
        let is_fitted = |fitted: &Fitted| fitted.serial_for(record.quantity()) == record.of();
        record.board() != header.board || !fitted.is_none_or(is_fitted)
    })
}

/// UTC of a reading, by the first mark of its start where the one before it was lost.
fn date(
    reading: &Reading,
    later: Option<&Mark>,
    dating: &mut Dating,
) -> (Option<i64>, Option<ClockSet>) {
    match (dating.date(reading), later) {
        ((None, None), Some(later)) => dating.date_by(later, reading),
        (dated, _) => dated,
    }
}

fn compute(reading: &Reading, utc_ms: Option<i64>, assessor: &mut Assessor) -> Replayed {
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
    Replayed { reading: *reading, assessment, matches, utc_ms, is_utc_doubtful: false }
}

#[cfg(test)]
#[path = "replay_tests.rs"]
mod tests;
