//! What came of a case.

use std::fmt;

/// What must not be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Wrong {
    /// A reading or a record that no probe sent.
    Invented,
    /// Something was lost, or is otherwise than it was, and nothing says so.
    Silent,
    /// A command panicked, or ended by a signal that nobody sent.
    Panic,
    /// A command did not end within its time.
    Hung,
    /// The case could not be judged: the campaign itself is at fault.
    NotJudged,
}

impl Wrong {
    pub(crate) const ALL: [Self; 5] =
        [Self::Invented, Self::Silent, Self::Panic, Self::Hung, Self::NotJudged];

    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Invented => "invented",
            Self::Silent => "silent",
            Self::Panic => "panics",
            Self::Hung => "hung",
            Self::NotJudged => "not judged",
        }
    }
}

/// Something that must not be, and what exactly.
#[derive(Clone, Debug)]
pub(crate) struct Finding {
    pub(crate) wrong: Wrong,
    pub(crate) what: String,
}

impl fmt::Display for Finding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.wrong.name(), self.what)
    }
}

/// What a case came to.
#[derive(Clone, Debug, Default)]
pub(crate) struct Outcome {
    /// How many kills, cables, steps, bits or inputs it was.
    pub(crate) tried: u64,
    /// Readings or records that are gone, which is said.
    pub(crate) lost: u64,
    pub(crate) findings: Vec<Finding>,
    /// Bytes that belong to a finding, each under the name of a file.
    pub(crate) evidence: Vec<(String, Vec<u8>)>,
}

impl Outcome {
    pub(crate) fn find(&mut self, wrong: Wrong, what: impl Into<String>) {
        self.findings.push(Finding { wrong, what: what.into() });
    }

    pub(crate) fn keep(&mut self, name: &str, bytes: impl Into<Vec<u8>>) {
        self.evidence.push((name.to_owned(), bytes.into()));
    }
}
