//! The wire: frames, messages and their versions. `PROTOCOL.md` draws the bytes.
//!
//! [`frame`] finds payloads in bytes, [`decode`] turns a payload into what it says, and the
//! `encode_…` functions do both steps the other way.

pub mod frame;
pub mod hello;
pub mod message;
pub mod start;
pub mod usb;
mod version;

pub use version::{
    DecodeError, Incoming, decode, encode_command, encode_from_probe, encode_hello,
    encode_hello_answer,
};
