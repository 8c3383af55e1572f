//! Whole-system tests live in `tests/tests/`; what several of them share lives here.

pub mod binary;
#[cfg(unix)]
pub mod emulated_board;
pub mod guided;
pub mod source_tree;
#[cfg(unix)]
pub mod terminal_bridge;
pub mod virtual_process;
