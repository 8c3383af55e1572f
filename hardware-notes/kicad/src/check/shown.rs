//! Text from a file, safe to show: a terminal obeys none of it.

use std::fmt::Write;

/// Longer texts are cut, in characters.
const LONGEST: usize = 60;

/// Text from a file for one line. What is not a letter or sign of the usual scripts is written out as `\u{1b}`.
pub fn shown(text: &str) -> String {
    let mut safe = String::new();
    for (at, c) in text.chars().enumerate() {
        if at == LONGEST {
            safe.push('…');
            break;
        }
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
    }
}
