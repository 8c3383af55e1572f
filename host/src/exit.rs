//! How a command ends: one enum of exit codes, and one sentence for the person.

use std::fmt;

/// Exit codes of `rillmark`. A code never changes its meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// Done.
    Success = 0,
    /// The arguments are not of the command's form (clap uses the same code).
    Usage = 2,
    /// An input (file, number, answer) cannot be used.
    BadInput = 3,
    /// No probe, several probes, or the port cannot be opened.
    Port = 4,
    /// The probe does not answer, or speaks another protocol.
    Probe = 5,
    /// The probe or the routine refused; nothing was changed.
    Refused = 6,
    /// A file could not be written or read.
    Storage = 7,
    /// A replay found readings that do not match their raw values.
    Mismatch = 8,
    /// The operator cancelled; nothing was changed.
    Cancelled = 9,
}

/// A command that failed: the code, and what went wrong and what to do next in one sentence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Failure {
    /// How the process ends.
    pub exit: Exit,
    /// One clear sentence for a person.
    pub sentence: String,
}

impl Failure {
    /// A failure with its sentence.
    pub fn new(exit: Exit, sentence: impl Into<String>) -> Self {
        Self { exit, sentence: sentence.into() }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentence)
    }
}

impl std::error::Error for Failure {}
