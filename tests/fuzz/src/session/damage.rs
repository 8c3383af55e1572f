//! Damage to a file: bits that turn, runs of zeros or ones, and pieces that go, come twice or change places.

use std::fmt;

/// One damage.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Damage {
    /// One bit turned.
    Bit {
        /// Number of the bit.
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
    /// The file ends here.
    Cut {
        /// How many bytes are left.
        at: usize,
    },
    /// A piece is not there.
    Gone {
        /// Its first byte.
        at: usize,
        /// How many.
        len: usize,
    },
    /// A piece stands there twice.
    Twice {
        /// Its first byte.
        at: usize,
        /// How many.
        len: usize,
    },
    /// A piece and the one behind it changed places.
    Exchanged {
        /// The first byte of the first.
        at: usize,
        /// Its bytes.
        len: usize,
        /// Bytes of the second.
        other: usize,
    },
}

impl fmt::Display for Damage {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bit { at } => write!(f, "bit:{at}"),
            Self::Pair { one, other } => write!(f, "pair:{one},{other}"),
            Self::Run { at, len, filling } => write!(f, "run:{at},{len},{filling}"),
            Self::Cut { at } => write!(f, "cut:{at}"),
            Self::Gone { at, len } => write!(f, "gone:{at},{len}"),
            Self::Twice { at, len } => write!(f, "twice:{at},{len}"),
            Self::Exchanged { at, len, other } => write!(f, "exchanged:{at},{len},{other}"),
        }
    }
}

impl Damage {
    /// What stands in a display of one; `None` when it is none.
    #[must_use]
    pub fn from_text(text: &str) -> Option<Self> {
        let (kind, numbers) = text.split_once(':')?;
        let numbers = numbers.split(',').map(str::parse).collect::<Result<Vec<usize>, _>>().ok()?;
        match (kind, numbers.as_slice()) {
            ("bit", [at]) => Some(Self::Bit { at: *at }),
            ("pair", [one, other]) => Some(Self::Pair { one: *one, other: *other }),
            ("run", [at, len, filling]) => {
                Some(Self::Run { at: *at, len: *len, filling: u8::try_from(*filling).ok()? })
            }
            ("cut", [at]) => Some(Self::Cut { at: *at }),
            ("gone", [at, len]) => Some(Self::Gone { at: *at, len: *len }),
            ("twice", [at, len]) => Some(Self::Twice { at: *at, len: *len }),
            ("exchanged", [at, len, other]) => {
                Some(Self::Exchanged { at: *at, len: *len, other: *other })
            }
            _ => None,
        }
    }

    /// The bytes after it.
    pub(super) fn struck(self, bytes: &[u8]) -> Vec<u8> {
        let mut bytes = bytes.to_vec();
        let within = |at: usize, len: usize| {
            let at = at.min(bytes.len());
            at..(at + len).min(bytes.len())
        };
        match self {
            Self::Bit { at } => turn(&mut bytes, at),
            Self::Pair { one, other } => {
                turn(&mut bytes, one);
                turn(&mut bytes, other);
            }
            Self::Run { at, len, filling } => {
                let run = within(at, len);
                bytes[run].fill(filling);
            }
            Self::Cut { at } => bytes.truncate(at),
            Self::Gone { at, len } => drop(bytes.drain(within(at, len))),
            Self::Twice { at, len } => {
                let piece = bytes[within(at, len)].to_vec();
                drop(bytes.splice(at..at, piece));
            }
            Self::Exchanged { at, len, other } => {
                let both = within(at, len + other);
                let first = len.min(both.len());
                bytes[both].rotate_left(first);
            }
        }
        bytes
    }
}

fn turn(bytes: &mut [u8], bit: usize) {
    if let Some(byte) = bytes.get_mut(bit / 8) {
        *byte ^= 1 << (bit % 8);
    }
}
