//! Text that a person types and that is kept: what a terminal or a page would not show as it stands is
//! refused, so that nobody reads anything else than what was meant.

use crate::foreign::is_plain;
use crate::words::en::typed as words;

/// Lets a text through of which every character shows; `what` names it in the sentence of the error.
///
/// # Errors
/// A sentence that says which character stands where.
pub(super) fn plain<'a>(what: &str, text: &'a str) -> Result<&'a str, String> {
    match (1..).zip(text.chars()).find(|(_, c)| !is_plain(*c)) {
        None => Ok(text),
        Some((place, c)) => Err(words::not_plain(what, place, c)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_does_not_show_is_refused() {
        for text in ["", "E-17", "é µ Å 水 −", "a b", "Ann & Bob", "\u{301}", "👍"] {
            assert_eq!(plain("it", text), Ok(text));
        }
        let unseen = [
            '\0',
            '\t',
            '\n',
            '\r',
            '\u{1b}',
            '\u{7f}',
            '\u{85}',
            '\u{9b}',
            '\u{61c}',
            '\u{200b}',
            '\u{200c}',
            '\u{200d}',
            '\u{200e}',
            '\u{200f}',
            '\u{2028}',
            '\u{2029}',
            '\u{202a}',
            '\u{202e}',
            '\u{2060}',
            '\u{2066}',
            '\u{2069}',
            '\u{feff}',
            '\u{e0001}',
            '\u{e0041}',
            '\u{e007f}',
        ];
        for c in unseen {
            let sentence = plain("the lot", &format!("ab{c}c")).expect_err("it does not show");
            let code = format!("U+{:04X}", u32::from(c));
            assert!(sentence.starts_with("the lot") && sentence.contains(&code), "{sentence}");
            assert!(sentence.contains("place 3") && !sentence.contains(c), "{sentence}");
        }
    }
}
