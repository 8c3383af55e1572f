//! Many visits to sick and healthy probes, and how their diagnoses compare with the truth.
#![allow(dead_code, unreachable_pub)] // the test and the example use their own parts

pub mod chance;
pub mod score;
pub mod table;
pub mod visit;
