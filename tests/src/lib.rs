//! Whole-system tests live in `tests/tests/`; what several of them share lives here.

pub mod source_tree;
