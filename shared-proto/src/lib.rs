//! What a Rillmark probe and its host must agree on.
//!
//! `no_std`, no allocation, no clock, no I/O: values in, values out. All math is `f64` through
//! `libm`, never the standard library's float methods, so board and host compute the same bits.
//!
//! Arrows between the modules point one way:
//! `units, identity, circuit, least_squares, decision ← reference ← calibration ← reading ← record ←
//! wire`; calibration knows from the circuit what the front end makes uncertain; `signal` stands beside
//! `calibration`; `routine` stands on calibration, signal, reading and record and never sees the
//! wire; `diagnose` stands on records and on the routine's limits; `board_check` on reading and circuit.
#![no_std]
#![warn(missing_docs)]

#[cfg(test)]
extern crate std;

pub mod board_check;
pub mod calibration;
pub mod circuit;
pub mod decision;
pub mod diagnose;
pub mod identity;
pub mod least_squares;
pub mod reading;
pub mod record;
pub mod reference;
pub mod routine;
pub mod signal;
pub mod units;
pub mod wire;
