//! How a probe came to start, as the hello's answer tells it: fixed bytes for ever.

use core::fmt;

/// Bytes of a [`Start`].
pub const START_LEN: usize = 1 + 2 + 4 + FILE_LEN;
/// Bytes of a [`FileTail`].
pub const FILE_LEN: usize = 32;

/// Why the probe started. A number that was given out keeps its meaning for ever.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The board cannot tell, or a later firmware told something that this release does not know.
    Unknown = 0,
    /// The power came on.
    PowerOn = 1,
    /// The reset pin was pulled.
    ResetPin = 2,
    /// The program did not go on, and the watchdog started it anew.
    Stalled = 3,
    /// The program found itself in a state that must not be.
    Panic = 4,
    /// The processor met something it cannot do.
    Fault = 5,
    /// It was asked to, as by the boot ROM after a new program was written.
    Asked = 6,
    /// By a debug probe.
    Debugger = 7,
}

impl Cause {
    /// Every cause, in the order of the numbers.
    pub const ALL: [Self; 8] = [
        Self::Unknown,
        Self::PowerOn,
        Self::ResetPin,
        Self::Stalled,
        Self::Panic,
        Self::Fault,
        Self::Asked,
        Self::Debugger,
    ];

    /// The number on the wire.
    #[must_use]
    pub const fn number(self) -> u8 {
        self as u8
    }

    /// The cause of a number; [`Self::Unknown`] of one that is not known.
    #[must_use]
    pub fn of(number: u8) -> Self {
        Self::ALL.into_iter().find(|cause| cause.number() == number).unwrap_or(Self::Unknown)
    }

    /// True when something went wrong.
    #[must_use]
    pub const fn is_trouble(self) -> bool {
        matches!(self, Self::Stalled | Self::Panic | Self::Fault)
    }
}

/// The last [`FILE_LEN`] bytes of a path, from a whole character on, filled up with zeros.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct FileTail([u8; FILE_LEN]);

impl FileTail {
    /// Of a path.
    #[must_use]
    pub const fn of(path: &str) -> Self {
        let mut from = path.len().saturating_sub(FILE_LEN);
        while !path.is_char_boundary(from) {
            from += 1;
        }
        let mut bytes = [0; FILE_LEN];
        let (_, tail) = path.as_bytes().split_at(from);
        bytes.split_at_mut(tail.len()).0.copy_from_slice(tail);
        Self(bytes)
    }

    /// The text; empty when it is none.
    #[must_use]
    pub fn as_str(&self) -> &str {
        let len = self.0.iter().position(|byte| *byte == 0).unwrap_or(FILE_LEN);
        core::str::from_utf8(&self.0[..len]).unwrap_or("")
    }
}

impl fmt::Debug for FileTail {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.as_str())
    }
}

/// Where the program could not go on.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Trouble {
    /// A panic.
    Panic {
        /// Source file.
        file: FileTail,
        /// Line in it, from 1.
        line: u32,
    },
    /// A fault of the processor.
    Fault {
        /// Address of the instruction.
        address: u32,
    },
}

/// How the probe came to start.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Start {
    /// Why.
    pub cause: Cause,
    /// Starts since the power came on, without the first; stays at the highest number.
    pub restarts: u16,
    /// The last trouble since the power came on.
    pub trouble: Option<Trouble>,
}

impl Start {
    /// The first start after the power came on.
    pub const POWER_ON: Self = Self { cause: Cause::PowerOn, restarts: 0, trouble: None };

    /// The bytes.
    #[must_use]
    pub fn to_bytes(self) -> [u8; START_LEN] {
        let mut bytes = [0; START_LEN];
        let (at, file) = match self.trouble {
            None => (0, [0; FILE_LEN]),
            Some(Trouble::Panic { file, line }) => (line, file.0),
            Some(Trouble::Fault { address }) => (address, [0; FILE_LEN]),
        };
        bytes[0] = self.cause.number();
        bytes[1..3].copy_from_slice(&self.restarts.to_le_bytes());
        bytes[3..7].copy_from_slice(&at.to_le_bytes());
        bytes[7..].copy_from_slice(&file);
        bytes
    }

    /// Reads the bytes. Every content says something.
    #[must_use]
    pub fn from_bytes(bytes: &[u8; START_LEN]) -> Self {
        let [cause, low, high, a, b, c, d, file @ ..] = *bytes;
        let at = u32::from_le_bytes([a, b, c, d]);
        let trouble = match (at, file[0]) {
            (0, 0) => None,
            (address, 0) => Some(Trouble::Fault { address }),
            (line, _) => Some(Trouble::Panic { file: FileTail(file), line }),
        };
        Self { cause: Cause::of(cause), restarts: u16::from_le_bytes([low, high]), trouble }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tail_of_a_path_begins_with_a_whole_character() {
        let cases = [
            ("", ""),
            ("src/main.rs", "src/main.rs"),
            (
                "/a/very/long/folder/firmware/src/store/mod.rs",
                "long/folder/firmware/src/store/mod.rs",
            ),
            ("ääääääääääääääääääx", "äääääääääääääääx"),
        ];
        for (path, whole) in cases {
            let tail = FileTail::of(path);
            assert!(whole.ends_with(tail.as_str()) && path.ends_with(tail.as_str()), "{path}");
            assert!(tail.as_str().len() + 1 >= path.len().min(FILE_LEN), "{path}");
        }
    }

    #[test]
    fn every_start_comes_back() {
        let panic = Trouble::Panic { file: FileTail::of("firmware/src/adc.rs"), line: 7 };
        for trouble in [None, Some(panic), Some(Trouble::Fault { address: 0x1000_0204 })] {
            for cause in Cause::ALL {
                let start = Start { cause, restarts: 513, trouble };
                assert_eq!(Start::from_bytes(&start.to_bytes()), start);
            }
        }
    }

    #[test]
    fn bytes_of_a_later_firmware_are_read_as_far_as_they_are_known() {
        let mut bytes = Start::POWER_ON.to_bytes();
        bytes[0] = 200;
        assert_eq!(Start::from_bytes(&bytes).cause, Cause::Unknown);
        let odd = Start::from_bytes(&[0xff; START_LEN]);
        assert!(
            matches!(odd.trouble, Some(Trouble::Panic { file, .. }) if file.as_str().is_empty())
        );
    }
}
