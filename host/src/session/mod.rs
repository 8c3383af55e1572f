//! A session: the file of frames that a log leaves, and how it is read back.
//!
//! The bytes are drawn in `shared-proto/PROTOCOL.md`, section *Session files*.

pub mod ends;
pub mod entry;
pub mod keeping;
pub mod log;
pub mod measured;
pub mod reader;
pub mod recent;
pub mod replay;
#[cfg(test)]
pub(crate) mod sample;
pub mod source;
pub mod time;
mod trail;
pub mod writer;
