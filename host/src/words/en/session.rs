//! What the tool says about session files, logging and replay.

use std::fmt::Display;

/// A session file must not be overwritten.
pub fn file_exists(name: &str) -> String {
    format!("{name} exists already and is not overwritten. Choose another name with --out FILE.")
}

/// A file cannot be made.
pub fn cannot_create(name: &str, error: &dyn Display) -> String {
    format!("cannot create {name}: {error}. Choose another place with --out FILE.")
}

/// The disk is full.
pub fn disk_full(name: &str, written: u64) -> String {
    format!(
        "the disk is full: {name} ends after {written} bytes, all of them whole. Make room, then \
         log into a new file."
    )
}

/// A file cannot be written any more.
pub fn cannot_write(name: &str, error: &dyn Display, written: u64) -> String {
    format!(
        "cannot write {name} any more: {error}. What was written before, {written} bytes, is whole."
    )
}

/// An entry does not fit a frame.
pub fn entry_too_long(error: &dyn Display) -> String {
    format!("what should be written into the session is too long: {error}. Shorten the note.")
}

/// A note is too long.
pub fn note_too_long(bytes: usize, most: usize) -> String {
    format!("the note has {bytes} bytes, at most {most} fit. Shorten it.")
}

/// A file cannot be read.
pub fn cannot_read(name: &str, error: &dyn Display) -> String {
    format!("cannot read {name}: {error}. Check the name.")
}

/// A file without a byte.
pub fn empty_file(name: &str) -> String {
    format!("{name} is empty. Name a file that `rillmark log` wrote.")
}

/// A file that is something else.
pub fn foreign_file(name: &str) -> String {
    format!("{name} is not a session file. Name a file that `rillmark log` wrote.")
}

/// A session of a later release.
pub fn newer_file(name: &str, found: u8, newest: u8) -> String {
    format!(
        "{name} has session format {found}, this program reads {newest} at most. Update rillmark."
    )
}

/// A calibration file that is something else.
pub fn not_a_record(name: &str, error: &dyn Display) -> String {
    format!("{name} is not a calibration record: {error}. Write one with `rillmark show --export`.")
}

/// The probe's store cannot tell what is fitted or in force; kept as a note in the session.
pub fn store_refuses(refusal: &str) -> String {
    format!("The probe cannot tell what is fitted and in force: {refusal}")
}

/// A file to export into cannot be made or written.
pub fn cannot_export(name: &str, error: &dyn Display) -> String {
    format!("cannot write {name}: {error}. Choose another name; nothing is overwritten.")
}
