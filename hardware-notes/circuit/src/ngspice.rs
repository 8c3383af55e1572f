//! Runs a deck in ngspice and reads what it wrote.
//!
//! ngspice in batch ends with code 1 even when all went well, and a failed command does not stop it:
//! what it says is judged by its text, and what it wrote by its size.

use std::fmt::Write as _;
use std::io;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::{env, fs};

use rillmark_net_list::{NETLIST, Netlist};
use rillmark_proto::reading::Range;

use crate::joints::{UnknownPin, joined};
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
    /// A deck names a pin that the table of nets does not have.
    #[error("the deck {deck} cannot be joined: {source}")]
    Joint {
        /// The deck.
        deck: &'static str,
        /// Which one.
        source: UnknownPin,
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
    range: Range,
    files: Vec<(&'static str, String)>,
}

impl Deck {
    /// The deck of this name, with the values of the tables.
    pub fn new(name: &'static str) -> Self {
        Self { name, values: values::of_tables(), range: Range::Ohm1k, files: Vec::new() }
    }

    /// Gives a parameter that is no part of the tables its value.
    #[must_use]
    pub fn with(mut self, name: &str, value: f64) -> Self {
        self.values += &values::line(name, value);
        self
    }

    /// Puts the range switch there: where the deck says `@RANGE` stands that range's resistor, and
    /// `POSITION` is its number.
    #[must_use]
    pub fn range(mut self, range: Range) -> Self {
        self.range = range;
        self
    }

    /// A file of the decks as ngspice takes it.
    ///
    /// # Errors
    /// [`SpiceError::Files`], [`SpiceError::Joint`].
    pub fn joined(&self, file: &str, list: Netlist<'_>) -> Result<String, SpiceError> {
        let failed = |source| SpiceError::Files { deck: self.name, source };
        let text = fs::read_to_string(folder().join(file)).map_err(failed)?;
        let text = text
            .replace("@RANGE", &format!("@{}", self.range.resistor().designator))
            .replace("POSITION", &(self.range as usize).to_string());
        joined(&text, list).map_err(|source| SpiceError::Joint { deck: self.name, source })
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
        let files = [
            ("deck.cir", self.joined(&format!("{}.cir", self.name), NETLIST)?),
            ("devices.lib", self.joined("devices.lib", NETLIST)?),
            ("values.inc", self.values.clone()),
        ];
        files
            .iter()
            .chain(&self.files)
            .try_for_each(|(name, text)| fs::write(folder.path().join(name), text))
            .map_err(failed)?;
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
}

/// Where the decks are.
pub fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("decks")
}
