//! Runs a deck in ngspice and reads what it wrote.
//!
//! ngspice in batch ends with code 1 even when all went well, and a failed command does not stop it:
//! what it says is judged by its text, and what it wrote by its size.

use std::fmt::Write as _;
use std::io;
use std::path::Path;
use std::process::Command;
use std::{env, fs};

use crate::values;
use crate::waves::Waves;

/// Why a deck gave nothing.
#[derive(Debug, thiserror::Error)]
pub enum SpiceError {
    /// There is no ngspice.
    #[error(
        "ngspice is not installed, and the circuit simulations need it: on Debian \
         `apt-get install --no-install-recommends ngspice`, elsewhere from ngspice.sourceforge.io; \
         then run this again"
    )]
    Missing,
    /// A file could not be written, read or run.
    #[error("the deck {deck} could not be run: {source}")]
    Files {
        /// The deck.
        deck: &'static str,
        /// What went wrong.
        source: io::Error,
    },
    /// ngspice complained, or wrote no waves.
    #[error("ngspice could not simulate the deck {deck}; the end of what it said:\n{text}")]
    Failed {
        /// The deck.
        deck: &'static str,
        /// The end of its output.
        text: String,
    },
}

/// What ngspice says only when something is wrong.
const COMPLAINTS: &[&str] = &[
    "fatal",
    "error",
    "too small",
    "singular matrix",
    "no such vector",
    "failed",
    "undefined",
    "unknown",
    "aborted",
];

/// A deck of `decks/` with the values of this run.
#[derive(Clone, Debug)]
pub struct Deck {
    name: &'static str,
    values: String,
    files: Vec<(&'static str, String)>,
}

impl Deck {
    /// The deck of this name, with the values of the tables.
    pub fn new(name: &'static str) -> Self {
        Self { name, values: values::of_tables(), files: Vec::new() }
    }

    /// Gives a parameter that is no part of the tables its value.
    #[must_use]
    pub fn with(mut self, name: &str, value: f64) -> Self {
        self.values += &values::line(name, value);
        self
    }

    /// Puts a file beside the deck that it includes.
    #[must_use]
    pub fn file(mut self, name: &'static str, text: String) -> Self {
        self.files.push((name, text));
        self
    }

    /// Simulates it.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn run(&self) -> Result<Waves, SpiceError> {
        let failed = |source| SpiceError::Files { deck: self.name, source };
        let folder = tempfile::tempdir().map_err(failed)?;
        self.write(folder.path()).map_err(failed)?;
        let program = env::var_os("NGSPICE").unwrap_or_else(|| "ngspice".into());
        let output = Command::new(program)
            .args(["-n", "-b", "deck.cir"])
            .current_dir(folder.path())
            .output()
            .map_err(|source| match source.kind() {
                io::ErrorKind::NotFound => SpiceError::Missing,
                _ => failed(source),
            })?;
        let mut text = String::from_utf8_lossy(&output.stdout).into_owned();
        let _ = write!(text, "{}", String::from_utf8_lossy(&output.stderr));
        let complains = |line: &str| {
            let line = line.to_lowercase();
            COMPLAINTS.iter().any(|complaint| line.contains(complaint))
        };
        let written = fs::read_to_string(folder.path().join("out.dat")).ok();
        match written.as_deref().and_then(Waves::parse) {
            Some(waves) if !text.lines().any(complains) => Ok(waves),
            _ => {
                let skipped = text.chars().count().saturating_sub(2_000);
                let text = text.chars().skip(skipped).collect();
                Err(SpiceError::Failed { deck: self.name, text })
            }
        }
    }

    fn write(&self, folder: &Path) -> io::Result<()> {
        let decks = Path::new(env!("CARGO_MANIFEST_DIR")).join("decks");
        fs::copy(decks.join(format!("{}.cir", self.name)), folder.join("deck.cir"))?;
        fs::copy(decks.join("devices.lib"), folder.join("devices.lib"))?;
        fs::write(folder.join("values.inc"), &self.values)?;
        self.files.iter().try_for_each(|(name, text)| fs::write(folder.join(name), text))
    }
}
