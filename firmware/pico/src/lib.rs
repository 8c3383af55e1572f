//! The Raspberry Pi Pico as a board for Rillmark: what can be looked at without a board.
//!
//! The program itself is the binary of this package, for `thumbv6m-none-eabi` alone. On a computer
//! this library builds without any of the board's packages.
#![no_std]
#![warn(missing_docs)]

pub mod partition;
pub mod pins;
pub mod waveform;
