//! What can go wrong between a host and a probe, and what to do about it.

use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::record::codec::RECORD_VERSION;
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::message::Refusal;

use super::LinkError;
use super::probe::HELLO;
use crate::exit::{Exit, Failure};
use crate::words::en::{probe as words, versions};

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
    /// The probe's firmware does not read the records that this program writes.
    #[error("{}", versions::older_records(*newest, RECORD_VERSION))]
    OlderRecords {
        /// The newest record version that it reads.
        newest: u8,
    },
    /// Another board than expected.
    #[error("{}", words::other_board(expected, found))]
    OtherBoard {
        /// What was expected.
        expected: String,
        /// What is there.
        found: BoardId,
    },
    /// Another record than the one asked for, or a damaged one.
    #[error("{}", words::other_record(&asked.short(), &found.short()))]
    OtherRecord {
        /// The identity asked for.
        asked: RecordId,
        /// That of the bytes that came.
        found: RecordId,
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
        versions::update_firmware(answer.wire_max, HELLO.wire_min)
    } else {
        versions::update_host(answer.wire_min, HELLO.wire_max)
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
            | ProbeError::OlderRecords { .. }
            | ProbeError::OtherRecord { .. }
            | ProbeError::NoAnswer { .. }
            | ProbeError::UnknownAnswer { .. } => Exit::Probe,
        };
        Self::new(exit, error.to_string())
    }
}
