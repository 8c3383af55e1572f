//! The conversation with a probe: hello, one command and its one answer, and the readings that
//! come in between.

use std::collections::VecDeque;
use std::hash::{BuildHasher, Hasher, RandomState};

use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::reading::Reading;
use rillmark_proto::record::RecordBytes;
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::hello::{Hello, HelloAnswer};
use rillmark_proto::wire::message::{
    Command, Done, FromProbe, Listed, Order, Refusal, Sampling, WIRE_VERSION,
};
use rillmark_proto::wire::{DecodeError, Incoming, encode_command, encode_hello};

use super::arrivals::{Arrival, Arrivals};
use super::{Link, LinkError};
use crate::exit::{Exit, Failure};
use crate::words::en::probe as words;

/// Hellos said before a line is given up, and how long each waits. A probe in the middle of a
/// slow conversion answers late; 5 s in all bridge any of them.
const HELLOS: u32 = 5;
const HELLO_PATIENCE_MS: u64 = 1000;
/// Times a command is said, and how long each waits. A store operation at a page turn takes
/// 1.33 s on the slowest board (measured on an RP2040), and a clean one far less.
const COMMANDS: u32 = 3;
const COMMAND_PATIENCE_MS: u64 = 5000;

/// What this program speaks.
const HELLO: Hello = Hello { wire_min: WIRE_VERSION, wire_max: WIRE_VERSION };

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

/// What can go wrong in a conversation.
#[derive(Debug, thiserror::Error)]
pub enum ProbeError {
    /// The line.
    #[error(transparent)]
    Link(#[from] LinkError),
    /// Nothing came at all.
    #[error("{}", words::silent(name))]
    Silent {
        /// The line's name.
        name: String,
    },
    /// Bytes came, but not one frame.
    #[error("{}", words::foreign(name, *bytes))]
    Foreign {
        /// The line's name.
        name: String,
        /// How many bytes came.
        bytes: u64,
    },
    /// Frames came, but no answer to the hello.
    #[error("{}", words::no_hello(name))]
    NoHello {
        /// The line's name.
        name: String,
    },
    /// No wire version is common to both.
    #[error("{}", other_version(answer))]
    OtherVersion {
        /// What the probe said.
        answer: HelloAnswer,
    },
    /// Another board than expected.
    #[error("{}", words::other_board(expected, found))]
    OtherBoard {
        /// What was expected.
        expected: String,
        /// What is there.
        found: BoardId,
    },
    /// A command stayed without an answer.
    #[error("{}", words::no_answer(name, order))]
    NoAnswer {
        /// The line's name.
        name: String,
        /// What was asked.
        order: &'static str,
    },
    /// An answer of an unknown or unfitting form.
    #[error("{}", words::unknown_answer(order))]
    UnknownAnswer {
        /// What was asked.
        order: &'static str,
    },
    /// A command that does not fit a frame.
    #[error("{}", words::order_too_long(order))]
    TooLong {
        /// What was asked.
        order: &'static str,
    },
    /// The probe refused.
    #[error("{}", words::refusal(.0))]
    Refused(Refusal),
}

fn other_version(answer: &HelloAnswer) -> String {
    if answer.wire_max < HELLO.wire_min {
        words::update_firmware(answer.wire_max, HELLO.wire_min)
    } else {
        words::update_host(answer.wire_min, HELLO.wire_max)
    }
}

impl From<ProbeError> for Failure {
    fn from(error: ProbeError) -> Self {
        let exit = match &error {
            ProbeError::Link(_) | ProbeError::OtherBoard { .. } => Exit::Port,
            ProbeError::Refused(_) => Exit::Refused,
            ProbeError::TooLong { .. } => Exit::BadInput,
            ProbeError::Silent { .. }
            | ProbeError::Foreign { .. }
            | ProbeError::NoHello { .. }
            | ProbeError::OtherVersion { .. }
            | ProbeError::NoAnswer { .. }
            | ProbeError::UnknownAnswer { .. } => Exit::Probe,
        };
        Self::new(exit, error.to_string())
    }
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
            let until = self.link.monotonic_ms() + HELLO_PATIENCE_MS;
            while let Some(arrival) = self.arrive(until)? {
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
        let expected = self.answer.board;
        self.arrivals.cut();
        self.link.reopen()?;
        let before = self.answer;
        let answer = self.hello()?;
        if answer.board != expected {
            self.answer = before;
            let (expected, found) = (expected.to_string(), answer.board);
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
            let until = self.link.monotonic_ms() + COMMAND_PATIENCE_MS;
            while let Some(arrival) = self.arrive(until)? {
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
        let until = self.link.monotonic_ms() + patience_ms;
        loop {
            if let Some(first) = self.waiting.pop_front() {
                return Ok(Some(first));
            }
            match self.arrive(until)? {
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

    /// The next whole frame that comes before `until`.
    fn arrive(&mut self, until: u64) -> Result<Option<Arrival>, ProbeError> {
        loop {
            if let Some(arrival) = self.arrivals.pop() {
                return Ok(Some(arrival));
            }
            let patience = until.saturating_sub(self.link.monotonic_ms());
            let mut space = [0; 4096];
            let count = self.link.receive(&mut space, patience)?;
            self.arrivals.push(&space[..count]);
            if count == 0 && self.link.monotonic_ms() >= until {
                return Ok(None);
            }
        }
    }
}

/// The orders, each with the one form of answer that fits it.
impl Probe {
    fn plain(&mut self, order: Order) -> Result<(), ProbeError> {
        let name = order_name(&order);
        match self.command(order)? {
            Done::Plain => Ok(()),
            _ => Err(ProbeError::UnknownAnswer { order: name }),
        }
    }

    /// Starts, changes or stops sampling.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn sample(&mut self, sampling: Sampling) -> Result<(), ProbeError> {
        self.plain(Order::Sample(sampling))
    }

    /// Says what is fitted.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn equip(&mut self, equipment: Equipment) -> Result<(), ProbeError> {
        self.plain(Order::Equip(equipment))
    }

    /// What is fitted; `None` when nobody ever said.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn equipment(&mut self) -> Result<Option<Equipment>, ProbeError> {
        match self.command(Order::TellEquipment)? {
            Done::Equipment(equipment) => Ok(equipment),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::TELL_EQUIPMENT }),
        }
    }

    /// Has a record kept and used from now on.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn keep(&mut self, record: RecordBytes) -> Result<RecordId, ProbeError> {
        match self.command(Order::Keep(record))? {
            Done::Kept(id) => Ok(id),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::KEEP }),
        }
    }

    /// The records kept.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn records(&mut self) -> Result<Vec<Listed>, ProbeError> {
        match self.command(Order::ListRecords)? {
            Done::Records(listed) => Ok(listed.to_vec()),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::LIST_RECORDS }),
        }
    }

    /// The canonical bytes of one record.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn record(&mut self, id: RecordId) -> Result<RecordBytes, ProbeError> {
        match self.command(Order::TellRecord(id))? {
            Done::Record(bytes) => Ok(bytes),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::TELL_RECORD }),
        }
    }

    /// Sets the clock chip to the line's UTC.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn set_clock(&mut self) -> Result<(), ProbeError> {
        let utc_ms = self.link.utc_ms();
        self.plain(Order::SetClock { utc_ms })
    }

    /// The clock chip's UTC in milliseconds; `None` when it lost its time.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn clock(&mut self) -> Result<Option<i64>, ProbeError> {
        match self.command(Order::TellClock)? {
            Done::Clock(utc_ms) => Ok(utc_ms),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::TELL_CLOCK }),
        }
    }
}

fn order_name(order: &Order) -> &'static str {
    match order {
        Order::Sample(_) => words::order::SAMPLE,
        Order::Equip(_) => words::order::EQUIP,
        Order::TellEquipment => words::order::TELL_EQUIPMENT,
        Order::Keep(_) => words::order::KEEP,
        Order::ListRecords => words::order::LIST_RECORDS,
        Order::TellRecord(_) => words::order::TELL_RECORD,
        Order::SetClock { .. } => words::order::SET_CLOCK,
        Order::TellClock => words::order::TELL_CLOCK,
    }
}

#[cfg(test)]
#[path = "probe_tests.rs"]
mod tests;
