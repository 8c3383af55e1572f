//! The analog front end as numbers: what its parts are, how far they may be off, and what that does.
//!
//! One table for all who need it: the firmware's constants, the simulated bench, the circuit
//! simulations, the error budget and the drawings take their values from here.

pub mod budget;
pub mod chips;
pub mod energy;
pub mod nets;
pub mod network;
pub mod parts;
pub mod places;
pub mod surroundings;
pub mod timing;
