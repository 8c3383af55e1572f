//! What somebody measured of a board while building it, in a TOML file: `--measured` of several commands.
//!
//! Each line takes the place of one of the error budget's. `hardware-notes/bring-up.md` explains it.

use std::ops::Range;
use std::path::Path;

use rillmark_proto::circuit::budget::{BoardLimits, Line};
use rillmark_proto::circuit::parts::{self, Part};
use rillmark_proto::circuit::{chips, network, surroundings};
use rillmark_proto::identity::BoardId;
use serde::Deserialize;
use toml::Spanned;
use toml::value::Datetime;

use super::input;
use crate::exit::{Exit, Failure};
use crate::words::en::measured as words;
use crate::words::en::standard::file_line;

/// How far mid may be from half of the supply, in V, and how well it has to be known: step 4 of building.
const MID_APART_V: f64 = 0.02;
/// How far a compared resistor may be from what it is called, as a fraction: ten times its tolerance is
/// another part.
const RESISTOR_APART: f64 = 0.01;

/// A value and how far it may be off. A tuple would not see a third number.
type Pair = Option<Spanned<Vec<f64>>>;

/// The file, key by key.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct File {
    board: Spanned<String>,
    #[serde(rename = "measured")]
    _measured: Option<Datetime>,
    r8_ohm: Pair,
    r9_ohm: Pair,
    r10_ohm: Pair,
    r11_ohm: Pair,
    offset_mv: Pair,
    bias_fa: Pair,
    leak_na: Pair,
    supply_v: Pair,
    mid_v: Pair,
    drive_v: Pair,
}

/// What was measured of a board.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Measured {
    name: String,
    board: BoardId,
    limits: BoardLimits,
}

/// A sentence, and the bytes that it is about.
type Wrong = (Range<usize>, String);

impl Measured {
    /// Reads a file.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be read, [`Exit::BadInput`] with file and line when it cannot be used.
    pub(super) fn read(path: &Path) -> Result<Self, Failure> {
        let name = path.display().to_string();
        let text = input::text(path)
            .map_err(|error| Failure::new(Exit::Storage, words::cannot_read(&name, &error)))?;
        let (board, limits) = understand(&text).map_err(|(span, sentence)| {
            let before = text.as_bytes().iter().take(span.start);
            let line = 1 + before.filter(|byte| **byte == b'\n').count();
            Failure::new(Exit::BadInput, file_line(&name, line, &sentence))
        })?;
        Ok(Self { name, board, limits })
    }

    /// What is known of this board.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when another one was measured.
    pub(super) fn of(&self, board: BoardId) -> Result<BoardLimits, Failure> {
        match board == self.board {
            true => Ok(self.limits),
            false => {
                let sentence = words::other_board(&self.name, &self.board, &board);
                Err(Failure::new(Exit::BadInput, sentence))
            }
        }
    }

    /// What the file is called.
    pub(super) fn name(&self) -> &str {
        &self.name
    }
}

/// What of a board is known where a file may have been given.
///
/// # Errors
/// Those of [`Measured::of`].
pub(super) fn limits(measured: Option<&Measured>, board: BoardId) -> Result<BoardLimits, Failure> {
    measured.map_or(Ok(BoardLimits::ANY), |measured| measured.of(board))
}

/// A file's board and what was measured of it.
pub(super) fn understand(text: &str) -> Result<(BoardId, BoardLimits), Wrong> {
    let file: File = toml::from_str(text)
        .map_err(|error| (error.span().unwrap_or(0..0), words::toml_message(error.message())))?;
    let board = file
        .board
        .get_ref()
        .parse()
        .map_err(|_| (file.board.span(), words::no_board(file.board.get_ref())))?;
    let mut limits = BoardLimits::ANY;
    let resistors: [(_, &Part, _); 4] = [
        ("r8-ohm", &parts::RANGE_1K, &file.r8_ohm),
        ("r9-ohm", &parts::RANGE_10K, &file.r9_ohm),
        ("r10-ohm", &parts::RANGE_100K, &file.r10_ohm),
        ("r11-ohm", &parts::THERMOMETER_REFERENCE, &file.r11_ohm),
    ];
    let mut lines = 0;
    let mut measured = |key, pair: &Pair, about, apart, known| {
        let found = line(key, pair, about, apart, known)?;
        lines += usize::from(found.is_some());
        Ok(found)
    };
    for (known, (key, part, pair)) in limits.resistors.iter_mut().zip(resistors) {
        let (about, tolerance) = (part.value, part.value * part.tolerance);
        let found = measured(key, pair, about, RESISTOR_APART * about, tolerance)?;
        *known = found.map_or(*known, |line| line.times(1.0 / about));
    }
    let offset_mv = 1e3 * chips::ELECTROMETER_OFFSET_V;
    if let Some(line) = measured("offset-mv", &file.offset_mv, 0.0, 2.0 * offset_mv, offset_mv)? {
        limits.electrometer_offset_v = line.times(1e-3);
    }
    let (most_fa, usual_fa) =
        (1e15 * chips::ELECTROMETER_BIAS_MAX_A, 1e15 * chips::ELECTROMETER_BIAS_A);
    if let Some(line) = measured("bias-fa", &file.bias_fa, 0.0, most_fa, usual_fa)? {
        limits.bias_a = line.times(1e-15);
    }
    let leak_na = 1e9 * (chips::SWITCH_LEAKAGE_A + 2.0 * chips::CLAMP_LEAKAGE_A);
    if let Some(line) = measured("leak-na", &file.leak_na, 0.0, leak_na, leak_na)? {
        limits.leakage_a = Some(line.times(1e-9));
    }
    let supply_apart_v = 2.5 * surroundings::SUPPLY_CHANGE * chips::SUPPLY_V;
    let supply_known_v = surroundings::SUPPLY_CHANGE * chips::SUPPLY_V;
    let about = chips::SUPPLY_V;
    if let Some(line) = measured("supply-v", &file.supply_v, about, supply_apart_v, supply_known_v)?
    {
        limits.supply_v = about + line.deviation;
    }
    // Nothing counts with it, but a board whose mid is elsewhere is not sound.
    measured("mid-v", &file.mid_v, 0.5 * limits.supply_v, MID_APART_V, MID_APART_V)?;
    let about = network::DRIVE_V * limits.supply_v / chips::SUPPLY_V;
    if let Some(line) = measured("drive-v", &file.drive_v, about, 0.1 * about, 0.05 * about)? {
        limits.drive_v = about + line.deviation;
    }
    match lines {
        0 => Err((file.board.span(), words::NOTHING.to_owned())),
        _ => Ok((board, limits)),
    }
}

/// How far a value is from where it ought to be about: at the most `apart`, and known to `known` or better.
fn line(
    key: &'static str,
    pair: &Pair,
    about: f64,
    apart: f64,
    known: f64,
) -> Result<Option<Line>, Wrong> {
    let Some(pair) = pair else { return Ok(None) };
    let wrong = |sentence| Err((pair.span(), sentence));
    let &[value, limit] = pair.get_ref().as_slice() else { return wrong(words::no_pair(key)) };
    if !(value.is_finite() && limit.is_finite() && limit > 0.0) {
        return wrong(words::no_pair(key));
    }
    if limit > known {
        return wrong(words::tells_nothing(key, limit, known));
    }
    let deviation = value - about;
    if deviation.abs() > apart + limit {
        return wrong(words::too_far(key, value, about, apart));
    }
    Ok(Some(Line { deviation, limit }))
}

#[cfg(test)]
#[path = "measured_tests.rs"]
mod tests;
