//! The probe's firmware as a library for any board: `no_std`, async, spawning nothing.
#![no_std]
#![warn(missing_docs)]

pub mod parts;
