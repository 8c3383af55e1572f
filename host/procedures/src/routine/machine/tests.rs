//! The routine against a small synthetic electrode and cell.
//!
//! Temperatures, slopes, offsets and cell constants are made up; limits are those of `limits`.

mod air;
mod bench;
mod conductivity;
mod decisions;
mod manners;
mod plans;
mod readings;
mod results;
mod temperature;
