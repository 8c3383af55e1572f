//! The first byte of every payload. A number is never given a second meaning.

/// Host to probe: which versions do you speak?
pub const HELLO: u8 = 0x01;
/// Probe to host: these.
pub const HELLO_ANSWER: u8 = 0x02;
/// Host to probe: a command.
pub const COMMAND: u8 = 0x10;
/// Probe to host: an answer or a reading.
pub const FROM_PROBE: u8 = 0x11;
/// In session files only, written by the host.
pub const SESSION: u8 = 0x20;

/// Every kind that this release knows.
pub const KNOWN: [u8; 5] = [HELLO, HELLO_ANSWER, COMMAND, FROM_PROBE, SESSION];
