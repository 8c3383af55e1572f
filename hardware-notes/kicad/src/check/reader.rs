//! Reads a board's file word by word, and keeps of it what [`Board`] holds.

use super::laid_out::{Board, DEEPEST, MOST_BYTES, MOST_PADS, Pad, Part, Unreadable};
use super::tokens::{Token, Tokens};

/// The form of KiCad 6, the first that is read here.
const FIRST_VERSION: u64 = 20_211_014;

/// Heads of lists that matter.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Head {
    Board,
    Version,
    Footprint,
    Text,
    Property,
    Attributes,
    Pad,
    Net,
    /// An open list whose first word has not come yet.
    Unread,
    Other,
}

impl Head {
    fn of(word: &str) -> Self {
        match word {
            "kicad_pcb" => Self::Board,
            "version" => Self::Version,
            "footprint" => Self::Footprint,
            "fp_text" => Self::Text,
            "property" => Self::Property,
            "attr" => Self::Attributes,
            "pad" => Self::Pad,
            "net" => Self::Net,
            _ => Self::Other,
        }
    }
}

/// Reads a board.
///
/// # Errors
/// When it is no board, is not whole, or is larger or deeper than boards are.
pub fn read(bytes: &[u8]) -> Result<Board, Unreadable> {
    if bytes.len() > MOST_BYTES {
        return Err(Unreadable::TooLarge);
    }
    let text = str::from_utf8(bytes)
        .map_err(|error| Unreadable::NotText { at: error.valid_up_to() })?
        .trim_start_matches('\u{feff}');
    if let Some(at) = bytes.iter().position(|byte| *byte == 0) {
        return Err(Unreadable::NotText { at });
    }
    let mut tokens = Tokens::of(text);
    let mut reader = Reader::default();
    let mut is_over = false;
    while let Some(token) = tokens.next() {
        if is_over {
            return Err(Unreadable::GoesOn { line: tokens.line() });
        }
        match token {
            Token::Open if reader.path.len() == DEEPEST => {
                return Err(Unreadable::TooDeep { line: tokens.line() });
            }
            Token::Open => reader.open()?,
            Token::Close => is_over = reader.close()?,
            Token::Text(word) => reader.word(&word)?,
            Token::Unfinished => return Err(Unreadable::Unfinished),
        }
    }
    match (is_over, reader.path.is_empty()) {
        (true, _) if !reader.has_version => Err(Unreadable::NoVersion { said: String::new() }),
        (true, _) => Ok(reader.board),
        (false, true) => Err(Unreadable::NotABoard { first: String::new() }),
        (false, false) => Err(Unreadable::Unfinished),
    }
}

#[derive(Default)]
struct Reader {
    board: Board,
    pads: usize,
    has_version: bool,
    path: Vec<Head>,
    /// How many words stood in the innermost list after its head.
    words: usize,
    /// What a text or property is about.
    about: String,
}

impl Reader {
    fn open(&mut self) -> Result<(), Unreadable> {
        if self.path.last() == Some(&Head::Unread) {
            // A list as a list's first word: of no form that matters.
            self.head(Head::Other)?;
        }
        self.path.push(Head::Unread);
        self.words = 0;
        Ok(())
    }

    /// True when the board has ended.
    fn close(&mut self) -> Result<bool, Unreadable> {
        if self.path.last().is_none_or(|_| self.path == [Head::Unread]) {
            return Err(Unreadable::NotABoard { first: ")".to_owned() });
        }
        self.path.pop();
        // What stands behind an inner list is counted no more: KiCad writes words first.
        self.words = usize::MAX / 2;
        Ok(self.path.is_empty())
    }

    fn head(&mut self, head: Head) -> Result<(), Unreadable> {
        if let Some(unread) = self.path.last_mut() {
            *unread = head;
        }
        match self.path.as_slice() {
            [Head::Board, Head::Footprint] => {
                self.board.parts.push(Part::default());
                self.count()
            }
            _ => Ok(()),
        }
    }

    fn count(&mut self) -> Result<(), Unreadable> {
        self.pads += 1;
        if self.pads > MOST_PADS { Err(Unreadable::TooMany) } else { Ok(()) }
    }

    fn word(&mut self, word: &str) -> Result<(), Unreadable> {
        if self.path.last() == Some(&Head::Unread) {
            let head = Head::of(word);
            if self.path.len() == 1 && head != Head::Board {
                return Err(Unreadable::NotABoard { first: word.to_owned() });
            }
            return self.head(head);
        }
        if self.path.is_empty() {
            return Err(Unreadable::NotABoard { first: word.to_owned() });
        }
        self.words += 1;
        if let [Head::Board, Head::Version] = self.path.as_slice() {
            match word.parse::<u64>() {
                Err(_) => return Err(Unreadable::NoVersion { said: word.to_owned() }),
                Ok(version) if version < FIRST_VERSION => return Err(Unreadable::TooOld),
                Ok(_) => self.has_version = true,
            }
        }
        let Some(part) = self.board.parts.last_mut() else { return Ok(()) };
        match (self.path.as_slice(), self.words) {
            ([Head::Board, Head::Footprint, Head::Text | Head::Property], 1) => {
                self.about = word.to_lowercase();
            }
            ([Head::Board, Head::Footprint, Head::Text | Head::Property], 2) => {
                match self.about.as_str() {
                    "reference" => part.reference = word.trim().to_owned(),
                    "value" => part.value = word.to_owned(),
                    _ => {}
                }
            }
            // Of KiCad 7 and later.
            ([Head::Board, Head::Footprint, Head::Attributes], _) if word == "dnp" => {
                part.is_left_out = true;
            }
            ([Head::Board, Head::Footprint, Head::Pad], 1) => {
                part.pads.push(Pad { number: word.to_owned(), net: None });
                return self.count();
            }
            // Number and name, or the name alone in the latest spelling: the last word is the name.
            ([Head::Board, Head::Footprint, Head::Pad, Head::Net], _) => {
                if let Some(pad) = part.pads.last_mut() {
                    pad.net = (!word.is_empty()).then(|| word.to_owned());
                }
            }
            _ => {}
        }
        Ok(())
    }
}
