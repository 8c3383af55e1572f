//! The probe's firmware as a library for any board: `no_std`, async, spawning nothing.
#![no_std]
#![warn(missing_docs)]

pub mod constants;
pub mod parts;
pub mod service;
