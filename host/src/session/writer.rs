//! Appends to a session file: whole frames, one write each, on the disk within seconds.

use std::fs::{self, File, OpenOptions, TryLockError};
use std::io::{self, BufReader, Read, Seek, SeekFrom, Write};
use std::path::{Path, PathBuf};

use rillmark_proto::identity::BoardId;
use rillmark_proto::wire::frame::DELIMITER;

use super::entry::Entry;
use super::replay::open;
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

    /// How many bytes there are under the name that a person knows; `None` when that is another file by now.
    ///
    /// # Errors
    /// When the system does not tell.
    fn named_len(&self) -> io::Result<Option<u64>>;

    /// Takes it away as a whole.
    ///
    /// # Errors
    /// When the system cannot.
    fn remove(&mut self) -> io::Result<()>;
}

/// A file under its name, which somebody may move, replace or write to meanwhile.
struct Named {
    file: File,
    path: PathBuf,
}

impl Storage for Named {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        self.file.write_all(bytes)
    }

    fn sync(&mut self) -> io::Result<()> {
        self.file.sync_data()
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        self.file.set_len(len)
    }

    fn named_len(&self) -> io::Result<Option<u64>> {
        let held = self.file.metadata()?;
        let named = match fs::metadata(&self.path) {
            Ok(named) => named,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(error) => return Err(error),
        };
        #[cfg(unix)]
        let is_same = {
            use std::os::unix::fs::MetadataExt;
            (named.dev(), named.ino()) == (held.dev(), held.ino())
        };
        #[cfg(not(unix))]
        let is_same = named.len() == held.len();
        Ok(is_same.then_some(held.len()))
    }

    fn remove(&mut self) -> io::Result<()> {
        fs::remove_file(&self.path)
    }
}

/// A session file being written.
pub struct Writer {
    storage: Box<dyn Storage>,
    name: String,
    written: u64,
    /// How much of it was there before.
    before: u64,
    /// This made it.
    is_new: bool,
    is_settled: bool,
    /// When the oldest frame was written that is not on the disk for certain.
    unsynced_since: Option<u64>,
    /// Why it failed. What the disk did not take may be gone though it never says so again, so that nothing is
    /// written any more, least of all an end.
    failed: Option<Failure>,
}

impl Writer {
    /// Makes a new file and writes its opening.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the file exists already or cannot be made; nothing is overwritten, and
    /// nothing is left behind.
    pub fn create(path: &Path) -> Result<Self, Failure> {
        let name = path.display().to_string();
        let file = OpenOptions::new().append(true).create_new(true).open(path);
        let file = file.map_err(|error| {
            let sentence = match error.kind() {
                io::ErrorKind::AlreadyExists => words::file_exists(&name),
                _ => words::cannot_create(&name, &error),
            };
            Failure::new(Exit::Storage, sentence)
        })?;
        // Nobody else goes on in it meanwhile.
        lock(&file);
        sync_folder(path);
        let mut writer = Self {
            is_new: true,
            ..Self::over(Box::new(Named { file, path: path.to_owned() }), name)
        };
        match writer.open() {
            Ok(()) => Ok(writer),
            Err(failure) => {
                writer.withdraw();
                Err(failure)
            }
        }
    }

    /// Goes on in a session of this board, or makes a new one where there is none. A frame whose writing
    /// was cut short is closed first, so that it stays and is told as damage.
    ///
    /// # Errors
    /// [`Exit::BadInput`] for what is no file on a disk, no session or one of another board, which stay as
    /// they are;
    /// [`Exit::Storage`] when it cannot be read or written, or another program is writing it.
    pub fn resume(path: &Path, board: BoardId) -> Result<Self, Failure> {
        let name = path.display().to_string();
        let storage =
            |error: io::Error| Failure::new(Exit::Storage, words::cannot_continue(&name, &error));
        // Found out before it is opened: a pipe or a device does not end.
        if fs::metadata(path).is_ok_and(|about| !about.is_file()) {
            return Err(Failure::new(Exit::BadInput, words::no_file_on_a_disk(&name)));
        }
        let mut file = match OpenOptions::new().read(true).append(true).open(path) {
            Ok(file) => file,
            Err(error) if error.kind() == io::ErrorKind::NotFound => return Self::create(path),
            Err(error) => return Err(storage(error)),
        };
        if !lock(&file) {
            return Err(Failure::new(Exit::Storage, words::file_in_use(&name)));
        }
        let len = file.metadata().map_err(storage)?.len();
        let missing = joint(&mut file, &name, board)?;
        let storage = Box::new(Named { file, path: path.to_owned() });
        let mut writer = Self { written: len, before: len, ..Self::over(storage, name) };
        if !missing.is_empty() {
            writer.frame(&missing, 0)?;
        }
        writer.sync()?;
        Ok(writer)
    }

    /// Writes the opening to an empty storage.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be written.
    pub fn begin(storage: Box<dyn Storage>, name: String) -> Result<Self, Failure> {
        let mut writer = Self::over(storage, name);
        writer.open()?;
        Ok(writer)
    }

    fn open(&mut self) -> Result<(), Failure> {
        self.entry(&Entry::opening(), 0)?;
        self.sync()
    }

    fn over(storage: Box<dyn Storage>, name: String) -> Self {
        let (written, before, is_new, is_settled) = (0, 0, false, false);
        let (failed, unsynced_since) = (None, None);
        Self { storage, name, written, before, is_new, is_settled, failed, unsynced_since }
    }

    /// From here on what was written stays, whatever happens.
    pub const fn settle(&mut self) {
        self.is_settled = true;
    }

    /// Takes back what was written, a file that was made with it, unless that is settled: of a start that
    /// came to nothing nothing is left. What is not as this left it is somebody else's, and stays. Best
    /// effort: whatever fails here failed before, and was told.
    pub fn withdraw(&mut self) {
        let is_ours = matches!(self.storage.named_len(), Ok(Some(len)) if len == self.written);
        if self.is_settled || !is_ours {
            return;
        }
        if self.is_new {
            let _ = self.storage.remove();
        } else {
            let _ = self.storage.cut(self.before);
            let _ = self.storage.sync();
        }
    }

    /// True when there was a session before.
    #[must_use]
    pub const fn is_resumed(&self) -> bool {
        self.before > 0
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
        self.usable()?;
        if let Err(error) = self.storage.append(frame) {
            // Best effort: a reader skips a torn frame anyway.
            let _ = self.storage.cut(self.written);
            let _ = self.storage.sync();
            return Err(self.fail(&error));
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

    /// Forces everything onto the disk, and looks whether it is still there.
    ///
    /// # Errors
    /// [`Exit::Storage`] when the system cannot, also any earlier time, or when the file was moved, replaced
    /// or cut meanwhile.
    pub fn sync(&mut self) -> Result<(), Failure> {
        self.usable()?;
        self.unsynced_since = None;
        match self.storage.sync().and_then(|()| self.storage.named_len()) {
            Ok(Some(len)) if len >= self.written => Ok(()),
            Ok(_) => {
                let failure = Failure::new(Exit::Storage, words::not_the_file(&self.name));
                Err(self.failed.insert(failure).clone())
            }
            Err(error) => Err(self.fail(&error)),
        }
    }

    fn usable(&self) -> Result<(), Failure> {
        self.failed.clone().map_or(Ok(()), Err)
    }

    fn fail(&mut self, error: &io::Error) -> Failure {
        self.failed.insert(self.failure(error)).clone()
    }

    fn failure(&self, error: &io::Error) -> Failure {
        let stays = self.is_settled.then_some(self.written);
        let sentence = match error.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                words::disk_full(&self.name, stays)
            }
            _ => words::cannot_write(&self.name, &error, stays),
        };
        Failure::new(Exit::Storage, sentence)
    }
}

/// What has to stand behind what is there before a log of this board goes on: the rest of an opening, or the
/// end of a frame whose writing was cut short.
///
/// # Errors
/// [`Exit::BadInput`] for what is no session or one of another board; [`Exit::Storage`] when it cannot be
/// read.
pub fn joint(
    file: &mut (impl Read + Seek),
    name: &str,
    board: BoardId,
) -> Result<Vec<u8>, Failure> {
    let storage =
        |error: io::Error| Failure::new(Exit::Storage, words::cannot_continue(name, &error));
    let opening = Entry::opening().frame().unwrap_or_default();
    let mut begin = Vec::new();
    // One more, to see whether it ends there.
    let most = opening.len() as u64 + 1;
    Read::by_ref(file).take(most).read_to_end(&mut begin).map_err(storage)?;
    if let Some(rest) = opening.strip_prefix(&*begin) {
        return Ok(rest.to_vec());
    }
    file.rewind().map_err(storage)?;
    let session = open(BufReader::new(&mut *file)).map_err(|error| error.failure(name))?;
    if let Some(other) = session.boards.iter().find(|other| **other != board) {
        let sentence = words::other_board(name, other, &board);
        return Err(Failure::new(Exit::BadInput, sentence));
    }
    let mut last = [0];
    let read = file.seek(SeekFrom::End(-1)).and_then(|_| file.read_exact(&mut last));
    read.map_err(storage)?;
    Ok(if last == [DELIMITER] { Vec::new() } else { vec![DELIMITER] })
}

/// False when another log has the file. Not every system can lock one, and where nobody else could read it
/// then it is not locked either: no reason not to log.
fn lock(file: &File) -> bool {
    !cfg!(unix) || !matches!(file.try_lock(), Err(TryLockError::WouldBlock))
}

/// Forces the folder of a new file onto the disk: its name must survive a power loss too. Not every system
/// can, and one that cannot is no reason not to write.
pub(crate) fn sync_folder(path: &Path) {
    if cfg!(unix) {
        let folder = path.parent().filter(|folder| !folder.as_os_str().is_empty());
        let _ = File::open(folder.unwrap_or(Path::new("."))).and_then(|it| it.sync_all());
    }
}

#[cfg(test)]
#[path = "writer_tests.rs"]
mod tests;
