//! Sentences for people, one file per language.
