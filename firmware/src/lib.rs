//! The probe's firmware as a library for any board: `no_std`, async, spawning nothing.
#![no_std]
#![warn(missing_docs)]

#[cfg(test)]
extern crate std;

pub mod adc;
pub mod civil;
pub mod clock_chip;
pub mod constants;
pub mod front_end;
pub mod parts;
pub mod restart;
pub mod sampler;
pub mod service;
pub mod store;

#[cfg(test)]
mod scripted;
#[cfg(test)]
mod simulated;
