//! The words of KiCad's files, one after the other: `(`, `)`, and text with or without quotation marks.

use std::borrow::Cow;

/// One of them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Token<'a> {
    Open,
    Close,
    Text(Cow<'a, str>),
    /// Text in quotation marks that never ends.
    Unfinished,
}

/// Reads them from a text.
pub(super) struct Tokens<'a> {
    text: &'a str,
    at: usize,
}

impl<'a> Tokens<'a> {
    pub(super) const fn of(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    /// In which line the next one stands, counted from 1.
    pub(super) fn line(&self) -> usize {
        1 + self.text.as_bytes()[..self.at].iter().filter(|byte| **byte == b'\n').count()
    }

    fn quoted(&mut self) -> Token<'a> {
        let from = self.at;
        let mut has_escape = false;
        let bytes = self.text.as_bytes();
        loop {
            match bytes.get(self.at) {
                None => {
                    // A last backslash led one too far.
                    self.at = bytes.len();
                    return Token::Unfinished;
                }
                Some(b'"') => break,
                Some(b'\\') => {
                    has_escape = true;
                    self.at += 2;
                }
                Some(_) => self.at += 1,
            }
        }
        // Both ends are at quotation marks, so they are between characters.
        let inside = &self.text[from..self.at];
        self.at += 1;
        Token::Text(if has_escape { Cow::Owned(without_escapes(inside)) } else { inside.into() })
    }
}

impl<'a> Iterator for Tokens<'a> {
    type Item = Token<'a>;

    fn next(&mut self) -> Option<Token<'a>> {
        let bytes = self.text.as_bytes();
        while bytes.get(self.at)?.is_ascii_whitespace() {
            self.at += 1;
        }
        let from = self.at;
        self.at += 1;
        match bytes[from] {
            b'(' => Some(Token::Open),
            b')' => Some(Token::Close),
            b'"' => Some(self.quoted()),
            _ => {
                let ends = |byte: &u8| byte.is_ascii_whitespace() || b"()\"".contains(byte);
                let length = bytes[from..].iter().position(ends).unwrap_or(bytes.len() - from);
                self.at = from + length;
                Some(Token::Text(self.text[from..self.at].into()))
            }
        }
    }
}

fn without_escapes(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    let mut characters = text.chars();
    while let Some(c) = characters.next() {
        match c {
            '\\' => match characters.next() {
                Some('n') => plain.push('\n'),
                Some(other) => plain.push(other),
                None => {}
            },
            _ => plain.push(c),
        }
    }
    plain
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tokens(text: &str) -> Vec<Token<'_>> {
        Tokens::of(text).collect()
    }

    #[test]
    fn words_end_at_blanks_brackets_and_quotation_marks() {
        let text = |text: &'static str| Token::Text(text.into());
        let wanted = [Token::Open, text("a"), text("b (\"c\\"), text("d"), Token::Close];
        assert_eq!(tokens("(a \"b (\\\"c\\\\\"d)"), wanted);
    }

    #[test]
    fn a_text_that_never_ends_is_said() {
        for text in ["\"", "\"a", "\"\\", "\"\\\"", "\"\\ü"] {
            assert_eq!(tokens(text).last(), Some(&Token::Unfinished), "{text}");
        }
    }
}
