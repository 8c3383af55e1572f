//! Whatever comes in from outside, altered: fuzz targets, and trials of a damaged store.

pub mod random;
pub mod store;
