//! Which decoder a payload's version byte chooses.
//!
//! Every released version keeps its decoder: when version 2 comes, the types of version 1 are
//! frozen beside it, `decode` gains an arm, and version 1's message is lifted into the newest.

use core::fmt;

use serde::de::DeserializeOwned;

use super::frame::{EncodeError, Payload, encode, encode_body, kind};
use super::hello::{HELLO_VERSION, Hello, HelloAnswer};
use super::message::{Command, FromProbe, WIRE_VERSION};

/// What a payload says.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant)] // no_std without alloc: nothing to box into
pub enum Incoming<'a> {
    /// A host asks who is there.
    Hello(Hello),
    /// A probe says who it is.
    HelloAnswer(HelloAnswer),
    /// A host wants something.
    Command(Command),
    /// A probe answers or reports.
    FromProbe(FromProbe),
    /// A host's own frame in a session file, whose body this crate does not read.
    Session {
        /// Version of the body.
        version: u8,
        /// The body.
        body: &'a [u8],
    },
}

/// Why a whole frame (its CRC was right) says nothing to this release. None of these is damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecodeError {
    /// A kind that a later release may know.
    UnknownKind {
        /// The kind.
        kind: u8,
    },
    /// A version of a known kind that this release does not read.
    UnknownVersion {
        /// The kind.
        kind: u8,
        /// Version found.
        found: u8,
        /// Newest version that this release reads.
        newest: u8,
    },
    /// A command with an order that this release does not know; the answer to its id is
    /// [`super::message::Refusal::UnknownOrder`].
    UnknownOrder {
        /// Id of the command.
        id: u32,
    },
    /// An answer whose outcome this release does not know.
    UnknownAnswer {
        /// Id of the command.
        id: u32,
    },
    /// A body that cannot be read, or that goes on after its end.
    Malformed {
        /// The kind.
        kind: u8,
    },
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::UnknownKind { kind } => write!(f, "unknown frame kind 0x{kind:02x}"),
            Self::UnknownVersion { kind, found, newest } => write!(
                f,
                "frame kind 0x{kind:02x} has version {found}, the newest known is {newest}"
            ),
            Self::UnknownOrder { id } => write!(f, "command {id} has an unknown order"),
            Self::UnknownAnswer { id } => write!(f, "answer to command {id} is unknown"),
            Self::Malformed { kind } => {
                write!(f, "body of a frame of kind 0x{kind:02x} cannot be read")
            }
        }
    }
}

impl core::error::Error for DecodeError {}

/// Reads a payload.
///
/// # Errors
/// When the kind, the version or the content is unknown to this release or cannot be read.
pub fn decode<'a>(payload: &Payload<'a>) -> Result<Incoming<'a>, DecodeError> {
    let Payload { kind, version, body } = *payload;
    let malformed = DecodeError::Malformed { kind };
    let only = |newest| match version == newest {
        true => Ok(()),
        false => Err(DecodeError::UnknownVersion { kind, found: version, newest }),
    };
    match kind {
        kind::HELLO => {
            only(HELLO_VERSION)?;
            Hello::from_bytes(body).map(Incoming::Hello).ok_or(malformed)
        }
        kind::HELLO_ANSWER => {
            only(HELLO_VERSION)?;
            HelloAnswer::from_bytes(body).map(Incoming::HelloAnswer).ok_or(malformed)
        }
        kind::COMMAND => {
            only(WIRE_VERSION)?;
            whole(body).map(Incoming::Command).ok_or_else(|| {
                leading_id(body).map_or(malformed, |id| DecodeError::UnknownOrder { id })
            })
        }
        kind::FROM_PROBE => {
            only(WIRE_VERSION)?;
            whole(body).filter(is_finite).map(Incoming::FromProbe).ok_or_else(|| match body {
                [0, answer @ ..] => {
                    leading_id(answer).map_or(malformed, |id| DecodeError::UnknownAnswer { id })
                }
                _ => malformed,
            })
        }
        kind::SESSION => Ok(Incoming::Session { version, body }),
        kind => Err(DecodeError::UnknownKind { kind }),
    }
}

/// A value that fills the body to its last byte.
fn whole<T: DeserializeOwned>(body: &[u8]) -> Option<T> {
    match postcard::take_from_bytes(body) {
        Ok((value, [])) => Some(value),
        _ => None,
    }
}

/// False for a reading with a value that is no number: what is not defined is `None`, and no probe of ours
/// computes anything else. It would not even be equal to itself.
fn is_finite(message: &FromProbe) -> bool {
    !matches!(message, FromProbe::Reading(reading) if !reading.computed.is_finite())
}

/// The id that commands and answers begin with in every version.
fn leading_id(body: &[u8]) -> Option<u32> {
    postcard::take_from_bytes(body).ok().map(|(id, _)| id)
}

/// Writes a hello's frame to `out`; returns its length.
///
/// # Errors
/// When `out` is too small.
pub fn encode_hello(hello: Hello, out: &mut [u8]) -> Result<usize, EncodeError> {
    encode(kind::HELLO, HELLO_VERSION, &hello.to_bytes(), out)
}

/// Writes a hello answer's frame to `out`; returns its length.
///
/// # Errors
/// When `out` is too small.
pub fn encode_hello_answer(answer: HelloAnswer, out: &mut [u8]) -> Result<usize, EncodeError> {
    encode(kind::HELLO_ANSWER, HELLO_VERSION, &answer.to_bytes(), out)
}

/// Writes a command's frame to `out`; returns its length.
///
/// # Errors
/// When `out` is too small; [`super::frame::MAX_FRAME`] bytes always suffice.
pub fn encode_command(command: &Command, out: &mut [u8]) -> Result<usize, EncodeError> {
    encode_body(kind::COMMAND, WIRE_VERSION, command, out)
}

/// Writes the frame of an answer or a reading to `out`; returns its length.
///
/// # Errors
/// When `out` is too small; [`super::frame::MAX_FRAME`] bytes always suffice.
pub fn encode_from_probe(message: &FromProbe, out: &mut [u8]) -> Result<usize, EncodeError> {
    encode_body(kind::FROM_PROBE, WIRE_VERSION, message, out)
}
