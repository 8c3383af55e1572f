//! Canonical bytes of a record and the identity taken from them.
//!
//! Canonical bytes = the version byte, then the body of that version. They are written once, when
//! a calibration or verification ends, and then only copied: whoever holds a record holds these bytes, so that
//! its identity can be worked out by anyone, with any later release.

use core::fmt;

use sha2::{Digest, Sha256};

#[cfg(feature = "next-record")]
use super::next as newest;
#[cfg(not(feature = "next-record"))]
use super::v1 as newest;
use super::{Record, RecordBytes, v1};
use crate::identity::RecordId;

/// The record version that this release writes, and the newest it reads.
pub const RECORD_VERSION: u8 = newest::VERSION;

const IMPOSSIBLE: &str = "its coefficients are none that a calibration finds";

/// Why a record has no canonical bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EncodeError {
    /// A number in it is infinite or NaN, or a variance is below zero.
    NotFinite,
    /// A coefficient is outside its range, or a covariance larger than its variances allow (see
    /// [`super::possible`]).
    Impossible,
    /// It is longer than [`super::MAX_RECORD_BYTES`].
    TooLong,
}

impl fmt::Display for EncodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::NotFinite => {
                "a number in the record is infinite or not a number, or a variance is below zero"
            }
            Self::Impossible => IMPOSSIBLE,
            Self::TooLong => "the record is too long",
        })
    }
}

impl core::error::Error for EncodeError {}

/// Why bytes are not a record.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DecodeError {
    /// A later release wrote it.
    NewerVersion {
        /// Version found.
        found: u8,
        /// Newest version that this release reads.
        newest: u8,
    },
    /// The bytes end before the record does (no bytes at all included).
    Truncated,
    /// Bytes follow after the record's end.
    Trailing {
        /// How many.
        bytes: usize,
    },
    /// A number in it is infinite or NaN, or a variance is below zero.
    NotFinite,
    /// A coefficient is outside its range, or a covariance larger than its variances allow (see
    /// [`super::possible`]).
    Impossible,
    /// Version 0, a variant or text that the version does not have, a list too long.
    Malformed,
    /// The same record has other, shorter bytes; only those are canonical.
    NotCanonical,
}

impl fmt::Display for DecodeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NewerVersion { found, newest } => {
                write!(f, "the record has version {found}, the newest known is {newest}")
            }
            Self::Truncated => f.write_str("the record is cut short"),
            Self::Trailing { bytes } => write!(f, "{bytes} bytes follow after the record"),
            Self::NotFinite => f.write_str(
                "a number in the record is infinite or not a number, or a variance is below zero",
            ),
            Self::Impossible => f.write_str(IMPOSSIBLE),
            Self::Malformed => f.write_str("the bytes are not a record"),
            Self::NotCanonical => f.write_str("the record's bytes are not canonical"),
        }
    }
}

impl core::error::Error for DecodeError {}

/// The canonical bytes of a new record.
///
/// # Errors
/// When a number in it is not finite or cannot be, or the bytes would be too many.
pub fn encode(record: &Record) -> Result<RecordBytes, EncodeError> {
    newest::encode(record)
}

/// Reads canonical bytes of any released version.
///
/// # Errors
/// When they are not exactly one record of a version that this release knows.
pub fn decode(bytes: &[u8]) -> Result<Record, DecodeError> {
    let (version, body) = bytes.split_first().ok_or(DecodeError::Truncated)?;
    match *version {
        0 => Err(DecodeError::Malformed),
        v1::VERSION => v1::decode(body),
        #[cfg(feature = "next-record")]
        newest::VERSION => newest::decode(body),
        found => Err(DecodeError::NewerVersion { found, newest: RECORD_VERSION }),
    }
}

/// The identity of a record: the first 16 bytes of the SHA-256 (FIPS 180-4) of its canonical
/// bytes, which need not be of a version that this release reads.
#[must_use]
pub fn identity(bytes: &[u8]) -> RecordId {
    let digest: [u8; 32] = Sha256::digest(bytes).into();
    let mut id = [0; 16];
    id.copy_from_slice(&digest[..16]);
    RecordId(id)
}
