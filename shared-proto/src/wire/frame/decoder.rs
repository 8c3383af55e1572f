//! From bytes as they come in to frames.

use super::stuffing::{find_whole, unstuff};
use super::{DELIMITER, MAX_FRAME, Payload};

/// Longest segment between two delimiters that can be a frame.
const MAX_SEGMENT: usize = MAX_FRAME - 1;

/// What came in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Event<'a> {
    /// A whole frame.
    Payload(Payload<'a>),
    /// Bytes that belong to no whole frame.
    Damage {
        /// How many, a delimiter that ended them included.
        bytes: u32,
    },
}

/// Finds frames in any bytes that come in any pieces; never allocates, never panics.
///
/// Damage that stands directly before a whole frame, without a delimiter between, is reported by
/// the push after the one that gave the frame. A segment longer than a frame can be is thrown
/// away up to its delimiter.
///
/// A failed segment costs at most half its length in CRC runs (see the bound in `PROTOCOL.md`),
/// random garbage far less.
#[derive(Clone, Debug)]
pub struct Decoder {
    segment: [u8; MAX_SEGMENT],
    len: usize,
    /// Bytes of a segment that did not fit.
    excess: u32,
    /// Damage that is found but not reported yet.
    unreported: u32,
    damaged: u64,
}

impl Default for Decoder {
    fn default() -> Self {
        Self::new()
    }
}

impl Decoder {
    /// A decoder that has seen nothing.
    #[must_use]
    pub const fn new() -> Self {
        Self { segment: [0; MAX_SEGMENT], len: 0, excess: 0, unreported: 0, damaged: 0 }
    }

    /// Takes one byte.
    pub fn push(&mut self, byte: u8) -> Option<Event<'_>> {
        if byte != DELIMITER {
            match self.segment.get_mut(self.len) {
                Some(free) => {
                    *free = byte;
                    self.len += 1;
                }
                None => self.excess = self.excess.saturating_add(1),
            }
            return self.report();
        }
        if self.len == 0 {
            return self.report();
        }
        let (len, excess) = (self.len, self.excess);
        (self.len, self.excess) = (0, 0);
        let start = if excess > 0 { None } else { find_whole(&self.segment[..len]) };
        let lost =
            start.map_or((len as u32).saturating_add(excess).saturating_add(1), |at| at as u32);
        self.damaged += u64::from(lost);
        let Some(start) = start else { return Some(Event::Damage { bytes: lost }) };
        self.unreported = lost;
        let segment = &mut self.segment[start..len];
        let payload_len = unstuff(segment);
        Payload::from_checked(&segment[..payload_len]).map(Event::Payload)
    }

    /// Bytes of damage since the start, reported or not. Bytes of a segment without its
    /// delimiter yet are not among them.
    #[must_use]
    pub const fn damaged_bytes(&self) -> u64 {
        self.damaged
    }

    /// Forgets the segment in progress, for a line that was cut and connected anew. Its bytes
    /// are damage; the result is all damage not reported by an event yet.
    pub fn reset(&mut self) -> u32 {
        let cut = (self.len as u32).saturating_add(self.excess);
        self.damaged += u64::from(cut);
        let bytes = self.unreported.saturating_add(cut);
        (self.len, self.excess, self.unreported) = (0, 0, 0);
        bytes
    }

    fn report(&mut self) -> Option<Event<'static>> {
        let bytes = core::mem::take(&mut self.unreported);
        (bytes > 0).then_some(Event::Damage { bytes })
    }
}
