//! What a board's file says of parts, pads and their nets, in the spelling of KiCad 6 and of later ones.

use thiserror::Error;

use super::shown;

/// Larger files are refused.
pub const MOST_BYTES: usize = 64 << 20;
/// KiCad's own files nest a dozen lists at most.
pub(super) const DEEPEST: usize = 100;
pub(super) const MOST_PADS: usize = 100_000;

/// A board as it was laid out.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Board {
    /// Its footprints.
    pub parts: Vec<Part>,
}

/// A footprint.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Part {
    /// Its name, such as `R8`.
    pub reference: String,
    /// What it says of its value.
    pub value: String,
    /// Marked not to be fitted.
    pub is_left_out: bool,
    /// Its pads that have a number.
    pub pads: Vec<Pad>,
}

/// A pad.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Pad {
    /// Its number, which may be any text.
    pub number: String,
    /// Its net's name.
    pub net: Option<String>,
}

/// Why a file cannot be read as a board.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum Unreadable {
    /// Larger than [`MOST_BYTES`].
    #[error("is larger than {} MiB: take a board without pictures in it", MOST_BYTES >> 20)]
    TooLarge,
    /// Not UTF-8, or with bytes of value 0.
    #[error("is no text (byte {at}): take the .kicad_pcb file that KiCad saved")]
    NotText {
        /// The first such byte.
        at: usize,
    },
    /// Another kind of file.
    #[error("is no KiCad board (it begins with \"{}\"): take the .kicad_pcb file", shown(first))]
    NotABoard {
        /// Its first word.
        first: String,
    },
    /// Written by a KiCad before 6.
    #[error("was written by a KiCad before 6: open it with a later one, save it, and check that")]
    TooOld,
    /// Its version is no number, or is not there.
    #[error("has no number as its version (\"{}\"): save the board anew with KiCad", shown(said))]
    NoVersion {
        /// What stands there.
        said: String,
    },
    /// Lists in lists in lists.
    #[error("line {line} has more than {DEEPEST} lists in each other: KiCad writes no such file")]
    TooDeep {
        /// Where.
        line: usize,
    },
    /// It goes on after the board has ended.
    #[error("line {line} goes on after the board's end: save the board anew with KiCad")]
    GoesOn {
        /// Where.
        line: usize,
    },
    /// It ends before the board does.
    #[error("ends in the middle: copy it again, or save the board anew with KiCad")]
    Unfinished,
    /// More pads than a board has.
    #[error("has more than {MOST_PADS} pads or parts: this is not this circuit's board")]
    TooMany,
}
