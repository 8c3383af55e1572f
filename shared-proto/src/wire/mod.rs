//! The wire: frames, messages and their versions. `PROTOCOL.md` draws the bytes.

pub mod frame;
pub mod hello;
pub mod message;
