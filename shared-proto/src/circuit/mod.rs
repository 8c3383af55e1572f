//! The analog front end as numbers: what its parts are and how far they may be off.
//!
//! One table for all who need it: the firmware's constants, the simulated bench, the circuit
//! simulations, the error budget and the drawings take their values from here.

pub mod chips;
pub mod parts;
