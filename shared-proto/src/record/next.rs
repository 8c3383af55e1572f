//! A stand-in for the record version after the newest, for tests of an update and back. Never released.
//!
//! Its bytes are those of the newest version, and one more at the end, as if a field had been added.

use super::codec::{DecodeError, EncodeError};
use super::{Record, RecordBytes, v1};

pub(super) const VERSION: u8 = v1::VERSION + 1;
/// The field that this version has more.
const ADDED: u8 = 0x2a;

pub(super) fn encode(record: &Record) -> Result<RecordBytes, EncodeError> {
    let mut bytes = v1::encode(record)?;
    bytes[0] = VERSION;
    bytes.push(ADDED).map_err(|_| EncodeError::TooLong)?;
    Ok(bytes)
}

pub(super) fn decode(body: &[u8]) -> Result<Record, DecodeError> {
    match body {
        [body @ .., ADDED] => v1::decode(body),
        [] => Err(DecodeError::Truncated),
        _ => Err(DecodeError::Malformed),
    }
}
