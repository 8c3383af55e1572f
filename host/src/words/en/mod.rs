//! English.

pub mod judgement;
pub mod reference;
