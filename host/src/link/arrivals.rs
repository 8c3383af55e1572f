//! From bytes as a line gives them to whole frames, kept as they came.

use std::collections::VecDeque;

use rillmark_proto::wire::frame::{DELIMITER, MAX_FRAME, Piece, pieces, unpack};
use rillmark_proto::wire::{DecodeError, Incoming, decode};

/// Bytes without a delimiter that are kept at most; what is longer cannot end in a frame of ours
/// that matters, for the oldest bytes are dropped first.
const MAX_KEPT: usize = 4 * MAX_FRAME;

/// One whole frame.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Arrival {
    frame: Vec<u8>,
    kind: u8,
    version: u8,
    body: Vec<u8>,
}

impl Arrival {
    /// What it says.
    ///
    /// # Errors
    /// When this release cannot read it.
    pub fn decode(&self) -> Result<Incoming<'_>, DecodeError> {
        decode(&rillmark_proto::wire::frame::Payload {
            kind: self.kind,
            version: self.version,
            body: &self.body,
        })
    }

    /// The frame as it came, delimiter included.
    pub fn into_frame(self) -> Vec<u8> {
        self.frame
    }
}

/// Cuts the bytes of a line into frames.
#[derive(Debug, Default)]
pub struct Arrivals {
    segment: Vec<u8>,
    whole: VecDeque<Arrival>,
    bytes: u64,
    damaged: u64,
}

impl Arrivals {
    /// Takes bytes in any pieces.
    pub fn push(&mut self, bytes: &[u8]) {
        self.bytes += bytes.len() as u64;
        for &byte in bytes {
            self.segment.push(byte);
            if byte == DELIMITER {
                self.end_segment();
            } else if self.segment.len() > MAX_KEPT {
                self.damaged += MAX_FRAME as u64;
                self.segment.drain(..MAX_FRAME);
            }
        }
    }

    fn end_segment(&mut self) {
        let mut space = [0; MAX_FRAME];
        for piece in pieces(&self.segment) {
            match piece {
                Piece::Frame { raw, .. } => {
                    if let Some(payload) = unpack(raw, &mut space) {
                        self.whole.push_back(Arrival {
                            frame: raw.to_vec(),
                            kind: payload.kind,
                            version: payload.version,
                            body: payload.body.to_vec(),
                        });
                    }
                }
                Piece::Damage { bytes, .. } | Piece::Unfinished { bytes, .. } => {
                    self.damaged += bytes as u64;
                }
            }
        }
        self.segment.clear();
    }

    /// The next whole frame.
    pub fn pop(&mut self) -> Option<Arrival> {
        self.whole.pop_front()
    }

    /// The line was cut: what was in the middle of arriving never will.
    pub fn cut(&mut self) {
        self.damaged += self.segment.len() as u64;
        self.segment.clear();
    }

    /// Bytes taken.
    pub const fn bytes(&self) -> u64 {
        self.bytes
    }

    /// Bytes that belonged to no whole frame.
    pub const fn damaged_bytes(&self) -> u64 {
        self.damaged
    }
}
