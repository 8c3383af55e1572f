//! Reads a session file back: everything in it that is whole, and what is not.

use std::collections::VecDeque;
use std::io::{self, BufRead, Read};

use rillmark_proto::reading::Reading;
use rillmark_proto::wire::frame::{DELIMITER, MAX_FRAME, Piece, pieces, unpack};
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

/// Walks through a session file, each item with the place where it begins. Every byte is part of an item:
/// nobody writes a zero that does not end a frame. What is held at a time is one frame.
pub fn items<R: BufRead>(from: R) -> Items<R> {
    Items { from, at: 0, segment: Vec::new(), found: VecDeque::new() }
}

/// See [`items`]; an error is the file's, and the walk ends with it.
#[derive(Debug)]
pub struct Items<R> {
    from: R,
    /// How much was read.
    at: u64,
    segment: Vec<u8>,
    /// Items that were read and not given out.
    found: VecDeque<(u64, Item)>,
}

impl<R: BufRead> Iterator for Items<R> {
    type Item = io::Result<(u64, Item)>;

    fn next(&mut self) -> Option<Self::Item> {
        while self.found.is_empty() {
            match self.read() {
                Ok(true) => {}
                Ok(false) => break,
                Err(error) => return Some(Err(error)),
            }
        }
        self.found.pop_front().map(Ok)
    }
}

impl<R: BufRead> Items<R> {
    /// Zeros that end no frame: how many.
    fn skip_zeros(&mut self) -> io::Result<u64> {
        let begin = self.at;
        loop {
            let held = self.from.fill_buf()?;
            let zeros = held.iter().position(|byte| *byte != DELIMITER).unwrap_or(held.len());
            if zeros == 0 {
                return Ok(self.at - begin);
            }
            self.from.consume(zeros);
            self.at += zeros as u64;
        }
    }

    /// Reads on to the next delimiter; false at the end.
    fn read(&mut self) -> io::Result<bool> {
        self.segment.clear();
        let zeros = self.skip_zeros()?;
        let begin = self.at;
        let mut limited = Read::by_ref(&mut self.from).take(MAX_FRAME as u64);
        let mut len = limited.read_until(DELIMITER, &mut self.segment)? as u64;
        if len == 0 {
            // A disk that lost its power leaves some at the end.
            if zeros > 0 {
                self.found.push_back((begin - zeros, Item::Torn { bytes: zeros }));
            }
            return Ok(zeros > 0);
        }
        if zeros > 0 {
            self.found.push_back((begin - zeros, Item::Damage { bytes: zeros }));
        }
        // Of what is longer than a frame only the end can be one, and only that is held.
        while len >= MAX_FRAME as u64 && self.segment.last() != Some(&DELIMITER) {
            let kept = self.segment.len().saturating_sub(MAX_FRAME);
            self.segment.drain(..kept);
            let mut limited = Read::by_ref(&mut self.from).take(MAX_FRAME as u64);
            match limited.read_until(DELIMITER, &mut self.segment)? as u64 {
                0 => break,
                more => len += more,
            }
        }
        self.at = begin + len;
        let held_at = self.at - self.segment.len() as u64;
        let before = held_at - begin;
        let mut is_first = true;
        for piece in pieces(&self.segment) {
            // What is no longer held is part of the first piece, or damage in front of it.
            let more = if std::mem::take(&mut is_first) { before } else { 0 };
            let item = match piece {
                Piece::Frame { offset, raw } => {
                    if more > 0 {
                        self.found.push_back((begin, Item::Damage { bytes: more }));
                    }
                    (held_at + offset as u64, item(raw))
                }
                Piece::Damage { offset, bytes } => {
                    (held_at + offset as u64 - more, Item::Damage { bytes: bytes as u64 + more })
                }
                Piece::Unfinished { offset, bytes } => {
                    (held_at + offset as u64 - more, Item::Torn { bytes: bytes as u64 + more })
                }
            };
            self.found.push_back(item);
        }
        Ok(true)
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

#[cfg(test)]
mod tests {
    use std::io::BufReader;

    use proptest::prelude::*;

    use super::*;
    use crate::session::sample::{self, frames};

    /// Frames, zeros and what is neither, also longer than a frame.
    fn stretch() -> impl Strategy<Value = Vec<u8>> {
        prop_oneof![
            3 => any::<prop::sample::Index>().prop_map(|at| frames()[at.index(frames().len())].clone()),
            1 => (1..600_usize).prop_map(|len| vec![0; len]),
            2 => proptest::collection::vec(1..=255_u8, 1..40),
            1 => (0..3_usize, 0..9_usize).prop_map(|(times, more)| vec![7; times * MAX_FRAME + more]),
            1 => (MAX_FRAME - 3..MAX_FRAME + 3).prop_map(|len| vec![9; len]),
        ]
    }

    proptest! {
        /// As `pieces` finds them in the whole file, however it is handed over; and every byte is part of
        /// one item.
        #[test]
        fn what_is_read_in_pieces_is_what_is_there(
            stretches in proptest::collection::vec(stretch(), 0..12),
            cut in 0..50_usize,
            capacity in 1..5000_usize,
        ) {
            let mut bytes = stretches.concat();
            bytes.truncate(bytes.len().saturating_sub(cut));
            let read = |from: &mut dyn BufRead| {
                items(from).collect::<io::Result<Vec<_>>>().expect("in memory")
            };
            let all = read(&mut &bytes[..]);
            let mut small = BufReader::with_capacity(capacity, &bytes[..]);
            prop_assert_eq!(&read(&mut small), &all);

            let whole = pieces(&bytes).filter_map(|piece| match piece {
                Piece::Frame { offset, raw } => Some((offset as u64, item(raw))),
                _ => None,
            });
            let is_frame = |item: &&(u64, Item)| {
                !matches!(item.1, Item::Damage { .. } | Item::Torn { .. })
            };
            prop_assert_eq!(all.iter().filter(is_frame).cloned().collect::<Vec<_>>(), whole.collect::<Vec<_>>());
            let lens = all.iter().zip(all.iter().skip(1).map(|next| next.0).chain([bytes.len() as u64]));
            let mut at = 0;
            for (found, end) in lens {
                prop_assert_eq!(found.0, at);
                if let Item::Damage { bytes } | Item::Torn { bytes } = found.1 {
                    prop_assert_eq!(bytes, end - at);
                }
                at = end;
            }
            prop_assert_eq!(at, bytes.len() as u64);
            prop_assert_eq!(sample::items(&bytes).count(), all.len());
        }
    }
}
