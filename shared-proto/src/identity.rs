//! Identities: of a board, and of a calibration record.

use core::fmt;
use core::str::FromStr;

use serde::{Deserialize, Serialize};

/// The unique id of a board's electronics (the flash chip's id on a Pico).
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct BoardId(pub [u8; 8]);

/// The identity of a calibration record: the first 16 bytes of the SHA-256 of its canonical bytes.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct RecordId(pub [u8; 16]);

/// The first 4 bytes of a [`RecordId`], carried by every reading.
///
/// Short forms are resolved only among the records of one session or one probe; a probe refuses a
/// record whose short form it already holds for another record.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ShortId(pub [u8; 4]);

impl RecordId {
    /// The short form that readings carry.
    pub const fn short(self) -> ShortId {
        let [a, b, c, d, ..] = self.0;
        ShortId([a, b, c, d])
    }
}

/// Text that is not an identity: other than the right number of hexadecimal digits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotHex {
    /// How many digits there must be.
    pub digits: usize,
}

impl fmt::Display for NotHex {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "must be {} hexadecimal digits", self.digits)
    }
}

impl core::error::Error for NotHex {}

/// Reads bytes from hexadecimal digits of either case, without anything between them.
fn from_hex<const N: usize>(text: &str) -> Result<[u8; N], NotHex> {
    let wrong = NotHex { digits: 2 * N };
    let (pairs, []) = text.as_bytes().as_chunks::<2>() else { return Err(wrong) };
    if pairs.len() != N {
        return Err(wrong);
    }
    let digit = |ascii: u8| char::from(ascii).to_digit(16).ok_or(wrong);
    let mut bytes = [0; N];
    for (byte, [high, low]) in bytes.iter_mut().zip(pairs) {
        // Two digits make at most 255.
        *byte = (digit(*high)? << 4 | digit(*low)?) as u8;
    }
    Ok(bytes)
}

macro_rules! hex {
    ($($name:ident),*) => {$(
        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
            }
        }

        impl fmt::Debug for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                write!(f, concat!(stringify!($name), "({})"), self)
            }
        }

        impl FromStr for $name {
            type Err = NotHex;

            /// # Errors
            /// When the text is not exactly the bytes in hexadecimal digits.
            fn from_str(text: &str) -> Result<Self, NotHex> {
                from_hex(text).map(Self)
            }
        }
    )*};
}
hex!(BoardId, RecordId, ShortId);

#[cfg(test)]
mod tests {
    use super::*;
    use std::string::ToString;

    #[test]
    fn identities_are_written_and_read_in_hexadecimal() {
        let board = BoardId([0xE6, 0x61, 0x64, 0x08, 0x43, 0x2C, 0x5B, 0x21]);
        assert_eq!(board.to_string(), "e6616408432c5b21");
        assert_eq!("E6616408432c5b21".parse(), Ok(board));
        let wrong = [
            "",
            "e6",
            "e6616408432c5b2",
            "e6616408432c5b211",
            "e6616408432c5b2g",
            "+6616408432c5b21",
            "éé",
        ];
        for text in wrong {
            assert_eq!(text.parse::<BoardId>(), Err(NotHex { digits: 16 }), "{text}");
        }
        assert_eq!("000102ff".parse(), Ok(ShortId([0, 1, 2, 255])));
    }

    #[test]
    fn a_short_form_is_the_front() {
        let id: RecordId = "000102030405060708090a0b0c0d0e0f".parse().expect("32 digits");
        assert_eq!(id.short().to_string(), "00010203");
    }
}
