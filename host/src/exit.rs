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
    /// A replay found readings that do not match their raw values, or not the records that they or their
    /// doubt rest on.
    Mismatch = 8,
    /// The operator cancelled; nothing was changed.
    Cancelled = 9,
    /// A verification failed, and its record is kept; or a board check did, or a diagnosis found
    /// something wrong.
    Fails = 10,
    /// Nobody can tell whether what was verified conforms, and its record is kept; or whether a board or
    /// a probe is sound; or whether readings match, since their records are of a later release.
    CannotTell = 11,
}

impl Exit {
    /// The name that machine-readable output gives this end.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Success => "success",
            Self::Usage => "usage",
            Self::BadInput => "bad-input",
            Self::Port => "port",
            Self::Probe => "probe",
            Self::Refused => "refused",
            Self::Storage => "storage",
            Self::Mismatch => "mismatch",
            Self::Cancelled => "cancelled",
            Self::Fails => "fails",
            Self::CannotTell => "cannot-tell",
        }
    }
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

    /// The failure as one line of JSON.
    #[must_use]
    pub fn json(&self) -> String {
        serde_json::json!({
            "failure": {
                "exit": self.exit as u8,
                "name": self.exit.name(),
                "sentence": self.sentence,
            }
        })
        .to_string()
    }
}

/// The end of a command that came to a verdict and printed it: the verdict's, whether or not anybody took
/// what was printed. What else went wrong is said beside it.
///
/// # Errors
/// That of a verdict other than good; after a good one that of the output.
pub fn after_verdict(
    verdict: Result<(), Failure>,
    printed: Result<(), Failure>,
) -> Result<(), Failure> {
    match (verdict, printed) {
        (Ok(()), printed) => printed,
        (Err(verdict), Err(printed)) if printed.exit != Exit::Success => {
            let sentence = format!("{}; besides, {}", verdict.sentence, printed.sentence);
            Err(Failure { sentence, ..verdict })
        }
        (verdict, _) => verdict,
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.sentence)
    }
}

impl std::error::Error for Failure {}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_and_names_never_change() {
        let pinned = [
            (Exit::Success, 0, "success"),
            (Exit::Usage, 2, "usage"),
            (Exit::BadInput, 3, "bad-input"),
            (Exit::Port, 4, "port"),
            (Exit::Probe, 5, "probe"),
            (Exit::Refused, 6, "refused"),
            (Exit::Storage, 7, "storage"),
            (Exit::Mismatch, 8, "mismatch"),
            (Exit::Cancelled, 9, "cancelled"),
            (Exit::Fails, 10, "fails"),
            (Exit::CannotTell, 11, "cannot-tell"),
        ];
        for (exit, code, name) in pinned {
            assert_eq!((exit as u8, exit.name()), (code, name));
        }
    }

    #[test]
    fn a_verdict_wins_over_an_output_that_nobody_took() {
        let failure = |exit, sentence| Err(Failure::new(exit, sentence));
        let closed = || failure(Exit::Success, "closed");
        let full = || failure(Exit::Storage, "no room");
        let fails = || failure(Exit::Fails, "off");
        assert_eq!(after_verdict(Ok(()), Ok(())), Ok(()));
        assert_eq!(after_verdict(Ok(()), closed()), closed());
        assert_eq!(after_verdict(Ok(()), full()), full());
        assert_eq!(after_verdict(fails(), Ok(())), fails());
        assert_eq!(after_verdict(fails(), closed()), fails());
        assert_eq!(after_verdict(fails(), full()), failure(Exit::Fails, "off; besides, no room"));
    }

    #[test]
    fn a_failure_is_one_line_of_json() {
        let failure = Failure::new(Exit::Port, "no \"probe\"");
        assert_eq!(
            failure.json(),
            r#"{"failure":{"exit":4,"name":"port","sentence":"no \"probe\""}}"#
        );
    }
}
