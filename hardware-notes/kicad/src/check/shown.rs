//! Text from a file, safe to show: a terminal obeys none of it.

use std::fmt::Write;
use std::path::Path;

/// Longer texts are cut, in characters.
const LONGEST: usize = 60;

/// Text from a file for one line, cut where it is long.
pub fn shown(text: &str) -> String {
    let safe = escaped(text.chars().take(LONGEST + 1));
    match safe.char_indices().nth(LONGEST) {
        Some((at, _)) => format!("{}…", &safe[..at]),
        None => safe,
    }
}

/// The same for a file's own name, whole: a person needs all of it.
pub fn shown_path(path: &Path) -> String {
    escaped(path.to_string_lossy().chars())
}

/// What is not a letter or sign of the usual scripts is written out as `\u{1b}`.
fn escaped(text: impl Iterator<Item = char>) -> String {
    let mut safe = String::new();
    for c in text {
        if is_plain(c) {
            safe.push(c);
        } else {
            // Writing to a string cannot fail.
            let _ = write!(safe, "{}", c.escape_unicode());
        }
    }
    safe
}

/// Latin, Greek, Cyrillic, kana and the usual ideographs, without marks that have no width of their own.
const fn is_plain(c: char) -> bool {
    matches!(
        c,
        ' '..='~' | '¡'..='¬' | '®'..='\u{2ff}' | '\u{391}'..='\u{482}' | '\u{48a}'..='\u{52f}'
            | '–' | '\u{2126}' | '\u{2212}' | '\u{3041}'..='\u{3096}' | '\u{30a1}'..='\u{30fa}'
            | '\u{4e00}'..='\u{9fff}'
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_terminal_obeys_is_written_out() {
        assert_eq!(shown("a\u{1b}[2J\nb\u{202e}"), "a\\u{1b}[2J\\u{a}b\\u{202e}");
        assert_eq!(shown("31,6 kΩ – Masse 地"), "31,6 kΩ – Masse 地");
        assert_eq!(shown(&"x".repeat(70)).chars().count(), 61);
        assert_eq!(shown(&"x".repeat(60)), "x".repeat(60));
        assert_eq!(shown(&"\u{1b}".repeat(70)).chars().count(), 61);
        let long = "folder/".repeat(20) + "\u{1b}";
        assert!(shown_path(Path::new(&long)).ends_with("folder/folder/\\u{1b}"));
    }
}
