//! A file that somebody names: a session or a record, read in pieces and as often as it takes.

use std::fs::File;
use std::io::{self, BufRead, BufReader, Read, Seek};
use std::path::Path;

use rillmark_proto::identity::RecordId;
use rillmark_proto::record::{MAX_RECORD_BYTES, Record, codec};

use super::replay::{Replayed, Session, Summary, open, replay};
use crate::exit::{Exit, Failure};
use crate::words::en::session as words;

/// Bytes that are read at once.
const CHUNK: usize = 64 * 1024;
/// The most bytes that are held of what can be read only once, a pipe.
const MOST_HELD: u64 = 64 * 1024 * 1024;

/// What is read; a file that grows meanwhile ends where it ended when it was opened.
#[derive(Debug)]
pub struct Source {
    name: String,
    content: Content,
}

#[derive(Debug)]
enum Content {
    File { file: File, len: u64 },
    Held(Vec<u8>),
}

impl Source {
    /// Opens the file.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be read; [`Exit::BadInput`] for a pipe that does not end.
    pub fn of(path: &Path) -> Result<Self, Failure> {
        let name = path.display().to_string();
        match content(path) {
            Ok(Some(content)) => Ok(Self { name, content }),
            Ok(None) => Err(Failure::new(Exit::BadInput, words::endless(&name, MOST_HELD))),
            Err(error) => Err(unread(&name, &error)),
        }
    }

    /// One that is in memory.
    #[cfg(test)]
    pub(crate) fn held(bytes: Vec<u8>) -> Self {
        Self { name: "memory".into(), content: Content::Held(bytes) }
    }

    /// Its name for people.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// From its first byte on.
    fn bytes(&self) -> io::Result<Box<dyn BufRead + '_>> {
        Ok(match &self.content {
            Content::Held(bytes) => Box::new(&bytes[..]),
            Content::File { file, len } => {
                let mut file = file;
                file.rewind()?;
                Box::new(BufReader::with_capacity(CHUNK, file.take(*len)))
            }
        })
    }

    /// As much of it as says whether it is a record: all, if it is one.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be read.
    pub fn record_bytes(&self) -> Result<Vec<u8>, Failure> {
        let mut bytes = Vec::new();
        let most = MAX_RECORD_BYTES as u64 + 1;
        let read = self.bytes().and_then(|from| from.take(most).read_to_end(&mut bytes));
        read.map(|_| bytes).map_err(|error| unread(&self.name, &error))
    }

    /// The record that it is, with its identity; `None` when it is something else.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be read.
    pub fn record(&self) -> Result<Option<(RecordId, Record)>, Failure> {
        let bytes = self.record_bytes()?;
        Ok(codec::decode(&bytes).ok().map(|record| (codec::identity(&bytes), record)))
    }

    /// What holds for the whole session.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when it is no session at all, [`Exit::Storage`] when it cannot be read.
    pub fn session(&self) -> Result<Session, Failure> {
        let from = self.bytes().map_err(|error| unread(&self.name, &error))?;
        open(from).map_err(|error| error.failure(&self.name))
    }

    /// Computes every reading again, see [`replay`].
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be read.
    pub fn replay(
        &self,
        session: &Session,
        other: &[(RecordId, Record)],
        visit: impl FnMut(Replayed),
    ) -> Result<Summary, Failure> {
        let summary = self.bytes().and_then(|from| replay(from, session, other, visit));
        summary.map_err(|error| unread(&self.name, &error))
    }
}

/// `None` for what can be read only once and does not end.
fn content(path: &Path) -> io::Result<Option<Content>> {
    let file = File::open(path)?;
    let about = file.metadata()?;
    if about.is_file() {
        return Ok(Some(Content::File { file, len: about.len() }));
    }
    let mut held = Vec::new();
    let len = file.take(MOST_HELD + 1).read_to_end(&mut held)? as u64;
    Ok((len <= MOST_HELD).then_some(Content::Held(held)))
}

fn unread(name: &str, error: &io::Error) -> Failure {
    Failure::new(Exit::Storage, words::cannot_read(name, error))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::sample::{frames, ph_record};

    fn with(bytes: &[u8]) -> (tempfile::NamedTempFile, Source) {
        let file = tempfile::NamedTempFile::new().expect("a folder");
        std::fs::write(file.path(), bytes).expect("there is room");
        let source = Source::of(file.path()).expect("it is there");
        (file, source)
    }

    #[test]
    fn what_is_written_meanwhile_is_not_read() {
        let bytes = frames().concat();
        let (file, source) = with(&bytes);
        let session = source.session().expect("a session");
        std::fs::write(file.path(), [&bytes[..], &bytes[..]].concat()).expect("there is room");
        let summary = source.replay(&session, &[], |_| {}).expect("it is read");
        assert_eq!((summary.readings, summary.parts), (6, 1));
    }

    #[test]
    fn a_record_with_anything_behind_it_is_none() {
        let bytes = codec::encode(&ph_record(1.0).into()).expect("it fits");
        let (_file, source) = with(&bytes);
        assert_eq!(source.record().expect("read").map(|(id, _)| id), Some(codec::identity(&bytes)));
        for more in [1, MAX_RECORD_BYTES] {
            let (_file, source) = with(&[&bytes[..], &vec![0; more]].concat());
            assert!(source.record().expect("read").is_none());
        }
    }

    #[cfg(unix)]
    #[test]
    fn what_does_not_end_is_refused() {
        let refused = Source::of(Path::new("/dev/zero")).expect_err("endless");
        assert_eq!(refused.exit, Exit::BadInput);
    }
}
