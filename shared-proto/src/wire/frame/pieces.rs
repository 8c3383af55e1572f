//! From bytes in memory (a session file) to frames with their places.

use super::stuffing::{find_whole, unstuff};
use super::{DELIMITER, MAX_FRAME, Payload};

/// A piece of a stream of frames. Pieces and the lone delimiters between them are all of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Piece<'a> {
    /// A whole frame; [`unpack`] gives its payload.
    Frame {
        /// Where it begins.
        offset: usize,
        /// Its bytes as they stand, delimiter included.
        raw: &'a [u8],
    },
    /// Bytes that belong to no whole frame.
    Damage {
        /// Where they begin.
        offset: usize,
        /// How many, a delimiter that ended them included.
        bytes: usize,
    },
    /// Bytes after the last delimiter: a frame whose writing was cut short.
    Unfinished {
        /// Where they begin.
        offset: usize,
        /// How many.
        bytes: usize,
    },
}

/// Walks a stream of frames that is in memory.
#[must_use]
pub const fn pieces(stream: &[u8]) -> Pieces<'_> {
    Pieces { stream, offset: 0, found: None }
}

/// See [`pieces`].
#[derive(Clone, Debug)]
pub struct Pieces<'a> {
    stream: &'a [u8],
    offset: usize,
    /// A frame whose damage in front was given out first.
    found: Option<Piece<'a>>,
}

impl<'a> Iterator for Pieces<'a> {
    type Item = Piece<'a>;

    fn next(&mut self) -> Option<Piece<'a>> {
        if let Some(found) = self.found.take() {
            return Some(found);
        }
        let rest = self.stream.get(self.offset..)?;
        self.offset += rest.iter().position(|byte| *byte != DELIMITER)?;
        let offset = self.offset;
        let rest = &self.stream[offset..];
        let Some(len) = rest.iter().position(|byte| *byte == DELIMITER) else {
            self.offset = self.stream.len();
            return Some(Piece::Unfinished { offset, bytes: rest.len() });
        };
        self.offset += len + 1;
        // Only the end of a longer segment can be a frame.
        let skipped = (len + 1).saturating_sub(MAX_FRAME);
        let Some(start) = find_whole(&rest[skipped..len]).map(|at| at + skipped) else {
            return Some(Piece::Damage { offset, bytes: len + 1 });
        };
        let frame = Piece::Frame { offset: offset + start, raw: &rest[start..=len] };
        if start == 0 {
            return Some(frame);
        }
        self.found = Some(frame);
        Some(Piece::Damage { offset, bytes: start })
    }
}

/// The payload of one frame as [`Piece::Frame`] gave it, decoded into `space`; `None` when the
/// bytes are not exactly one whole frame.
#[must_use]
pub fn unpack<'a>(raw: &[u8], space: &'a mut [u8; MAX_FRAME]) -> Option<Payload<'a>> {
    let (&DELIMITER, segment) = raw.split_last()? else { return None };
    if segment.contains(&DELIMITER) || find_whole(segment) != Some(0) {
        return None;
    }
    let space = space.get_mut(..segment.len())?;
    space.copy_from_slice(segment);
    let len = unstuff(space);
    Payload::from_checked(&space[..len])
}
