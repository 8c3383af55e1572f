//! What is wrong with a probe: from evidence to causes, with what speaks for and against each.
//!
//! Values in, values out. Readings and calibration records become [`Evidence`]; each number of it is
//! graded against a limit as a [`sign`] that is present, absent or neither; the [`rows`] say which
//! cause brings which sign; and [`diagnose`] looks for the fewest causes that bring every sign that
//! is present and none that is absent. Where several do as well it says so and names the evidence
//! that would part them; where a cause's least evidence is missing, that cause is never named.

pub mod beaker;
pub mod cause;
pub mod cell;
pub mod electrode;
pub mod evidence;
mod explain;
mod grade;
pub mod limits;
mod merge;
pub mod records;
pub mod rows;
pub mod set;
pub mod sign;
pub mod stays;
pub mod thermometer;

pub use cause::Cause;
pub use evidence::{Evidence, Kind};
pub use explain::{Answer, Diagnosis, Finding, NotExamined, diagnose};
pub use set::Set;
pub use sign::{Grade, Observed, Sign};

#[cfg(test)]
mod tests;
