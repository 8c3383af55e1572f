//! What somebody measured of a board while building it, in a TOML file: `--measured` of several commands.
//!
//! Each line takes the place of one of the error budget's. `hardware-notes/bring-up.md` explains it.

use std::ffi::OsStr;
use std::ops::Range;
use std::path::Path;

use rillmark_metrology::front_end::surroundings;
use rillmark_metrology::front_end::{BoardLimits, Line};
use rillmark_procedures::board_check::{BIAS_APART_A, OFFSET_APART_V, RESISTOR_APART};
use rillmark_proto::circuit::parts::{self, Part};
use rillmark_proto::circuit::{chips, network};
use rillmark_proto::identity::BoardId;
use serde::Deserialize;
use serde_json::{Value, json};
use toml::Spanned;
use toml::value::Datetime;

use super::input;
use crate::exit::{Exit, Failure};
use crate::session::entry::MAX_FILE;
use crate::session::measured::Measured as Kept;
use crate::words::en::measured as words;
use crate::words::en::standard::file_line;

/// How far mid may be from half of the supply, in V, and how well it has to be known: step 4 of building.
const MID_APART_V: f64 = 0.02;
/// How far the supply may be from 3.3 V, as a fraction: what a sound regulator has (judgement).
const SUPPLY_APART: f64 = 0.05;
/// How far the drive may be from what R6 and R7 make of the supply, as a fraction: a wrong resistor is farther
/// (judgement).
const DRIVE_APART: f64 = 0.1;
/// How well the drive has to be known, as a fraction: a meter worse than that would not tell its place in
/// [`DRIVE_APART`] (judgement).
const DRIVE_KNOWN: f64 = 0.05;

/// The least limits that are believed, each in the unit of its key: what meters on a bench can tell (common
/// practice, no source). Of a resistor it is what one kelvin does to it.
const LEAST_OFFSET_MV: f64 = 0.001;
const LEAST_BIAS_FA: f64 = 1.0;
/// 0.1 mV at the 10 MΩ of a hand meter.
const LEAST_LEAK_NA: f64 = 0.01;
/// Of supply, mid and drive.
const LEAST_V: f64 = 1e-4;

/// A value and how far it may be off. A tuple would not see a third number.
type Pair = Option<Spanned<Vec<f64>>>;

/// The file, key by key.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields, rename_all = "kebab-case")]
struct File {
    board: Spanned<String>,
    measured: Option<Datetime>,
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
    known: Known,
}

/// A file's content.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Known {
    pub(super) board: BoardId,
    pub(super) limits: BoardLimits,
    /// When it was measured, if it says so.
    on: Option<Datetime>,
    /// The lines that it has, each with its value and how far that may be off.
    lines: Vec<(&'static str, [f64; 2])>,
}

impl Known {
    /// The lines that uncertainties count with.
    pub(super) fn counted(&self) -> Vec<&'static str> {
        self.keys().filter(|key| *key != MID).collect()
    }

    fn keys(&self) -> impl Iterator<Item = &'static str> {
        self.lines.iter().map(|(key, _)| *key)
    }

    /// The same in such a file, without what else stands in it.
    fn text(&self) -> String {
        let on = self.on.map_or(String::new(), |on| format!("measured = {on}\n"));
        let line =
            |(key, [value, limit]): &(_, [f64; 2])| format!("{key} = [{value:?}, {limit:?}]\n");
        let lines: String = self.lines.iter().map(line).collect();
        format!("board = \"{}\"\n{on}{lines}", self.board)
    }
}

/// The line that nothing counts with: it tells a sound board.
const MID: &str = "mid-v";

/// What a line may say, in the unit of its key.
struct Sound {
    about: f64,
    /// How far from that it may be.
    apart: f64,
    /// Known to this or better: worse tells nothing.
    known: f64,
    /// No instrument knows it better.
    least: f64,
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
        let known = understand(&text).map_err(|(span, sentence)| {
            let before = text.as_bytes().iter().take(span.start);
            let line = 1 + before.filter(|byte| **byte == b'\n').count();
            Failure::new(Exit::BadInput, file_line(&name, line, &sentence))
        })?;
        Ok(Self { name, known })
    }

    /// What is known of this board.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when another one was measured.
    pub(super) fn of(&self, board: BoardId) -> Result<BoardLimits, Failure> {
        match board == self.known.board {
            true => Ok(self.known.limits),
            false => {
                let sentence = words::other_board(&self.name, &self.known.board, &board);
                Err(Failure::new(Exit::BadInput, sentence))
            }
        }
    }

    /// What the file is called.
    pub(super) fn name(&self) -> &str {
        &self.name
    }

    /// The lines that it has.
    pub(super) fn keys(&self) -> Vec<&'static str> {
        self.known.keys().collect()
    }

    /// What uncertainties count with, in one sentence.
    pub(super) fn said(&self) -> String {
        words::counted_with(&self.name, &self.known.counted())
    }

    /// The same for machines.
    pub(super) fn json(&self) -> Value {
        json!({ "file": self.name, "lines": self.known.counted() })
    }

    /// What a session keeps of it.
    pub(super) fn kept(&self) -> Kept {
        let path = Path::new(&self.name);
        let name = path.file_name().map_or(self.name.as_str().into(), OsStr::to_string_lossy);
        let most = (0..=MAX_FILE).rev().find(|most| name.is_char_boundary(*most)).unwrap_or(0);
        let file = name.get(..most).unwrap_or(&name).to_owned();
        Kept { file, lines: self.known.text(), limits: Some((self.known.board, self.known.limits)) }
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
pub(super) fn understand(text: &str) -> Result<Known, Wrong> {
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
    let mut lines = Vec::new();
    let mut measured = |key, pair: &Pair, sound: Sound| {
        let Some((line, numbers)) = line(key, pair, &sound)? else { return Ok(None) };
        lines.push((key, numbers));
        Ok(Some(line))
    };
    for (known, (key, part, pair)) in limits.resistors.iter_mut().zip(resistors) {
        let (about, tolerance) = (part.value, part.value * part.tolerance);
        let (apart, least) = (RESISTOR_APART * tolerance, part.value * part.drift_per_k);
        let found = measured(key, pair, Sound { about, apart, known: tolerance, least })?;
        *known = found.map_or(*known, |line| line.times(1.0 / about));
    }
    let known = 1e3 * chips::ELECTROMETER_OFFSET_V;
    let sound = Sound { about: 0.0, apart: 1e3 * OFFSET_APART_V, known, least: LEAST_OFFSET_MV };
    if let Some(line) = measured("offset-mv", &file.offset_mv, sound)? {
        limits.electrometer_offset_v = line.times(1e-3);
    }
    let known = 1e15 * chips::ELECTROMETER_BIAS_A;
    let sound = Sound { about: 0.0, apart: 1e15 * BIAS_APART_A, known, least: LEAST_BIAS_FA };
    if let Some(line) = measured("bias-fa", &file.bias_fa, sound)? {
        limits.bias_a = line.times(1e-15);
    }
    let known = 1e9 * (chips::SWITCH_LEAKAGE_A + 2.0 * chips::CLAMP_LEAKAGE_A);
    let sound = Sound { about: 0.0, apart: known, known, least: LEAST_LEAK_NA };
    if let Some(line) = measured("leak-na", &file.leak_na, sound)? {
        if line.deviation < 0.0 {
            let span = file.leak_na.as_ref().map_or(0..0, Spanned::span);
            return Err((span, words::NO_SIGN.to_owned()));
        }
        limits.leakage_a = Some(line.times(1e-9));
    }
    let about = chips::SUPPLY_V;
    let (apart, known) = (SUPPLY_APART * about, surroundings::SUPPLY_CHANGE * about);
    let sound = Sound { about, apart, known, least: LEAST_V };
    if let Some(line) = measured("supply-v", &file.supply_v, sound)? {
        limits.supply_v = about + line.deviation;
    }
    // Nothing counts with it, but a board whose mid is elsewhere is not sound.
    let about = 0.5 * limits.supply_v;
    let sound = Sound { about, apart: MID_APART_V, known: MID_APART_V, least: LEAST_V };
    measured(MID, &file.mid_v, sound)?;
    let about = network::DRIVE_V * limits.supply_v / chips::SUPPLY_V;
    let (apart, known) = (DRIVE_APART * about, DRIVE_KNOWN * about);
    let sound = Sound { about, apart, known, least: LEAST_V };
    if let Some(line) = measured("drive-v", &file.drive_v, sound)? {
        limits.drive_v = about + line.deviation;
    }
    match lines.is_empty() {
        true => Err((file.board.span(), words::NOTHING.to_owned())),
        false => Ok(Known { board, limits, on: file.measured, lines }),
    }
}

/// How far a value is from where it ought to be about, beside the two numbers that say so.
fn line(key: &'static str, pair: &Pair, sound: &Sound) -> Result<Option<(Line, [f64; 2])>, Wrong> {
    let Some(pair) = pair else { return Ok(None) };
    let wrong = |sentence| Err((pair.span(), sentence));
    let &[value, limit] = pair.get_ref().as_slice() else { return wrong(words::no_pair(key)) };
    if !(value.is_finite() && limit.is_finite() && limit > 0.0) {
        return wrong(words::no_pair(key));
    }
    let &Sound { about, apart, known, least } = sound;
    if limit < least {
        return wrong(words::too_good(key, limit, least));
    }
    if limit > known {
        return wrong(words::tells_nothing(key, limit, known));
    }
    let deviation = value - about;
    if deviation.abs() > apart + limit {
        return wrong(words::too_far(key, value, about, apart));
    }
    Ok(Some((Line { deviation, limit }, [value, limit])))
}

#[cfg(test)]
#[path = "measured_tests.rs"]
mod tests;
