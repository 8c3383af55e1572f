//! What the tool says about ports, lines and probes.

use std::fmt::Display;

/// A reader closed our output; never shown.
pub const CLOSED_PIPE: &str = "the reader of the output closed it";

/// Standard output cannot be written.
pub fn cannot_write_output(error: &dyn Display) -> String {
    format!("cannot write the output: {error}. Check where it is sent to, and the disk's space.")
}
