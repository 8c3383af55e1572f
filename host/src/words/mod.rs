//! Sentences for people, one file per language.

pub mod en;
