//! Guided work with a probe, as state machines and judgements.
//!
//! Values in, values out: readings, what the operator said and the time of day come in as arguments; steps,
//! judgements and records come out. No clock, no port, no printing, so that the same procedure runs at a
//! terminal, in a test and on a page.
//!
//! [`diagnose`] stands on records and on the limits of [`routine`]; [`board_check`] beside both.
#![warn(missing_docs)]

pub mod board_check;
pub mod diagnose;
pub mod routine;
