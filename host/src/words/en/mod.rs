//! English.

pub mod reference;
