//! Signals over time: whether a reading has come to rest.

pub mod settle;
