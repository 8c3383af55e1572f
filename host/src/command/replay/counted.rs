//! What was measured of the board, from a file that is given or from the session itself.

use std::path::Path;

use serde_json::{Value, json};

use super::super::measured::{Measured, understand};
use super::super::output::folded;
use crate::exit::Failure;
use crate::session::replay::Session;
use crate::words::en::measured as words;

/// In place of a file: not even what the session keeps.
const NONE: &str = "none";

/// What uncertainties count with, and what they do not.
pub(super) struct Counted {
    sentences: Vec<String>,
    /// One object for each file that is counted with.
    with: Vec<Value>,
}

impl Counted {
    /// Has a session's uncertainties count with a file, or else with what it keeps.
    ///
    /// # Errors
    /// Those of [`Measured::read`] and [`Measured::of`]. What a session keeps and nobody can use is none.
    pub(super) fn with(file: Option<&Path>, session: &mut Session) -> Result<Self, Failure> {
        let (mut sentences, mut with) = (Vec::new(), Vec::new());
        let Some(file) = file else {
            for kept in &mut session.measured {
                let known = understand(&kept.lines).map_err(|(_, why)| why);
                let own = known.and_then(|known| match session.boards.contains(&known.board) {
                    true => Ok(known),
                    false => Err(words::kept_of_another(&known.board)),
                });
                match own {
                    Ok(known) => {
                        let lines = known.counted();
                        sentences.push(words::counted_with_kept(&kept.file, &lines));
                        with.push(json!({ "file": kept.file, "lines": lines, "kept": true }));
                        kept.limits = Some(known.limits);
                    }
                    Err(why) => sentences.push(words::kept_and_of_no_use(&kept.file, &why)),
                }
            }
            return Ok(Self { sentences, with });
        };
        let left = session.measured.iter().map(|kept| words::kept_and_left(&kept.file));
        session.board_limits = Some(Default::default());
        if file != Path::new(NONE) {
            let measured = Measured::read(file)?;
            for board in &session.boards {
                session.board_limits = Some(measured.of(*board)?);
            }
            sentences.push(measured.said());
            let mut value = measured.json();
            value["kept"] = false.into();
            with.push(value);
        }
        sentences.extend(left);
        Ok(Self { sentences, with })
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
