//! Damage to a flash: bits that turn, and runs of zeros or ones.

use std::fmt;

use super::strict_flash::{StrictFlash, WORD};

/// One damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// One bit turned.
    Bit {
        /// Number of the bit, from the first of the region.
        at: usize,
    },
    /// Two bits turned.
    Pair {
        /// Number of one.
        one: usize,
        /// Number of the other.
        other: usize,
    },
    /// Bytes that became all zeros or all ones.
    Run {
        /// The first of them.
        at: usize,
        /// How many.
        len: usize,
        /// 0x00 or 0xff.
        filling: u8,
    },
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bit { at } => write!(f, "bit:{at}"),
            Self::Pair { one, other } => write!(f, "pair:{one},{other}"),
            Self::Run { at, len, filling } => write!(f, "run:{at},{len},{filling:02x}"),
        }
    }
}

impl Damage {
    /// What stands in a display of one; `None` when it is none.
    pub fn from_text(text: &str) -> Option<Self> {
        let (kind, numbers) = text.split_once(':')?;
        let numbers: Vec<&str> = numbers.split(',').collect();
        match (kind, numbers.as_slice()) {
            ("bit", [at]) => Some(Self::Bit { at: at.parse().ok()? }),
            ("pair", [one, other]) => {
                Some(Self::Pair { one: one.parse().ok()?, other: other.parse().ok()? })
            }
            ("run", [at, len, filling]) => Some(Self::Run {
                at: at.parse().ok()?,
                len: len.parse().ok()?,
                filling: u8::from_str_radix(filling, 16).ok()?,
            }),
            _ => None,
        }
    }

    pub(super) fn strike(self, flash: &mut StrictFlash) {
        match self {
            Self::Bit { at } => turn(flash, at),
            Self::Pair { one, other } => {
                turn(flash, one);
                turn(flash, other);
            }
            Self::Run { at, len, filling } => {
                let end = (at + len).min(flash.bytes.len());
                flash.bytes[at..end].fill(filling);
                for word in at / WORD..end.div_ceil(WORD) {
                    note(flash, word);
                }
            }
        }
    }
}

fn turn(flash: &mut StrictFlash, bit: usize) {
    flash.bytes[bit / 8] ^= 1 << (bit % 8);
    note(flash, bit / 8 / WORD);
}

/// A word that reads as erased can be programmed; one that was blank and does not any more holds what
/// nobody programmed, and [`StrictFlash`] sees when a write to it does not take.
fn note(flash: &mut StrictFlash, word: usize) {
    let is_erased = flash.bytes[word * WORD..][..WORD].iter().all(|byte| *byte == 0xff);
    flash.is_programmed[word] &= !is_erased;
}
