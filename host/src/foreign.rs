//! Text from files, probes, bottles and people: shown as it is, and never obeyed by a terminal.
//!
//! A terminal obeys control characters, lets some characters turn or hide what stands around them, and
//! draws others as nothing. All of these are written out as `\u{1b}`, `\n` and the like; everything else
//! (letters with their accents, units, signs) stays.

use std::borrow::Cow;
use std::fmt::Write;

/// Characters that are letters or marks by their class, and are drawn as nothing: fillers, joiners of
/// marks, selectors of a variant.
const DRAWN_AS_NOTHING: [(char, char); 9] = [
    ('\u{34f}', '\u{34f}'),
    ('\u{115f}', '\u{1160}'),
    ('\u{17b4}', '\u{17b5}'),
    ('\u{180b}', '\u{180f}'),
    ('\u{2800}', '\u{2800}'),
    ('\u{3164}', '\u{3164}'),
    ('\u{fe00}', '\u{fe0f}'),
    ('\u{ffa0}', '\u{ffa0}'),
    ('\u{e0000}', '\u{e0fff}'),
];

/// True for a character that every terminal draws as itself: no control character, none that turns the
/// direction of what follows, none without width or ink, no tag, nothing that is not assigned. Of the
/// blanks only the space itself.
#[must_use]
pub fn is_plain(c: char) -> bool {
    if c.is_ascii() {
        return matches!(c, ' '..='~');
    }
    if DRAWN_AS_NOTHING.iter().any(|(first, last)| (*first..=*last).contains(&c)) {
        return false;
    }
    // The library's table of what can be printed. Behind a letter it lets marks stand, as they do in
    // many scripts.
    let mut space = [b'a'; 5];
    let len = 1 + c.encode_utf8(&mut space[1..]).len();
    str::from_utf8(&space[..len]).is_ok_and(|text| text.escape_debug().count() == 2)
}

/// One line of text, safe to show: without a line break in it.
#[must_use]
pub fn shown(text: &str) -> Cow<'_, str> {
    escaped(text, is_plain, escape)
}

/// Lines of text whose every line break is one of ours, safe to show.
#[must_use]
pub fn shown_lines(text: &str) -> Cow<'_, str> {
    escaped(text, |c| c == '\n' || is_plain(c), escape)
}

/// JSON text with the same value that is safe to show: what is not plain stands within its strings, in
/// the escapes of JSON itself.
#[must_use]
pub fn json(text: &str) -> Cow<'_, str> {
    escaped(text, is_plain, |c, to| {
        for unit in c.encode_utf16(&mut [0; 2]) {
            // Writing to a string cannot fail.
            let _ = write!(to, "\\u{unit:04x}");
        }
    })
}

fn escape(c: char, to: &mut String) {
    match c {
        '\n' => to.push_str("\\n"),
        '\r' => to.push_str("\\r"),
        '\t' => to.push_str("\\t"),
        _ => to.extend(c.escape_unicode()),
    }
}

fn escaped(
    text: &str,
    stays: impl Fn(char) -> bool,
    escape: impl Fn(char, &mut String),
) -> Cow<'_, str> {
    if text.chars().all(&stays) {
        return Cow::Borrowed(text);
    }
    let mut safe = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        if stays(c) { safe.push(c) } else { escape(c, &mut safe) }
    }
    Cow::Owned(safe)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn what_a_terminal_obeys_or_hides_is_shown() {
        let cases = [
            ("plain, 25 °C, µS/cm, ±0.01 – Müller's \"7.00\" \\ lot", None),
            ("हिन्दी, ภาษาไทย, Е-17, e\u{301}", None),
            ("a\x1b[2Kb", Some("a\\u{1b}[2Kb")),
            ("a\r\n\tb\0\u{7f}", Some("a\\r\\n\\tb\\u{0}\\u{7f}")),
            // Control characters of eight bits, some of which begin a sequence too.
            ("\u{85}\u{9b}1m", Some("\\u{85}\\u{9b}1m")),
            ("\u{202e}01 HP\u{2066}\u{200f}", Some("\\u{202e}01 HP\\u{2066}\\u{200f}")),
            ("7\u{200b}.\u{feff}0\u{ad}0\u{2060}", Some("7\\u{200b}.\\u{feff}0\\u{ad}0\\u{2060}")),
            ("E\u{e0041}\u{e007f}\u{fe0f}", Some("E\\u{e0041}\\u{e007f}\\u{fe0f}")),
            (
                "\u{2028}\u{2029}\u{a0}\u{3000}\u{3164}",
                Some("\\u{2028}\\u{2029}\\u{a0}\\u{3000}\\u{3164}"),
            ),
            ("\u{e000}\u{10ffff}", Some("\\u{e000}\\u{10ffff}")),
        ];
        for (text, safe) in cases {
            assert_eq!(shown(text), safe.unwrap_or(text), "{text:?}");
        }
        assert_eq!(shown_lines("one\ntwo\x1b\n"), "one\ntwo\\u{1b}\n");
    }

    proptest! {
        #[test]
        fn nothing_comes_through_and_nothing_plain_is_changed(text in any::<String>()) {
            let safe = shown(&text);
            prop_assert!(safe.chars().all(is_plain));
            prop_assert!(!safe.chars().any(char::is_control));
            prop_assert_eq!(shown(&safe).into_owned(), safe.clone().into_owned());
            let plain: String = text.chars().filter(|c| is_plain(*c)).collect();
            prop_assert_eq!(shown(&plain), plain.as_str());
        }

        #[test]
        fn json_keeps_its_value(text in any::<String>()) {
            let value = serde_json::json!({ "text": text });
            let line = value.to_string();
            let safe = json(&line);
            prop_assert!(safe.chars().all(is_plain));
            prop_assert_eq!(serde_json::from_str::<serde_json::Value>(&safe).expect("JSON"), value);
        }
    }
}
