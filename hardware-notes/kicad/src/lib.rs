//! The front end as KiCad files, made from the table of its nets; and the way back: what somebody laid
//! out, held against the table.
//!
//! [`files`] writes, [`check`] reads. Both know the circuit from `rillmark_proto::circuit` alone.

mod board;
pub mod check;
mod files;
mod footprint;
mod pattern;
mod project;
mod schematic;
mod spelling;
mod symbol;
mod zones;

pub use files::{File, NAME, files, table};
