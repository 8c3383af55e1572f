//! Text: words and numbers exchanged, lines moved, and characters that deceive.

use super::bytes;
use crate::random::Random;

/// Numbers that are at a limit, or only nearly numbers.
const NUMBERS: &[&str] = &[
    "0",
    "-0",
    "1",
    "-1",
    "7",
    "25",
    "0.1",
    ".5",
    "5.",
    "+5",
    "1e-9",
    "1e3",
    "1e308",
    "-1e308",
    "1e400",
    "5e-324",
    "NaN",
    "-nan",
    "inf",
    "-inf",
    "infinity",
    "1_000",
    "1,5",
    "0x10",
    "1e",
    "e5",
    "--1",
    "1.2.3",
    "65535",
    "65536",
    "2147483648",
    "9007199254740993",
    "18446744073709551616",
    "1979-05-27",
    "2026-02-30",
    "0000-00-00",
    "9999-12-31",
    "-9999-01-01",
    "",
];

/// Characters that hide, turn, end or look like others.
const DECEIVING: &[&str] = &[
    "\0",
    "\u{1b}[2J",
    "\u{7f}",
    "\u{85}",
    "\u{9b}",
    "\u{a0}",
    "\u{ad}",
    "\u{200b}",
    "\u{202e}",
    "\u{2028}",
    "\u{2066}",
    "\u{feff}",
    "\u{e0041}",
    "\u{fffd}",
    "\r",
    "\n",
    "\r\n",
    "\t",
    "\"",
    "\"\"\"",
    "'",
    "\\",
    "\\u{",
    "\u{3bc}",
    "\u{b5}",
    "\u{661}",
    "\u{2212}",
    "\u{ff11}",
    "\u{301}",
    "\u{1f44d}",
    "#",
    "=",
    ",",
    ":",
    "/",
    "@",
    "..",
    "%",
    "-",
    "--",
    "[",
    "]",
    "{",
    "}",
    " ",
    "  ",
];

/// One alteration.
pub(super) fn alter(text: &mut Vec<u8>, other: &[u8], words: &[&str], random: &mut Random) {
    let word = word(text, random);
    let at = random.below(text.len() + 1);
    let with = |random: &mut Random| -> Vec<u8> {
        let from = match random.below(5) {
            0 => NUMBERS,
            1 => DECEIVING,
            _ => words,
        };
        random.one_of(from).as_bytes().to_vec()
    };
    match random.below(12) {
        0..4 => drop(text.splice(word, with(random))),
        4 => drop(text.splice(word, random.one_of(NUMBERS).bytes())),
        5 => drop(text.splice(word.start..word.start, with(random))),
        6 => drop(text.splice(at..at, with(random))),
        7 => drop(text.splice(at..at, random.one_of(DECEIVING).bytes())),
        8 => drop(text.drain(word)),
        9 => {
            let line = line(text, random);
            let again = text[line.clone()].to_vec();
            drop(text.splice(line.start..line.start, again));
        }
        10 => {
            let line = line(text, random);
            let foreign = other[self::line(other, random)].to_vec();
            drop(text.splice(line, foreign));
        }
        _ => bytes::alter(text, other, random),
    }
}

/// Where a word or number stands.
fn word(text: &[u8], random: &mut Random) -> std::ops::Range<usize> {
    let at = random.below(text.len());
    let is_of_word = |byte: &u8| byte.is_ascii_alphanumeric() || matches!(byte, b'.' | b'-' | b'_');
    let before = text[..at].iter().rposition(|byte| !is_of_word(byte));
    let after = text[at..].iter().position(|byte| !is_of_word(byte));
    before.map_or(0, |before| before + 1)..after.map_or(text.len(), |after| at + after)
}

/// Where a line stands, its end included.
fn line(text: &[u8], random: &mut Random) -> std::ops::Range<usize> {
    let at = random.below(text.len());
    let before = text[..at].iter().rposition(|byte| *byte == b'\n');
    let after = text[at..].iter().position(|byte| *byte == b'\n');
    before.map_or(0, |before| before + 1)..after.map_or(text.len(), |after| at + after + 1)
}
