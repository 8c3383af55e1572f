//! The virtual bench's chips and water, and the host's end of the wire, as a WebAssembly module for
//! the emulated board.
//!
//! There is one exchange [`buffer`] for bytes and text in both directions; lengths travel as arguments
//! and results, moments as nanoseconds in `f64`, exact for the first hundred days.
#![warn(missing_docs)]
// The names that JavaScript calls.
#![allow(unsafe_code)]

pub mod bench;
pub mod buffer;
mod control;
pub mod wire;
