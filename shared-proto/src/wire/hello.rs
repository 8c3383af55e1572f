//! The hello and its answer: bytes that stay as they are in every version for ever.
//!
//! They are written and read byte by byte, without the message codec, so that the oldest probe
//! and the newest host can always tell each other what they speak.

use super::start::{START_LEN, Start};
use crate::identity::BoardId;

/// Begins both bodies.
pub const MAGIC: [u8; 8] = *b"RILLMARK";
/// The version byte of both frames.
pub const HELLO_VERSION: u8 = 1;
/// Bytes of a hello's body.
pub const HELLO_LEN: usize = 10;
/// Bytes of a hello answer's body.
pub const HELLO_ANSWER_LEN: usize = 26 + START_LEN;

/// Host to probe: the wire versions that the host speaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Hello {
    /// Oldest.
    pub wire_min: u8,
    /// Newest.
    pub wire_max: u8,
}

/// Probe to host: what the probe speaks and who it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct HelloAnswer {
    /// Oldest wire version.
    pub wire_min: u8,
    /// Newest wire version.
    pub wire_max: u8,
    /// Newest record version that the probe reads.
    pub record_max: u8,
    /// The board.
    pub board: BoardId,
    /// Number of the current start, counted from 1.
    pub boot: u32,
    /// Firmware version: major, minor, patch.
    pub firmware: [u8; 3],
    /// How the current start came about.
    pub start: Start,
}

impl Hello {
    /// The body's bytes.
    #[must_use]
    pub const fn to_bytes(self) -> [u8; HELLO_LEN] {
        let [a, b, c, d, e, f, g, h] = MAGIC;
        [a, b, c, d, e, f, g, h, self.wire_min, self.wire_max]
    }

    /// Reads a body; `None` when it is not a hello.
    #[must_use]
    pub fn from_bytes(body: &[u8]) -> Option<Self> {
        let body: &[u8; HELLO_LEN] = body.try_into().ok()?;
        let (magic, [wire_min, wire_max]) = body.split_first_chunk::<8>()? else { return None };
        (*magic == MAGIC).then_some(Self { wire_min: *wire_min, wire_max: *wire_max })
    }

    /// The newest wire version that both speak, if there is one.
    #[must_use]
    pub fn agree(self, answer: HelloAnswer) -> Option<u8> {
        let newest = self.wire_max.min(answer.wire_max);
        (newest >= self.wire_min && newest >= answer.wire_min).then_some(newest)
    }
}

impl HelloAnswer {
    /// The body's bytes.
    #[must_use]
    pub fn to_bytes(self) -> [u8; HELLO_ANSWER_LEN] {
        let mut body = [0; HELLO_ANSWER_LEN];
        body[..8].copy_from_slice(&MAGIC);
        body[8..11].copy_from_slice(&[self.wire_min, self.wire_max, self.record_max]);
        body[11..19].copy_from_slice(&self.board.0);
        body[19..23].copy_from_slice(&self.boot.to_le_bytes());
        body[23..26].copy_from_slice(&self.firmware);
        body[26..].copy_from_slice(&self.start.to_bytes());
        body
    }

    /// Reads a body; `None` when it is not a hello's answer.
    #[must_use]
    pub fn from_bytes(body: &[u8]) -> Option<Self> {
        let body: &[u8; HELLO_ANSWER_LEN] = body.try_into().ok()?;
        let (magic, body) = body.split_first_chunk::<8>()?;
        let ([wire_min, wire_max, record_max], body) = body.split_first_chunk::<3>()?;
        let (board, body) = body.split_first_chunk::<8>()?;
        let (boot, body) = body.split_first_chunk::<4>()?;
        let (firmware, start) = body.split_first_chunk::<3>()?;
        (*magic == MAGIC).then_some(Self {
            wire_min: *wire_min,
            wire_max: *wire_max,
            record_max: *record_max,
            board: BoardId(*board),
            boot: u32::from_le_bytes(*boot),
            firmware: *firmware,
            start: Start::from_bytes(start.try_into().ok()?),
        })
    }
}
