//! Calibration math: from readings to coefficients, and what makes a value uncertain.
//!
//! Published values of standards and waters ([`mod@reference`]), fits with their covariance ([`fit`]), budgets of
//! the front end ([`front_end`]) and of each value ([`uncertainty`]), drift, how a signal comes to rest
//! ([`signal`]), decisions at a limit ([`decision`]), and what a reading is worth beside its calibration
//! ([`assess`]): whether it stands still, how old the calibration is, whether it lies between its standards.
//!
//! `no_std` with allocation, no clock, no I/O: the same code runs live, in replay, on a page and in tests, and
//! gives the same bits.
#![no_std]

extern crate alloc;
#[cfg(test)]
extern crate std;

pub mod assess;
pub mod decision;
pub mod drift;
pub mod fit;
pub mod front_end;
pub mod glass;
pub mod least_squares;
pub mod motion;
pub mod reference;
pub mod signal;
pub mod span;
pub mod uncertainty;
pub mod verification;
