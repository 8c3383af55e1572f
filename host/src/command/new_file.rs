//! Files that appear whole or not at all, and never over another one.

use std::fmt::Display;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use tempfile::{Builder, NamedTempFile};

use super::interrupt;
use crate::exit::{Exit, Failure};
use crate::session::writer::sync_folder;
use crate::words::en::session as words;

/// A file being written beside its place, under a name of its own.
pub(super) struct NewFile {
    file: NamedTempFile,
    place: PathBuf,
    /// Dropped after the file is.
    begun: Begun,
}

/// As long as it lives an interruption takes the file away.
struct Begun(PathBuf);

impl Drop for Begun {
    fn drop(&mut self) {
        interrupt::let_be(&self.0);
    }
}

impl NewFile {
    /// # Errors
    /// [`Exit::Storage`] when its place is taken or nothing can be written there.
    pub(super) fn beside(place: &Path) -> Result<Self, Failure> {
        // Found out here, before any work, and once more when it is put there.
        if place.symlink_metadata().is_ok() {
            return Err(failure(place, &words::THERE_ALREADY));
        }
        let folder = place.parent().filter(|folder| !folder.as_os_str().is_empty());
        let mut builder = Builder::new();
        builder.prefix(".rillmark-");
        #[cfg(unix)]
        {
            use std::os::unix::fs::PermissionsExt;
            // As any other new file: the mask takes away what it should.
            builder.permissions(std::fs::Permissions::from_mode(0o666));
        }
        let make = || builder.tempfile_in(folder.unwrap_or(Path::new(".")));
        let file = interrupt::begin_file(make, NamedTempFile::path);
        let file = file.map_err(|error| failure(place, &error))?;
        Ok(Self { begun: Begun(file.path().to_owned()), file, place: place.to_owned() })
    }

    /// Writes all of it.
    ///
    /// # Errors
    /// [`Exit::Storage`] when it cannot be written; nothing is left then.
    pub(super) fn write(place: &Path, bytes: &[u8]) -> Result<(), Failure> {
        Self::beside(place)?.fill(bytes)
    }

    /// Writes all of it and puts it in its place.
    ///
    /// # Errors
    /// As [`Self::write`].
    pub(super) fn fill(mut self, bytes: &[u8]) -> Result<(), Failure> {
        self.file.write_all(bytes).map_err(|error| failure(&self.place, &error))?;
        self.keep()
    }

    /// Puts it in its place.
    ///
    /// # Errors
    /// As [`Self::beside`].
    pub(super) fn keep(self) -> Result<(), Failure> {
        let Self { file, place, begun } = self;
        file.as_file().sync_all().map_err(|error| failure(&place, &error))?;
        file.persist_noclobber(&place).map_err(|error| failure(&place, &error.error))?;
        drop(begun);
        sync_folder(&place);
        Ok(())
    }
}

impl Write for NewFile {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.file.write(bytes)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.file.flush()
    }
}

fn failure(place: &Path, error: &dyn Display) -> Failure {
    let name = place.display().to_string();
    Failure::new(Exit::Storage, words::cannot_export(&name, error))
}

#[cfg(test)]
mod tests {
    use std::fs;

    use super::*;

    #[test]
    fn a_file_is_there_whole_or_not_at_all_and_never_over_another() {
        let folder = tempfile::tempdir().expect("a folder");
        let place = folder.path().join("a");
        let count = || fs::read_dir(folder.path()).expect("it is there").count();
        let mut file = NewFile::beside(&place).expect("free");
        file.write_all(b"half").expect("there is room");
        assert!(!place.exists());
        drop(file);
        assert_eq!(count(), 0, "what was not finished leaves nothing");
        let file = NewFile::beside(&place).expect("free");
        NewFile::write(&place, b"first").expect("free");
        assert_eq!(file.keep().expect_err("taken meanwhile").exit, Exit::Storage);
        let again = NewFile::beside(&place).map(|_| ()).expect_err("taken");
        assert!(again.sentence.contains("nothing is overwritten"), "{again}");
        assert_eq!(fs::read(&place).expect("still there"), b"first");
        assert_eq!(count(), 1);
    }
}
