//! Logs a probe into a session file: through pulled cables, silences and restarts.

mod state;

use std::collections::{BTreeMap, BTreeSet};

use rillmark_metrology::assess::{Assessment, Assessor, Remark, Tally};
use rillmark_proto::identity::{RecordId, ShortId};
use rillmark_proto::reading::{Flags, Reading};
use rillmark_proto::record::{RecordBytes, codec};
use rillmark_proto::wire::message::Sampling;

use self::state::State;
use super::ends::Ends;
use super::entry::{Cause, EndReason, Entry, Header, HeaderReason, HostTime, MAX_NOTE, Mark};
use super::measured::Measured;
use super::recent::{Came, Recent};
use super::time::{ClockSet, Dating};
use super::writer::Writer;
use crate::exit::{Exit, Failure};
use crate::link::probe::{Arrived, Probe, ProbeError, READING_PATIENCE_MS};
use crate::words::en::{probe as probe_words, session as words};

/// The longest wait in one piece, so that an interruption is heard soon and the disk is served.
const SLICE_MS: u64 = 250;
/// After so long a quiet the probe is asked whether it is the same start still: one that lost its
/// power in between samples no more, and readings may be an hour apart.
const ASK_EVERY_MS: u64 = 15_000;
/// Wait between two attempts to reach the probe again.
const RETRY_MS: u64 = 500;

/// What to log, and how long.
#[derive(Clone, Debug)]
pub struct Plan {
    /// What the probe samples.
    pub sampling: Sampling,
    /// End after so many readings.
    pub count: Option<u64>,
    /// End after so many milliseconds of the line's time.
    pub for_ms: Option<u64>,
    /// Written into the session at its begin.
    pub note: Option<String>,
    /// What a stir check told of the junction in this water: the standard uncertainty that it gives a pH.
    pub junction_ph: Option<f64>,
    /// What was measured of the board; the session keeps it, and uncertainties count with it.
    pub measured: Option<Measured>,
}

impl Plan {
    /// Looks whether it can be done, before anything is opened.
    ///
    /// # Errors
    /// [`Exit::BadInput`] for a note that is too long.
    pub fn check(&self) -> Result<(), Failure> {
        match &self.note {
            Some(note) if note.len() > MAX_NOTE => {
                Err(Failure::new(Exit::BadInput, words::note_too_long(note.len(), MAX_NOTE)))
            }
            _ => Ok(()),
        }
    }
}

/// What happens while logging, for whoever watches.
#[derive(Debug)]
pub enum Event<'a> {
    /// Sampling was started.
    Began,
    /// A reading is in the file.
    Reading {
        /// The reading.
        reading: &'a Reading,
        /// When it was taken, as the replay of this file will say.
        utc_ms: Option<i64>,
        /// What it is worth.
        assessment: &'a Assessment,
        /// Those of its remarks that are new.
        new: &'a [Remark],
    },
    /// The computer's clock was set before the reading that follows.
    ClockSet(&'a ClockSet),
    /// The probe cannot be reached.
    GapBegan(Cause, &'a ProbeError),
    /// An attempt to reach it again failed.
    StillGone(&'a ProbeError),
    /// It can be reached again, so many ms after its last reading.
    GapEnded(u64),
    /// The probe started anew; this is the start's number.
    Restarted(u32),
}

/// What was logged.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Logged {
    /// Readings written.
    pub readings: u64,
    /// Times the probe could not be reached.
    pub gaps: u64,
    /// True when the log was interrupted.
    pub interrupted: bool,
    /// Times the probe started anew.
    pub restarts: u64,
    /// Bytes that came over the line and belonged to no whole frame.
    pub line_damaged_bytes: u64,
    /// Readings that came again with the same content, and are in the file once.
    pub duplicates: u64,
    /// Readings that came again with another content, and are in the file too.
    pub contradictions: u64,
    /// Readings of a probe whose store was damaged or could not be read.
    pub store_faults: u64,
    /// Where the computer's clock was set.
    pub clock_sets: Ends<ClockSet>,
    /// What was said of the readings.
    pub tally: Tally,
}

/// Logs until the plan is done or `stop` says so, then stops the sampling and ends the session.
///
/// # Errors
/// [`Exit::Storage`] when the file cannot be written any more, [`Exit::Probe`] or [`Exit::Port`]
/// when the probe cannot be reached at the begin; [`Exit::BadInput`] for a note that is too long.
/// What was written before stays whole; of a log that failed before its first reading nothing stays.
pub fn log(
    probe: &mut Probe,
    writer: &mut Writer,
    plan: &Plan,
    stop: &dyn Fn() -> bool,
    watch: &mut dyn FnMut(Event<'_>) -> Result<(), Failure>,
) -> Result<Logged, Failure> {
    plan.check()?;
    let mut log = Log {
        probe,
        writer,
        plan,
        stop,
        written: BTreeSet::new(),
        verified: BTreeMap::new(),
        sought: BTreeSet::new(),
        is_mute: false,
        assessor: Assessor::new(),
        header: None,
        headers: 0,
        boot: 0,
        dating: Dating::default(),
        recent: Recent::default(),
        deadline: None,
        logged: Logged::default(),
    };
    let result = log.begin().and_then(|()| {
        watch(Event::Began)?;
        log.run(watch)
    });
    // A probe that does not answer holds this up for longer than a frame may be off the disk.
    let synced = log.writer.sync();
    let result = match result {
        Err(failure) if failure.exit != Exit::Success => Err(failure),
        other => synced.and(other),
    };
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = log.probe.sample(Sampling::Off);
    log.end(result)
}

struct Log<'a> {
    probe: &'a mut Probe,
    writer: &'a mut Writer,
    plan: &'a Plan,
    stop: &'a dyn Fn() -> bool,
    /// Records in the file.
    written: BTreeSet<RecordId>,
    /// Verifications that the probe handed out, and the calibrations that they verified.
    verified: BTreeMap<RecordId, ShortId>,
    /// Short forms that readings named and the probe was asked for.
    sought: BTreeSet<ShortId>,
    /// The probe let a question for a record go unanswered: it is not asked for another.
    is_mute: bool,
    /// As the replay of this file will judge.
    assessor: Assessor,
    /// The last header, to see what changed, and how many there are.
    header: Option<Header>,
    headers: u32,
    /// The probe's start.
    boot: u32,
    dating: Dating,
    recent: Recent,
    /// When the log is over, on the line's monotonic clock.
    deadline: Option<u64>,
    logged: Logged,
}

impl Log<'_> {
    fn now(&self) -> HostTime {
        let link = self.probe.link();
        HostTime { monotonic_ms: link.monotonic_ms(), utc_ms: link.utc_ms() }
    }

    fn entry(&mut self, entry: &Entry) -> Result<(), Failure> {
        let now = self.probe.link().monotonic_ms();
        self.writer.entry(entry, now)
    }

    fn begin(&mut self) -> Result<(), Failure> {
        // Quiet first: what an earlier sampling left under way does not belong to this session.
        self.probe.sample(Sampling::Off)?;
        self.probe.forget_readings();
        self.dating.begin();
        self.boot = self.probe.answer().boot;
        let state = self.ask_state()?;
        self.tell_state(state, HeaderReason::Began)?;
        if let Some(text) = self.plan.note.clone() {
            let at = self.now();
            self.entry(&Entry::Note { at, text })?;
        }
        self.tell_measured()?;
        if let Some(Measured { limits: Some((_, limits)), .. }) = &self.plan.measured {
            self.assessor.on(*limits);
        }
        if let Some(u_ph) = self.plan.junction_ph {
            self.assessor.junction(u_ph);
        }
        self.writer.sync()?;
        self.probe.sample(self.plan.sampling)?;
        Ok(())
    }

    /// Keeps what was measured of the board. At the begin and at the end: one that is gone is not missed.
    fn tell_measured(&mut self) -> Result<(), Failure> {
        let Some(Measured { file, lines, .. }) = self.plan.measured.clone() else { return Ok(()) };
        let at = self.now();
        self.entry(&Entry::Measured { at, file, lines })
    }

    fn run(
        &mut self,
        watch: &mut dyn FnMut(Event<'_>) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let began = self.now().monotonic_ms;
        self.deadline = self.plan.for_ms.map(|ms| began.saturating_add(ms));
        let (mut heard, mut asked) = (began, began);
        let patience = READING_PATIENCE_MS
            + match self.plan.sampling {
                Sampling::Full { interval_ms } => u64::from(interval_ms),
                Sampling::Off | Sampling::Ph | Sampling::Conductivity => 0,
            };
        loop {
            let now = self.now().monotonic_ms;
            self.writer.sync_if_due(now)?;
            let over = |most: Option<u64>, is: u64| most.is_some_and(|most| is >= most);
            if over(self.plan.count, self.logged.readings) || over(self.deadline, now) {
                return Ok(());
            }
            if (self.stop)() {
                self.logged.interrupted = true;
                return Ok(());
            }
            let left = self.deadline.map_or(u64::MAX, |deadline| deadline.saturating_sub(now));
            match self.probe.next_reading(SLICE_MS.min(left)) {
                Ok(Some(arrived)) => {
                    heard = self.now().monotonic_ms;
                    self.take(&arrived, watch)?;
                }
                Ok(None) => {
                    let quiet = now.saturating_sub(heard);
                    if quiet < patience && now.saturating_sub(heard.max(asked)) < ASK_EVERY_MS {
                        continue;
                    }
                    asked = now;
                    let boot = self.probe.answer().boot;
                    match self.probe.hello_again() {
                        Ok(answer) if answer.boot == boot && quiet < patience => continue,
                        Ok(_) => {
                            let name = self.probe.link().name().to_owned();
                            self.gap(Cause::Silent, heard, &ProbeError::Silent { name }, watch)?;
                        }
                        Err(error @ ProbeError::Link(_)) => {
                            self.gap(Cause::LineLost, heard, &error, watch)?;
                        }
                        // Who answers is said when the line was opened anew, and it is so still.
                        Err(ProbeError::OtherBoard { .. }) => {
                            let name = self.probe.link().name().to_owned();
                            self.gap(Cause::Silent, heard, &ProbeError::Silent { name }, watch)?;
                        }
                        Err(error) => self.gap(Cause::Silent, heard, &error, watch)?,
                    }
                    heard = self.now().monotonic_ms;
                }
                Err(error @ ProbeError::Link(_)) => {
                    self.gap(Cause::LineLost, heard, &error, watch)?;
                    heard = self.now().monotonic_ms;
                }
                Err(error) => return Err(error.into()),
            }
        }
    }

    /// Keeps a reading and tells what it is worth.
    fn take(
        &mut self,
        arrived: &Arrived,
        watch: &mut dyn FnMut(Event<'_>) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let reading = &arrived.reading;
        match self.recent.take(reading) {
            Came::First => {}
            Came::Again => {
                self.logged.duplicates += 1;
                return Ok(());
            }
            Came::Otherwise => self.logged.contradictions += 1,
        }
        self.started(reading.time.boot, watch)?;
        self.keep(arrived)?;
        self.logged.store_faults += u64::from(reading.flags.has(Flags::STORE_FAULT));
        let (utc_ms, set) = self.dating.date(reading);
        if let Some(set) = set {
            self.logged.clock_sets.push(set);
            watch(Event::ClockSet(&set))?;
        }
        let assessment = self.assessor.reading(reading, utc_ms);
        let new = self.logged.tally.add(&assessment);
        watch(Event::Reading { reading, utc_ms, assessment: &assessment, new: &new })
    }

    /// Tells a start that is another than the last one.
    fn started(
        &mut self,
        boot: u32,
        watch: &mut dyn FnMut(Event<'_>) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        if std::mem::replace(&mut self.boot, boot) == boot {
            return Ok(());
        }
        self.logged.restarts += 1;
        watch(Event::Restarted(boot))
    }

    /// Writes a reading, after the records it names and the mark that dates it.
    fn keep(&mut self, arrived: &Arrived) -> Result<(), Failure> {
        let used = arrived.reading.calibrations;
        for short in [used.ph, used.conductivity, used.temperature].into_iter().flatten() {
            let known = self.written.iter().any(|id| id.short() == short);
            if !known && self.sought.insert(short) {
                self.seek(short)?;
            }
        }
        let mark = Mark {
            boot: arrived.reading.time.boot,
            probe_ms: arrived.reading.time.ms,
            at: HostTime { monotonic_ms: arrived.monotonic_ms, utc_ms: arrived.utc_ms },
            headers: self.headers,
        };
        if self.dating.needs(&mark) || self.dating.breaks_off(&arrived.reading) {
            self.entry(&Entry::Mark(mark))?;
            self.dating.mark(&mark);
        }
        let now = self.now().monotonic_ms;
        self.writer.frame(&arrived.frame, now)?;
        self.writer.settle();
        self.logged.readings += 1;
        Ok(())
    }

    /// The calibration in force has changed under us: fetches its record, if the probe is there.
    fn seek(&mut self, short: ShortId) -> Result<(), Failure> {
        if self.is_mute {
            return Ok(());
        }
        // An answer may be long in coming, longer than a frame may be off the disk.
        self.writer.sync()?;
        let found = self.probe.records().map(|listed| {
            listed.into_iter().find(|listed| listed.id.short() == short).map(|listed| listed.id)
        });
        // When the line is lost now, the reading is written all the same, and the next pass
        // through the loop meets the loss.
        if let Ok(Some(id)) = found {
            self.fetch(id)?;
        }
        Ok(())
    }

    fn fetch(&mut self, id: RecordId) -> Result<(), Failure> {
        if self.written.contains(&id) {
            return Ok(());
        }
        match self.asked_for(id)? {
            Some(bytes) => self.record(id, &bytes),
            None => Ok(()),
        }
    }

    /// The bytes of a record, if the probe hands them out. That it does not is a note in the session.
    fn asked_for(&mut self, id: RecordId) -> Result<Option<RecordBytes>, Failure> {
        let told = self.ask_record(id);
        if let Err(error) = &told
            && !matches!(error, ProbeError::Link(_))
        {
            let (at, text) = (self.now(), words::record_not_got(&id.short(), error));
            self.entry(&Entry::Note { at, text })?;
        }
        Ok(told.ok())
    }

    /// One record. A wait for each of many that never come would hold up the log for minutes.
    fn ask_record(&mut self, id: RecordId) -> Result<RecordBytes, ProbeError> {
        if self.is_mute || (self.stop)() {
            let (name, order) =
                (self.probe.link().name().to_owned(), probe_words::order::TELL_RECORD);
            return Err(ProbeError::NoAnswer { name, order });
        }
        let told = self.probe.record(id);
        self.is_mute = matches!(told, Err(ProbeError::NoAnswer { .. }));
        told
    }

    fn record(&mut self, id: RecordId, bytes: &[u8]) -> Result<(), Failure> {
        self.entry(&Entry::Record { id, bytes: bytes.to_vec() })?;
        self.written.insert(id);
        if let Ok(record) = codec::decode(bytes) {
            self.assessor.know(id.short(), &record);
        }
        Ok(())
    }

    /// Waits until the probe is there again; the gap is in the file from the moment it is noticed.
    /// `heard` is when the last reading came.
    fn gap(
        &mut self,
        mut cause: Cause,
        heard: u64,
        error: &ProbeError,
        watch: &mut dyn FnMut(Event<'_>) -> Result<(), Failure>,
    ) -> Result<(), Failure> {
        let began = self.now();
        self.logged.gaps += 1;
        self.entry(&Entry::GapBegan { cause, at: began })?;
        self.writer.sync()?;
        watch(Event::GapBegan(cause, error))?;
        loop {
            match self.resume(cause) {
                Ok(state) => {
                    self.tell_state(state, HeaderReason::Changed)?;
                    let at = self.now();
                    self.entry(&Entry::GapEnded { at })?;
                    self.dating.lose();
                    (self.sought, self.is_mute) = (BTreeSet::new(), false);
                    watch(Event::GapEnded(at.monotonic_ms.saturating_sub(heard)))?;
                    self.started(self.probe.answer().boot, watch)?;
                    return Ok(());
                }
                Err(error) => watch(Event::StillGone(&error))?,
            }
            // Whatever was wrong, from here on the line is opened anew.
            cause = Cause::LineLost;
            let now = self.now().monotonic_ms;
            self.writer.sync_if_due(now)?;
            let due = self.deadline.is_some_and(|deadline| now >= deadline);
            if (self.stop)() || due {
                // The loop outside sees the same and ends the log.
                return Ok(());
            }
            self.probe.link_mut().wait(RETRY_MS);
        }
    }

    fn resume(&mut self, cause: Cause) -> Result<State, ProbeError> {
        match cause {
            Cause::Silent => self.probe.hello_again()?,
            Cause::LineLost => self.probe.reconnect()?,
        };
        let state = self.ask_state()?;
        self.probe.sample(self.plan.sampling)?;
        Ok(state)
    }

    fn end(mut self, result: Result<(), Failure>) -> Result<Logged, Failure> {
        self.logged.line_damaged_bytes = self.probe.damaged_bytes();
        // A reader that closed our output ended the log, but nothing is wrong with the file.
        let closed = match result {
            Err(failure) if failure.exit != Exit::Success => {
                self.writer.withdraw();
                return Err(failure);
            }
            other => other,
        };
        let reason = match self.logged.interrupted {
            true => EndReason::Interrupted,
            false => EndReason::Done,
        };
        self.tell_measured()?;
        let (at, headers, readings) = (self.now(), self.headers, self.logged.readings);
        let line_damaged_bytes = self.logged.line_damaged_bytes;
        self.entry(&Entry::End { reason, at, headers, readings, line_damaged_bytes })?;
        self.writer.sync()?;
        closed.map(|()| self.logged)
    }
}

#[cfg(test)]
#[path = "log_tests.rs"]
mod tests;
