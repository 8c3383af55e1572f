//! Frames: how a message stands on the line and in a file.
//!
//! payload = kind, version, body, CRC-32 of all before it (ISO-HDLC, little-endian);
//! frame = COBS(payload) and a 0x00. `PROTOCOL.md` draws the bytes.
//!
//! Every byte that comes in is part of a whole frame, damage, or a lone delimiter (an empty
//! frame, which means nothing); the counts add up.

mod decoder;
mod encoder;
pub mod kind;
mod pieces;
mod stuffing;

pub use decoder::{Decoder, Event};
pub use encoder::{EncodeError, encode, encode_body};
pub use pieces::{Piece, Pieces, pieces, unpack};

use crc::{CRC_32_ISO_HDLC, Crc};

/// The most bytes of a body. Fits every message of this version (a test holds it) with room left
/// for the ones that follow.
pub const MAX_BODY: usize = 1536;
/// Bytes of a payload beside its body: kind, version, CRC-32.
pub const PAYLOAD_OVERHEAD: usize = 6;
/// The most bytes of a payload.
pub const MAX_PAYLOAD: usize = MAX_BODY + PAYLOAD_OVERHEAD;
/// The most bytes of a frame: the payload, one code byte for every 254 bytes begun, the delimiter.
pub const MAX_FRAME: usize = MAX_PAYLOAD + MAX_PAYLOAD / 254 + 1 + 1;
/// Ends every frame and stands nowhere else in it.
pub const DELIMITER: u8 = 0x00;

/// Width 32, polynomial 0x04C11DB7, reflected, initial and final XOR 0xFFFFFFFF.
static CHECKSUM: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
/// What the CRC-32 of any bytes followed by their own little-endian CRC-32 comes to.
const CRC_OF_WHOLE: u32 = !CRC_32_ISO_HDLC.residue;

/// What a whole frame carries: its CRC was right.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Payload<'a> {
    /// Which stream the body belongs to, one of [`kind`] or one that a later release knows.
    pub kind: u8,
    /// Version of the body's layout.
    pub version: u8,
    /// The body.
    pub body: &'a [u8],
}

impl<'a> Payload<'a> {
    /// Splits the payload of a frame whose CRC was checked.
    fn from_checked(payload: &'a [u8]) -> Option<Self> {
        let (content, _crc) = payload.split_last_chunk::<4>()?;
        let [kind, version, body @ ..] = content else { return None };
        Some(Self { kind: *kind, version: *version, body })
    }
}
