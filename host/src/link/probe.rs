//! The conversation with a probe: hello, one command and its one answer, and the readings that
//! come in between.

use std::collections::VecDeque;
use std::hash::{BuildHasher, Hasher, RandomState};

use rillmark_proto::circuit::timing::{LONGEST_ANSWER_US, LONGEST_READING_US, STORE_LONGEST_US};
use rillmark_proto::identity::BoardId;
use rillmark_proto::reading::Reading;
use rillmark_proto::record::codec::RECORD_VERSION;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::hello::{Hello, HelloAnswer};
use rillmark_proto::wire::message::{Command, Done, FromProbe, Order, WIRE_VERSION};
use rillmark_proto::wire::start::{Cause, Start};
use rillmark_proto::wire::{DecodeError, Incoming, encode_command, encode_hello};

use super::Link;
use super::arrivals::{Arrival, Arrivals};
use super::orders::order_name;
pub use super::probe_error::ProbeError;
use crate::exit::Failure;
use crate::words::en::probe as words;

/// Hellos said before a line is given up, and how long each waits. A probe in the middle of a
/// slow conversion answers late; 5 s in all bridge any of them.
const HELLOS: u32 = 5;
const HELLO_PATIENCE_MS: u64 = 1000;
/// Times a command is said, and how long each waits: together as long as one may take.
const COMMANDS: u32 = 3;
const COMMAND_PATIENCE_MS: u64 = READING_PATIENCE_MS.div_ceil(COMMANDS as u64);
/// How long a probe may take for a reading, or how late one may come, in ms of the line's time; and for the
/// answer to a command. A full reading takes 4.3 s, up to [`LONGEST_READING_US`] where the electrode does not
/// come to rest; a command that comes meanwhile waits for its end, and one that stores takes
/// [`STORE_LONGEST_US`] more. Half a second for the line.
pub const READING_PATIENCE_MS: u64 = LONGEST_ANSWER_US.div_ceil(1_000) + 500;
const _: () = assert!(COMMANDS as u64 * COMMAND_PATIENCE_MS * 1_000 > LONGEST_ANSWER_US);
const _: () = assert!(LONGEST_ANSWER_US >= LONGEST_READING_US + STORE_LONGEST_US);
/// Readings that are held while a command waits: a hundred times what a probe can send in that time. What a
/// line in flood brings beyond is missing by its running number.
const MOST_WAITING: usize = 10_000;

/// What this program speaks.
pub(super) const HELLO: Hello = Hello { wire_min: WIRE_VERSION, wire_max: WIRE_VERSION };

/// A reading, with the frame that brought it.
#[derive(Clone, Debug, PartialEq)]
pub struct Arrived {
    /// The reading.
    pub reading: Reading,
    /// Its frame as it came over the line, delimiter included.
    pub frame: Vec<u8>,
    /// When it came, on the line's monotonic clock in ms.
    pub monotonic_ms: u64,
    /// When it came, in ms since 1970-01-01 UTC.
    pub utc_ms: i64,
}

/// Opens the line of [`super::open`] and says hello.
///
/// # Errors
/// A [`Failure`] that says what to do; another board than `probe` names is one.
pub fn connect(port: Option<&str>, probe: Option<&str>) -> Result<Probe, Failure> {
    let connected = Probe::connect(super::open(port, probe)?)?;
    let found = connected.answer().board;
    match probe {
        Some(wanted) if !found.to_string().eq_ignore_ascii_case(wanted) => {
            Err(ProbeError::OtherBoard { expected: wanted.to_owned(), found }.into())
        }
        _ => Ok(connected),
    }
}

/// Until when something is waited for, whatever arrives meanwhile.
struct Deadline {
    until: u64,
    /// What had come by then was looked at.
    over: bool,
}

impl Deadline {
    const fn new(until: u64) -> Self {
        Self { until, over: false }
    }
}

/// A probe that answered the hello.
pub struct Probe {
    link: Box<dyn Link>,
    arrivals: Arrivals,
    answer: HelloAnswer,
    next_id: u32,
    waiting: VecDeque<Arrived>,
}

impl Probe {
    /// Says hello over an open line.
    ///
    /// # Errors
    /// When the line is lost, nobody answers, or no wire version is common.
    pub fn connect(link: Box<dyn Link>) -> Result<Self, ProbeError> {
        let unknown = HelloAnswer {
            wire_min: 0,
            wire_max: 0,
            record_max: 0,
            board: BoardId([0; 8]),
            boot: 0,
            firmware: [0; 3],
            start: Start { cause: Cause::Unknown, restarts: 0, trouble: None },
        };
        // A random start keeps a new conversation from being taken for a repetition of the last.
        let next_id = RandomState::new().build_hasher().finish() as u32;
        let mut probe = Self {
            link,
            arrivals: Arrivals::default(),
            answer: unknown,
            next_id,
            waiting: VecDeque::new(),
        };
        probe.hello()?;
        Ok(probe)
    }

    /// What the probe said in its last hello.
    #[must_use]
    pub fn answer(&self) -> HelloAnswer {
        self.answer
    }

    /// Whether the probe will be able to keep the records that this program writes: to be known before
    /// an hour at the bench, not after it.
    ///
    /// # Errors
    /// [`ProbeError::OlderRecords`] when its firmware is too old for them.
    pub fn reads_our_records(&self) -> Result<(), ProbeError> {
        match self.answer.record_max {
            newest if newest < RECORD_VERSION => Err(ProbeError::OlderRecords { newest }),
            _ => Ok(()),
        }
    }

    /// The line.
    #[must_use]
    pub fn link(&self) -> &dyn Link {
        &*self.link
    }

    /// The line, to wait or to move the sensors.
    pub fn link_mut(&mut self) -> &mut dyn Link {
        &mut *self.link
    }

    /// Bytes that belonged to no whole frame, since the line was first opened.
    #[must_use]
    pub fn damaged_bytes(&self) -> u64 {
        self.arrivals.damaged_bytes()
    }

    /// Says hello again and keeps what the probe answers.
    ///
    /// # Errors
    /// As for [`Self::connect`].
    pub fn hello(&mut self) -> Result<HelloAnswer, ProbeError> {
        let mut frame = [0; 1 + MAX_FRAME];
        // The leading delimiter ends whatever another program left half-sent.
        let len = encode_hello(HELLO, &mut frame[1..])
            .map_err(|_| ProbeError::TooLong { order: words::order::TELL_EQUIPMENT })?;
        let bytes_before = self.arrivals.bytes();
        let mut frames = 0;
        for _ in 0..HELLOS {
            self.link.send(&frame[..=len])?;
            let mut deadline = self.deadline(HELLO_PATIENCE_MS);
            while let Some(arrival) = self.arrive(&mut deadline)? {
                frames += 1;
                match arrival.decode() {
                    Ok(Incoming::HelloAnswer(answer)) => {
                        return match HELLO.agree(answer) {
                            Some(_) => {
                                self.answer = answer;
                                Ok(answer)
                            }
                            None => Err(ProbeError::OtherVersion { answer }),
                        };
                    }
                    _ => self.keep_reading(arrival),
                }
            }
        }
        let name = self.link.name().to_owned();
        Err(match (frames, self.arrivals.bytes() - bytes_before) {
            (0, 0) => ProbeError::Silent { name },
            (0, bytes) => ProbeError::Foreign { name, bytes },
            _ => ProbeError::NoHello { name },
        })
    }

    /// Opens the lost line once more and says hello. Readings that wait are kept.
    ///
    /// # Errors
    /// When the line does not open, nobody answers, or another board does.
    pub fn reconnect(&mut self) -> Result<HelloAnswer, ProbeError> {
        self.arrivals.cut();
        self.link.reopen()?;
        self.hello_again()
    }

    /// Says hello again on the open line, at the other end of which another board may be by now. What
    /// another one says is forgotten.
    ///
    /// # Errors
    /// When nobody answers, or another board does.
    pub fn hello_again(&mut self) -> Result<HelloAnswer, ProbeError> {
        let (before, waiting) = (self.answer, self.waiting.len());
        let answer = self.hello()?;
        if answer.board != before.board {
            self.answer = before;
            self.waiting.truncate(waiting);
            let (expected, found) = (before.board.to_string(), answer.board);
            return Err(ProbeError::OtherBoard { expected, found });
        }
        Ok(answer)
    }

    /// Says one command and waits for its one answer. After a time-out it is said again with the
    /// same id, so that it is never done twice.
    ///
    /// # Errors
    /// When the line is lost, no answer comes, or the probe refuses.
    pub fn command(&mut self, order: Order) -> Result<Done, ProbeError> {
        let name = order_name(&order);
        let id = self.next_id;
        self.next_id = id.wrapping_add(1);
        let mut frame = [0; MAX_FRAME];
        let len = encode_command(&Command { id, order }, &mut frame)
            .map_err(|_| ProbeError::TooLong { order: name })?;
        for _ in 0..COMMANDS {
            self.link.send(&frame[..len])?;
            let mut deadline = self.deadline(COMMAND_PATIENCE_MS);
            while let Some(arrival) = self.arrive(&mut deadline)? {
                match arrival.decode() {
                    Ok(Incoming::FromProbe(FromProbe::Answer(answer))) if answer.id == id => {
                        return answer.outcome.map_err(ProbeError::Refused);
                    }
                    Err(DecodeError::UnknownAnswer { id: answered }) if answered == id => {
                        return Err(ProbeError::UnknownAnswer { order: name });
                    }
                    _ => self.keep_reading(arrival),
                }
            }
        }
        Err(ProbeError::NoAnswer { name: self.link.name().to_owned(), order: name })
    }

    /// The next reading, the ones that came during a conversation first; `None` when none comes
    /// within `patience_ms` of the line's time.
    ///
    /// # Errors
    /// When the line is lost; readings that came before are given out first.
    pub fn next_reading(&mut self, patience_ms: u64) -> Result<Option<Arrived>, ProbeError> {
        let mut deadline = self.deadline(patience_ms);
        loop {
            if let Some(first) = self.waiting.pop_front() {
                return Ok(Some(first));
            }
            match self.arrive(&mut deadline)? {
                Some(arrival) => self.keep_reading(arrival),
                None => return Ok(None),
            }
        }
    }

    /// Forgets the readings that wait.
    pub fn forget_readings(&mut self) {
        self.waiting.clear();
    }

    fn keep_reading(&mut self, arrival: Arrival) {
        if self.waiting.len() == MOST_WAITING {
            return;
        }
        // Anything else is a late answer to a command that was given up, or of a later version.
        if let Ok(Incoming::FromProbe(FromProbe::Reading(reading))) = arrival.decode() {
            self.waiting.push_back(Arrived {
                reading,
                frame: arrival.into_frame(),
                monotonic_ms: self.link.monotonic_ms(),
                utc_ms: self.link.utc_ms(),
            });
        }
    }

    fn deadline(&self, patience_ms: u64) -> Deadline {
        Deadline::new(self.link.monotonic_ms().saturating_add(patience_ms))
    }

    /// The next whole frame that comes before the deadline. At the deadline the line is looked at once
    /// more, in case this program was kept from it, and then no more: not even if more keeps coming.
    fn arrive(&mut self, deadline: &mut Deadline) -> Result<Option<Arrival>, ProbeError> {
        loop {
            if let Some(arrival) = self.arrivals.pop() {
                return Ok(Some(arrival));
            }
            if deadline.over {
                return Ok(None);
            }
            let patience = deadline.until.saturating_sub(self.link.monotonic_ms());
            deadline.over = patience == 0;
            let mut space = [0; 4096];
            let count = self.link.receive(&mut space, patience)?;
            self.arrivals.push(&space[..count]);
        }
    }
}

#[cfg(test)]
#[path = "probe_tests.rs"]
mod tests;
