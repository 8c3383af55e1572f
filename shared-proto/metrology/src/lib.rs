//! What a reading is worth beside its calibration: whether it stands still, how old the calibration
//! is, and whether it lies between its standards.
//!
//! Values in, values out: the same code runs live, in replay and in tests, and gives the same bits.
#![no_std]

extern crate alloc;
#[cfg(test)]
extern crate std;

pub mod assess;
pub mod glass;
pub mod motion;
pub mod span;
