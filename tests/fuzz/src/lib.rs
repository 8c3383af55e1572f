//! Whatever comes in from outside, altered: fuzz targets, and trials of damaged stores and sessions.
//!
//! The inputs are made by [`alter`], which knows what it alters: it recomputes checksums and keeps a
//! grammar's words, so that most of them get past the first look. `bolero` was tried and left: under plain
//! `cargo test` on stable Rust it knows nothing of coverage and costs 40 packages; with `cargo bolero` it
//! needs a second tool, and what guards these doors is a CRC-32, which coverage does not get past.

pub mod alter;
pub mod invented;
pub mod random;
mod run;
pub mod session;
pub mod store;
pub mod targets;

pub use run::{Failure, Report, Target, WEIGHTS, case, portion, run};
