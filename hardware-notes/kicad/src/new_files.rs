//! Puts the project's files into a folder, beside which somebody may have laid out a board already.

use std::fs::{self, Metadata};
use std::io::{self, Write};
use std::path::{Path, PathBuf};

use rillmark_kicad::File;
use tempfile::{Builder, NamedTempFile};

/// Why nothing, or not everything, was written.
pub(crate) enum Unwritten {
    /// Something else has this name already. Nothing was written.
    Taken(PathBuf),
    /// The system refused.
    Refused(PathBuf, io::Error),
}

/// Writes those that are not there yet, each beside its place first, then put there whole.
///
/// # Errors
/// [`Unwritten::Taken`] where a file of that name says something else or is a link: it may be somebody's work.
pub(crate) fn write(folder: &Path, files: &[File]) -> Result<(), Unwritten> {
    let mut missing = Vec::new();
    for file in files {
        let path = folder.join(&file.name);
        let parent = path.parent().unwrap_or(folder).to_owned();
        if parent != folder && found(&parent)?.is_some_and(|found| !found.is_dir()) {
            return Err(Unwritten::Taken(parent));
        }
        match found(&path)? {
            None => missing.push((file, parent, path)),
            Some(found) if is_same(&path, &found, &file.text)? => {}
            Some(_) => return Err(Unwritten::Taken(path)),
        }
    }
    // What is not put in its place is gone again when these are dropped.
    let mut beside = Vec::new();
    for (file, parent, path) in missing {
        match write_beside(&parent, &file.text) {
            Ok(written) => beside.push((written, path)),
            Err(error) => return Err(Unwritten::Refused(path, error)),
        }
    }
    for (written, path) in beside {
        written.persist(&path).map_err(|error| Unwritten::Refused(path, error.error))?;
    }
    Ok(())
}

fn found(path: &Path) -> Result<Option<Metadata>, Unwritten> {
    match fs::symlink_metadata(path) {
        Ok(found) => Ok(Some(found)),
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(Unwritten::Refused(path.to_owned(), error)),
    }
}

fn is_same(path: &Path, found: &Metadata, text: &str) -> Result<bool, Unwritten> {
    if !found.is_file() || found.len() != text.len() as u64 {
        return Ok(false);
    }
    let bytes = fs::read(path).map_err(|error| Unwritten::Refused(path.to_owned(), error))?;
    Ok(bytes == text.as_bytes())
}

fn write_beside(parent: &Path, text: &str) -> io::Result<NamedTempFile> {
    fs::create_dir_all(parent)?;
    let mut builder = Builder::new();
    // As any file that is made new, under the mask of whoever makes it.
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        builder.permissions(fs::Permissions::from_mode(0o666));
    }
    let mut file = builder.tempfile_in(parent)?;
    file.write_all(text.as_bytes())?;
    file.as_file().sync_all()?;
    Ok(file)
}
