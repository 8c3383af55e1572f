//! What was measured of the board, from a file that is given or from the session itself.

use std::path::Path;

use serde_json::{Value, json};

use super::super::measured::{Measured, understand};
use super::super::output::folded;
use crate::exit::{Exit, Failure};
use crate::session::replay::{Session, Summary};
use crate::words::en::measured as words;

/// In place of a file: not even what the session keeps.
const NONE: &str = "none";

/// What uncertainties count with, and what they do not.
pub(super) struct Counted {
    sentences: Vec<String>,
    /// One object for each file that is counted with.
    with: Vec<Value>,
    /// Of each that the session keeps the lines that can count, or why none can; empty with a file.
    kept: Vec<Result<Vec<&'static str>, String>>,
}

impl Counted {
    /// Has a session's uncertainties count with a file, or else with what it keeps.
    ///
    /// # Errors
    /// Those of [`Measured::read`] and [`Measured::of`], and [`Exit::BadInput`] for a file where the session
    /// names no board. What a session keeps and nobody can use is none.
    pub(super) fn with(file: Option<&Path>, session: &mut Session) -> Result<Self, Failure> {
        let mut counted = Self { sentences: Vec::new(), with: Vec::new(), kept: Vec::new() };
        let Some(file) = file else {
            for kept in &mut session.measured {
                let known = understand(&kept.lines).map_err(|(_, why)| why);
                kept.limits = known.as_ref().ok().map(|known| (known.board, known.limits));
                counted.kept.push(known.map(|known| known.counted()));
            }
            return Ok(counted);
        };
        let left = session.measured.iter().map(|kept| words::kept_and_left(&kept.file));
        session.board_limits = Some(Default::default());
        if file != Path::new(NONE) {
            let measured = Measured::read(file)?;
            if session.boards.is_empty() {
                let sentence = words::names_no_board(measured.name());
                return Err(Failure::new(Exit::BadInput, sentence));
            }
            for board in &session.boards {
                session.board_limits = Some(measured.of(*board)?);
            }
            counted.sentences.push(measured.said());
            let mut value = measured.json();
            value["kept"] = false.into();
            counted.list(value);
        }
        counted.sentences.extend(left);
        Ok(counted)
    }

    /// A file of which no line counts is not counted with.
    fn list(&mut self, value: Value) {
        if value["lines"] != json!([]) {
            self.with.push(value);
        }
    }

    /// Tells, once it was replayed, with which of what the session keeps a run counted.
    pub(super) fn over(mut self, session: &Session, summary: &Summary) -> Self {
        let counted = &summary.counted;
        let kept = std::mem::take(&mut self.kept);
        for (at, (lines, kept)) in kept.into_iter().zip(&session.measured).enumerate() {
            let lines = match lines {
                Ok(lines) => lines,
                Err(why) => {
                    self.sentences.push(words::kept_and_of_no_use(&kept.file, &why));
                    continue;
                }
            };
            if let Some(runs) = counted.with.get(&at) {
                let sentence = words::counted_with_kept(&kept.file, &lines, *runs, counted.runs);
                self.sentences.push(sentence);
                let file = &kept.file;
                self.list(json!({ "file": file, "lines": lines, "kept": true, "runs": runs }));
            }
            if let (Some(run), Some((board, _))) = (counted.of_another.get(&at), kept.limits) {
                let run = run.as_ref().map(|run| run as _);
                self.sentences.push(words::kept_of_another(&kept.file, &board, run));
            }
        }
        if counted.unclear > 0 {
            self.sentences.push(words::unclear(counted.unclear));
        }
        self
    }

    /// A line for each; nothing where there is none.
    pub(super) fn text(&self) -> String {
        self.sentences.iter().map(|sentence| folded(sentence, 2)).collect()
    }

    /// The same for machines, where there is any.
    pub(super) fn json(&self) -> Option<Value> {
        (!self.sentences.is_empty()).then(|| self.with.clone().into())
    }
}
