//! Appends to a session file: whole frames, one write each, on the disk within seconds.

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::path::Path;

use super::entry::Entry;
use crate::exit::{Exit, Failure};
use crate::words::en::session as words;

/// How old a written frame becomes before it is forced onto the disk. A power loss must not cost
/// more than 10 s; half of that leaves room for a slow disk.
const SYNC_AFTER_MS: u64 = 5000;

/// Where frames are appended.
pub trait Storage {
    /// Writes all bytes at the end in one call.
    ///
    /// # Errors
    /// When the system cannot; some of the bytes may have been written.
    fn append(&mut self, bytes: &[u8]) -> io::Result<()>;

    /// Forces what was written onto the disk.
    ///
    /// # Errors
    /// When the system cannot.
    fn sync(&mut self) -> io::Result<()>;

    /// Cuts off what lies behind `len` bytes.
    ///
    /// # Errors
    /// When the system cannot.
    fn cut(&mut self, len: u64) -> io::Result<()>;
}

impl Storage for File {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.sync_data()
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        self.set_len(len)
    }
}

/// A session file being written.
pub struct Writer {
    storage: Box<dyn Storage>,
    name: String,
    written: u64,
    /// When the oldest frame was written that is not on the disk for certain.
    unsynced_since: Option<u64>,
}

impl Writer {
    /// Makes a new file and writes its opening.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the file exists already or cannot be made; nothing is overwritten.
    pub fn create(path: &Path) -> Result<Self, Failure> {
        let name = path.display().to_string();
        let file =
            OpenOptions::new().append(true).create_new(true).open(path).map_err(|error| {
                Failure::new(
                    Exit::Storage,
                    match error.kind() {
                        io::ErrorKind::AlreadyExists => words::file_exists(&name),
                        _ => words::cannot_create(&name, &error),
                    },
                )
            })?;
        // The file's name must survive a power loss too. Not every system can force a folder onto
        // the disk, and one that cannot is no reason not to log.
        #[cfg(unix)]
        {
            let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
            let _ = File::open(folder.unwrap_or(Path::new("."))).and_then(|it| it.sync_all());
        }
        Self::begin(Box::new(file), name)
    }

    /// Writes the opening to an empty storage.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be written.
    pub fn begin(storage: Box<dyn Storage>, name: String) -> Result<Self, Failure> {
        let mut writer = Self { storage, name, written: 0, unsynced_since: None };
        writer.entry(&Entry::opening(), 0)?;
        writer.sync()?;
        Ok(writer)
    }

    /// The file's name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Bytes written.
    #[must_use]
    pub const fn written(&self) -> u64 {
        self.written
    }

    /// Appends an entry of the host; `now` is any clock in ms that does not jump.
    ///
    /// # Errors
    /// As for [`Self::frame`]; [`Exit::BadInput`] when the entry is too long for a frame.
    pub fn entry(&mut self, entry: &Entry, now: u64) -> Result<(), Failure> {
        let frame = entry
            .frame()
            .map_err(|error| Failure::new(Exit::BadInput, words::entry_too_long(&error)))?;
        self.frame(&frame, now)
    }

    /// Appends one frame as it is.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the disk is full or gone; the file then ends with its last whole
    /// frame, as far as the system lets it.
    pub fn frame(&mut self, frame: &[u8], now: u64) -> Result<(), Failure> {
        if let Err(error) = self.storage.append(frame) {
            // Best effort: a reader skips a torn frame anyway.
            let _ = self.storage.cut(self.written);
            let _ = self.storage.sync();
            return Err(self.failure(&error));
        }
        self.written += frame.len() as u64;
        self.unsynced_since.get_or_insert(now);
        self.sync_if_due(now)
    }

    /// Forces frames onto the disk that wait for it too long.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the system cannot.
    pub fn sync_if_due(&mut self, now: u64) -> Result<(), Failure> {
        match self.unsynced_since {
            Some(since) if now.saturating_sub(since) >= SYNC_AFTER_MS => self.sync(),
            _ => Ok(()),
        }
    }

    /// Forces everything onto the disk.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the system cannot.
    pub fn sync(&mut self) -> Result<(), Failure> {
        self.unsynced_since = None;
        self.storage.sync().map_err(|error| self.failure(&error))
    }

    fn failure(&self, error: &io::Error) -> Failure {
        let sentence = match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                words::disk_full(&self.name, self.written)
            }
            _ => words::cannot_write(&self.name, &error, self.written),
        };
        Failure::new(Exit::Storage, sentence)
    }
}
