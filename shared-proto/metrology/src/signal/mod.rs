//! Signals over time: whether a reading has come to rest, and what is still to come.

pub mod approach;
pub mod course;
pub mod settle;
