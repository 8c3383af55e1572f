//! Guided calibration: what to do next, what to say about it, and what comes of it.
//!
//! Values in, values out: no clock, no I/O, no wire. The same routine runs live, in replay and in a
//! test at a thousand times real time.

pub mod bottle;
pub mod collect;
mod conclude;
mod drift;
pub mod judge;
pub mod judgement;
pub mod limits;
pub mod look;
pub mod machine;
pub mod manners;
pub mod plan;
mod point;
pub mod profile;
pub mod recognise;
pub mod said;
pub mod standard;
pub mod step;
pub mod stir;
pub mod verify;
pub mod water;
