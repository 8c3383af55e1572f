//! Whole-system tests live in `tests/tests/`; what several of them share lives here.

pub mod binary;
pub mod guided;
pub mod source_tree;
pub mod virtual_process;
