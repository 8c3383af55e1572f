//! What people and files give, as far as there is any sense in it: an endless line or file is an error, not
//! all of the memory.

use std::fs::File;
use std::io::{self, BufRead, Read};
use std::path::Path;

use crate::words::en::cli as words;

/// The most bytes of a line that answers a question.
const MAX_LINE: u64 = 4 << 10;
/// The most bytes of a file of answers or of a bottle.
const MAX_TEXT: u64 = 1 << 20;
/// The most bytes of a table of points.
pub(super) const MAX_TABLE: u64 = 64 << 20;

/// The next line, without the blanks around it; `None` at the end. What is no text in it is replaced, and
/// so not understood.
///
/// # Errors
/// Those of the reader, and a line that is too long.
pub(super) fn line(from: &mut dyn BufRead) -> io::Result<Option<String>> {
    let mut line = Vec::new();
    let read = from.take(MAX_LINE + 1).read_until(b'\n', &mut line)? as u64;
    if read > MAX_LINE {
        return Err(io::Error::new(io::ErrorKind::InvalidData, words::too_large(MAX_LINE)));
    }
    Ok((read > 0).then(|| String::from_utf8_lossy(&line).trim().to_owned()))
}

/// All of a small text file.
///
/// # Errors
/// Those of the file, and what is too large or no text.
pub(super) fn text(path: &Path) -> io::Result<String> {
    let bytes = all(&mut File::open(path)?, MAX_TEXT)?;
    String::from_utf8(bytes).map_err(|_| io::Error::new(io::ErrorKind::InvalidData, words::NO_TEXT))
}

/// All bytes there are, up to so many.
///
/// # Errors
/// Those of the reader, and when there are more.
pub(super) fn all(from: &mut dyn Read, most: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    if from.take(most + 1).read_to_end(&mut bytes)? as u64 > most {
        return Err(io::Error::new(io::ErrorKind::InvalidData, words::too_large(most)));
    }
    Ok(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_text_is_said_in_plain_words() {
        let file = tempfile::NamedTempFile::new().expect("a folder");
        std::fs::write(file.path(), b"\xff\xd8\xff\xe0 a picture").expect("there is room");
        let error = text(file.path()).expect_err("no text").to_string();
        assert_eq!(error, words::NO_TEXT);
    }

    #[test]
    fn lines_come_one_by_one_whatever_they_hold() {
        let mut typed: &[u8] = b" done \n\n\xff\xfe\nlast";
        let mut next = || line(&mut typed).expect("short lines");
        assert_eq!(next().as_deref(), Some("done"));
        assert_eq!(next().as_deref(), Some(""));
        assert_eq!(next().as_deref(), Some("\u{fffd}\u{fffd}"));
        assert_eq!(next().as_deref(), Some("last"));
        assert_eq!(next(), None);
    }

    #[test]
    fn what_does_not_end_is_an_error() {
        let mut endless = io::BufReader::new(io::repeat(0));
        assert_eq!(line(&mut endless).expect_err("endless").kind(), io::ErrorKind::InvalidData);
        let error = all(&mut endless, 1 << 20).expect_err("endless").to_string();
        assert!(error.contains("1048576 bytes"), "{error}");
        assert_eq!(all(&mut &[7; 5][..], 5).expect("just fits"), [7; 5]);
    }
}
