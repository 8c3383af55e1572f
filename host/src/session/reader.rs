//! Reads a session file back: everything in it that is whole, and what is not.

use rillmark_proto::reading::Reading;
use rillmark_proto::wire::frame::{MAX_FRAME, Piece, Pieces, pieces, unpack};
use rillmark_proto::wire::message::FromProbe;
use rillmark_proto::wire::{Incoming, decode};

use super::entry::{Entry, SESSION_VERSION};

/// One thing in a session file.
#[derive(Clone, Debug, PartialEq)]
pub enum Item {
    /// An entry of the host.
    Entry(Box<Entry>),
    /// A reading of the probe.
    Reading(Box<Reading>),
    /// A whole frame of a kind or version that this release does not read, or that says nothing
    /// about the water.
    Other,
    /// An entry of a later file format.
    Newer {
        /// Its version.
        version: u8,
    },
    /// Bytes that belong to no whole frame.
    Damage {
        /// How many.
        bytes: u64,
    },
    /// Bytes at the end: of a frame whose writing was cut short, or zeros.
    Torn {
        /// How many.
        bytes: u64,
    },
}

/// Walks through the bytes of a session file, each item with the place where it begins. Every byte is
/// part of an item: nobody writes a zero that does not end a frame.
#[must_use]
pub fn items(bytes: &[u8]) -> Items<'_> {
    Items { bytes, pieces: pieces(bytes), behind: 0, found: None }
}

/// See [`items`].
#[derive(Clone, Debug)]
pub struct Items<'a> {
    bytes: &'a [u8],
    pieces: Pieces<'a>,
    /// Where the last piece ended.
    behind: usize,
    /// A piece whose zeros in front were given out first.
    found: Option<Piece<'a>>,
}

impl Iterator for Items<'_> {
    type Item = (u64, Item);

    fn next(&mut self) -> Option<Self::Item> {
        let piece = self.found.take().or_else(|| self.pieces.next());
        let (begin, len) = match piece {
            Some(Piece::Frame { offset, raw }) => (offset, raw.len()),
            Some(Piece::Damage { offset, bytes } | Piece::Unfinished { offset, bytes }) => {
                (offset, bytes)
            }
            None => (self.bytes.len(), 0),
        };
        let (offset, zeros) = (self.behind as u64, begin.saturating_sub(self.behind) as u64);
        if zeros > 0 {
            (self.behind, self.found) = (begin, piece);
            // A disk that lost its power leaves some at the end.
            return Some(match piece {
                Some(_) => (offset, Item::Damage { bytes: zeros }),
                None => (offset, Item::Torn { bytes: zeros }),
            });
        }
        self.behind = begin + len;
        Some(match piece? {
            Piece::Frame { offset, raw } => (offset as u64, item(raw)),
            Piece::Damage { offset, bytes } => {
                (offset as u64, Item::Damage { bytes: bytes as u64 })
            }
            Piece::Unfinished { offset, bytes } => {
                (offset as u64, Item::Torn { bytes: bytes as u64 })
            }
        })
    }
}

fn item(raw: &[u8]) -> Item {
    let mut space = [0; MAX_FRAME];
    let Some(payload) = unpack(raw, &mut space) else {
        return Item::Damage { bytes: raw.len() as u64 };
    };
    match decode(&payload) {
        Ok(Incoming::FromProbe(FromProbe::Reading(reading))) => Item::Reading(Box::new(reading)),
        Ok(Incoming::Session { version: SESSION_VERSION, body }) => {
            Entry::from_body(body).map_or(Item::Other, |entry| Item::Entry(Box::new(entry)))
        }
        Ok(Incoming::Session { version, .. }) => Item::Newer { version },
        _ => Item::Other,
    }
}
