//! Identities: of a board, and of a calibration record.

use serde::{Deserialize, Serialize};

/// The unique id of a board's electronics (the flash chip's id on a Pico).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BoardId(pub [u8; 8]);

/// The identity of a calibration record: the first 16 bytes of the SHA-256 of its canonical bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct RecordId(pub [u8; 16]);

/// The first 4 bytes of a [`RecordId`], carried by every reading.
///
/// Short forms are resolved only among the records of one session or one probe; a probe refuses a
/// record whose short form it already holds for another record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ShortId(pub [u8; 4]);

impl RecordId {
    /// The short form that readings carry.
    pub const fn short(self) -> ShortId {
        let [a, b, c, d, ..] = self.0;
        ShortId([a, b, c, d])
    }
}

macro_rules! hex {
    ($($name:ident),*) => {$(
        impl core::fmt::Display for $name {
            fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
                self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
            }
        }
    )*};
}
hex!(BoardId, RecordId, ShortId);
