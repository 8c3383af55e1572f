//! The virtual bench: simulated chips, water and time that run the real firmware library.
//!
//! The chips are modelled at register level, the analog network between them and the water by
//! closed forms, and time is simulated: nothing happens between two events, so that a bench runs
//! far faster than real time and equal seeds give equal bytes. All numbers of the water that are
//! not standards are invented.
#![warn(missing_docs)]

mod bare;
mod board;
mod build;
pub mod chips;
pub mod closed_form;
mod error;
mod executor;
pub mod faults;
mod front_end;
mod probe;
pub mod quick;
pub mod random;
mod time;
pub mod truth;
pub mod water;
mod world;

pub use bare::BareBench;
pub use build::{BuildFault, Loads};
pub use error::BenchError;
pub use faults::{Ailment, Ailments, Faults};
pub use front_end::{Drive, Pin};
pub use probe::{Setup, VirtualProbe};
pub use quick::{Present, QuickProbe};
pub use truth::Truth;
pub use water::{BEAKER_RANGE, Beaker, Content};
