//! The analog front end as numbers: what its parts are, how far they may be off, and what that does.
//!
//! One table for all who need it: the firmware's constants, the simulated bench, the circuit
//! simulations, the error budget and the drawings take their values from here.

pub mod chips;
pub mod network;
pub mod parts;
pub mod timing;
