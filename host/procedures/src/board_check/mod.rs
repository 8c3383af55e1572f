//! Checking a front end that somebody built: resistors and a millivolt source in place of sensors, what
//! the error budget allows, and what is likely wrong where it is exceeded.
//!
//! A check goes through the [`Step`]s. Each of them is [`Seen`] through a few readings; the [`rows`]
//! hold what was seen against what is connected; [`explain`] names what would look just so.

mod cause;
mod explain;
mod loads;
mod measured;
mod names;
mod outcome;
mod predict;
mod rows;
mod seen;

pub use cause::Cause;
pub use explain::{Clock, MAX_CAUSES, explain};
pub use loads::{Load, Loads, Step};
pub use measured::{
    BIAS_APART_A, Comparison, Measured, OFFSET_APART_V, RESISTOR_APART, Says, compare,
};
pub use outcome::outcome;
pub use rows::{MAX_ROWS, Quantity, Row, Verdict, rows};
pub use seen::{Collector, Mean, READINGS, Seen};

#[cfg(test)]
mod tests;
