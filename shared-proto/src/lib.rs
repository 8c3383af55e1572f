//! What a Rillmark probe and its host must agree on.
//!
//! `no_std`, no allocation, no clock, no I/O: values in, values out. All math is `f64` through
//! `libm`, never the standard library's float methods, so board and host compute the same bits.
//!
//! Arrows between the modules point one way:
//! `units, identity, circuit ← reference ← calibration ← reading ← record ← wire`. What makes a value
//! uncertain, and how coefficients are found, is the host's: `rillmark-metrology`.
#![no_std]
#![warn(missing_docs)]

#[cfg(test)]
extern crate std;

pub mod calibration;
pub mod circuit;
pub mod identity;
pub mod reading;
pub mod record;
pub mod reference;
pub mod units;
pub mod wire;
