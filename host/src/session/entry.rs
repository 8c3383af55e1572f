//! What the host writes between the probe's frames.

use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::wire::frame::{EncodeError, MAX_FRAME, encode_body, kind};
use rillmark_proto::wire::message::Sampling;
use serde::{Deserialize, Serialize};

/// Version of the entries below, the version byte of their frames: the file format's version.
pub const SESSION_VERSION: u8 = 1;
/// What the first entry of every session file says.
pub const MAGIC: [u8; 16] = *b"RILLMARK SESSION";
/// The most bytes of a note.
pub const MAX_NOTE: usize = 1000;
/// The most bytes of a file's name.
pub const MAX_FILE: usize = 255;
/// The most bytes of what was measured of a board.
pub const MAX_LINES: usize = 1000;

/// One entry of version 1.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Entry {
    /// The first entry of the file. Its frame is always the same bytes, so that any program can
    /// tell a session file by its beginning.
    Opening {
        /// [`MAGIC`].
        magic: [u8; 16],
    },
    /// Who logs what with what.
    Header(Header),
    /// A calibration record as the probe keeps it.
    Record {
        /// Its identity, as the probe gave it.
        id: RecordId,
        /// Its canonical bytes.
        bytes: Vec<u8>,
    },
    /// Where probe time stands against the host's clocks.
    Mark(Mark),
    /// From here on no reading could be received.
    GapBegan {
        /// Why.
        cause: Cause,
        /// When the host noticed.
        at: HostTime,
    },
    /// Readings come again.
    GapEnded {
        /// Since when.
        at: HostTime,
    },
    /// Words of the operator, or of the host about itself.
    Note {
        /// When.
        at: HostTime,
        /// At most [`MAX_NOTE`] bytes of UTF-8.
        text: String,
    },
    /// The log was ended on purpose; a file without it was cut short.
    End {
        /// Why.
        reason: EndReason,
        /// When.
        at: HostTime,
        /// Headers of this run, so that one that is gone is missed.
        headers: u32,
        /// Readings of this run.
        readings: u64,
        /// Bytes that came over the line and belonged to no whole frame.
        line_damaged_bytes: u64,
    },
    /// What was measured of the board beforehand: this run counts its uncertainties with it. It stands in the
    /// run twice, at its begin and before its end.
    Measured {
        /// When this copy was written.
        at: HostTime,
        /// What the file was called, without its folders; at most [`MAX_FILE`] bytes.
        file: String,
        /// Board and lines as `hardware-notes/bring-up.md` writes them; at most [`MAX_LINES`] bytes.
        lines: String,
    },
}

/// Everything that stays the same until the next header.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Header {
    /// Version of the program that writes.
    pub host: String,
    /// The board.
    pub board: BoardId,
    /// Number of the probe's start.
    pub boot: u32,
    /// Firmware version: major, minor, patch.
    pub firmware: [u8; 3],
    /// Oldest and newest wire version of the probe.
    pub wire: [u8; 2],
    /// Newest record version that the probe reads.
    pub record_max: u8,
    /// Why this header is written.
    pub reason: HeaderReason,
    /// What the probe was told to sample.
    pub sampling: Sampling,
    /// What is fitted; `None` when nobody ever said, or the probe cannot tell.
    pub equipment: Option<Equipment>,
    /// Identities of the records in force; the records themselves are in the file before the
    /// first reading that uses them.
    pub in_force: Vec<RecordId>,
    /// Identities of the records that verified them, which are in the file too: without one of them the
    /// doubt of a reading would be told too small.
    pub verifications: Vec<RecordId>,
    /// Standard uncertainty that the reference electrode's junction gives a pH in this water, as a stir
    /// check told; `None` when nobody said.
    pub junction_ph: Option<f64>,
    /// When.
    pub at: HostTime,
}

/// Why a header is written.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum HeaderReason {
    /// The session begins, or another run of the log goes on in its file.
    Began,
    /// The probe was reached again, and something above has changed.
    Changed,
}

/// Why no reading could be received.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Cause {
    /// The line was lost: a pulled cable, a computer asleep.
    LineLost,
    /// The line was there, but nothing came for longer than the sampling explains.
    Silent,
}

/// Why the log ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum EndReason {
    /// What was asked for was done.
    Done,
    /// The operator interrupted it.
    Interrupted,
}

/// A moment on the host's two clocks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct HostTime {
    /// Milliseconds on a clock that never jumps, from a start of its own.
    pub monotonic_ms: u64,
    /// Milliseconds since 1970-01-01 UTC.
    pub utc_ms: i64,
}

/// A moment on the probe's clock and on the host's two.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark {
    /// Number of the probe's start.
    pub boot: u32,
    /// Milliseconds since that start, of the reading that had just arrived.
    pub probe_ms: u64,
    /// When it arrived.
    pub at: HostTime,
    /// Headers of this run so far, so that one that is gone is missed.
    pub headers: u32,
}

impl Entry {
    /// The first entry of every file.
    #[must_use]
    pub const fn opening() -> Self {
        Self::Opening { magic: MAGIC }
    }

    /// The entry's frame, delimiter included.
    ///
    /// # Errors
    /// When a text or a record is too long for a frame.
    pub fn frame(&self) -> Result<Vec<u8>, EncodeError> {
        let mut frame = vec![0; MAX_FRAME];
        let len = encode_body(kind::SESSION, SESSION_VERSION, self, &mut frame)?;
        frame.truncate(len);
        Ok(frame)
    }

    /// Reads the body of a session frame of version 1; `None` when it is not exactly one entry, or one
    /// that no log writes.
    #[must_use]
    pub fn from_body(body: &[u8]) -> Option<Self> {
        match postcard::take_from_bytes::<Self>(body) {
            Ok((entry, [])) => entry.is_within_bounds().then_some(entry),
            _ => None,
        }
    }

    /// What was measured has a name and is no longer than a log writes it.
    fn is_within_bounds(&self) -> bool {
        match self {
            Self::Measured { file, lines, .. } => {
                (1..=MAX_FILE).contains(&file.len()) && lines.len() <= MAX_LINES
            }
            _ => true,
        }
    }
}

#[cfg(test)]
#[path = "entry_tests.rs"]
mod tests;
