//! The literature of standards and waters: published values, each with its valid range, source and tag.
//!
//! What a board evaluates with stands in [`rillmark_proto::reference`]; the same rules hold here.

pub mod buffers;
pub mod conductivity_standards;
mod interpolation;
pub mod ionic_strength;
pub mod salinity;
