//! Files that a log goes on in, or leaves as they were.

use std::fs;

use super::*;
use crate::session::reader::Item;
use crate::session::sample::{frames, header, items};

/// A file of this content.
fn file(content: &[u8]) -> (tempfile::TempDir, PathBuf) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("lake.session");
    fs::write(&path, content).expect("there is room");
    (folder, path)
}

fn board() -> BoardId {
    header(&[]).board
}

fn content(path: &Path) -> Vec<u8> {
    fs::read(path).expect("it is there")
}

#[test]
fn a_file_cut_short_anywhere_is_gone_on_in_and_keeps_every_byte() {
    let whole = frames().concat();
    let opening = Entry::opening().frame().expect("it fits");
    for len in 0..=whole.len() {
        let (_folder, path) = file(&whole[..len]);
        let mut writer = Writer::resume(&path, board()).expect("of this board");
        assert_eq!(writer.is_resumed(), len > 0);
        let more = Entry::Header(header(&[]));
        writer.entry(&more, 0).expect("there is room");
        assert_eq!(writer.written(), content(&path).len() as u64);
        let found = content(&path);
        assert!(found.starts_with(&whole[..len]) && found.starts_with(&opening), "cut at {len}");
        let last = items(&found).last();
        assert_eq!(last, Some(Item::Entry(Box::new(more))), "cut at {len}");
        assert!(!items(&found).any(|item| matches!(item, Item::Torn { .. })), "cut at {len}");
    }
}

#[test]
fn what_is_another_boards_or_no_session_stays_as_it_is() {
    let whole = frames().concat();
    for (bytes, board) in [(&whole[..], BoardId([9; 8])), (b"hello\n", board())] {
        let (_folder, path) = file(bytes);
        let refused = Writer::resume(&path, board).map(|_| ()).expect_err("not this");
        assert_eq!(refused.exit, Exit::BadInput);
        assert_eq!(content(&path), bytes);
    }
}

#[cfg(unix)]
#[test]
fn what_does_not_end_is_refused_at_once() {
    let (folder, _path) = file(b"");
    let pipe = folder.path().join("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status().expect("mkfifo runs");
    assert!(made.success());
    for path in [Path::new("/dev/zero"), Path::new("/dev/null"), folder.path(), &pipe] {
        let refused = Writer::resume(path, board()).map(|_| ()).expect_err("not this");
        assert_eq!(refused.exit, Exit::BadInput);
        assert!(refused.sentence.contains("no file on a disk"), "{refused}");
    }
}

#[cfg(unix)]
#[test]
fn a_file_that_another_log_writes_is_refused() {
    let (_folder, path) = file(&frames().concat());
    let first = Writer::resume(&path, board()).expect("free");
    let refused = Writer::resume(&path, board()).map(|_| ()).expect_err("in use");
    assert_eq!(refused.exit, Exit::Storage);
    drop(first);
    Writer::resume(&path, board()).expect("free again");
}

#[test]
fn what_is_withdrawn_leaves_what_was_there_before() {
    let whole = frames().concat();
    let (folder, path) = file(&whole);
    let mut writer = Writer::resume(&path, board()).expect("of this board");
    writer.entry(&Entry::Header(header(&[])), 0).expect("there is room");
    writer.withdraw();
    assert_eq!(content(&path), whole);
    let new = folder.path().join("new.session");
    let mut writer = Writer::create(&new).expect("free");
    writer.withdraw();
    assert!(!new.exists());
    let mut writer = Writer::create(&new).expect("free again");
    writer.settle();
    writer.withdraw();
    assert!(new.exists());
    let refused = Writer::create(&path).map(|_| ()).expect_err("there already");
    assert!(refused.sentence.contains("--continue"), "{refused}");
}

#[test]
fn what_somebody_else_put_there_meanwhile_is_not_taken_away() {
    let (folder, path) = file(&frames().concat());
    let (new, other) = (folder.path().join("new.session"), folder.path().join("other"));
    fs::write(&other, b"my only copy").expect("there is room");
    let mut writer = Writer::create(&new).expect("free");
    fs::rename(&other, &new).expect("it may be moved");
    writer.withdraw();
    assert_eq!(content(&new), b"my only copy");
    let mut writer = Writer::resume(&path, board()).expect("of this board");
    let added = [&content(&path)[..], b"more"].concat();
    fs::write(&path, &added).expect("there is room");
    writer.withdraw();
    assert_eq!(content(&path), added);
}

#[cfg(unix)]
#[test]
fn a_file_that_is_moved_replaced_or_cut_while_it_is_written_ends_the_log() {
    let moved = |path: &Path| fs::rename(path, path.with_extension("moved"));
    let replaced = |path: &Path| moved(path).and_then(|()| fs::write(path, b"another"));
    let deleted = |path: &Path| fs::remove_file(path);
    let cut = |path: &Path| fs::write(path, b"");
    type Way<'a> = &'a dyn Fn(&Path) -> io::Result<()>;
    for way in [&moved as Way<'_>, &replaced, &deleted, &cut] {
        let folder = tempfile::tempdir().expect("a folder");
        let path = folder.path().join("a.session");
        let mut writer = Writer::create(&path).expect("free");
        writer.sync().expect("there");
        way(&path).expect("it may be done");
        let refused = writer.sync().expect_err("not there");
        assert!(refused.exit == Exit::Storage && refused.sentence.contains("moved"), "{refused}");
    }
}

#[test]
fn a_disk_that_once_failed_is_not_believed_again() {
    let mut memory = crate::session::sample::Memory::new();
    memory.failing_sync = Some(2);
    let mut writer = memory.writer();
    assert_eq!(writer.sync().expect_err("it failed").exit, Exit::Storage);
    assert_eq!(writer.sync().expect_err("it did fail").exit, Exit::Storage);
    let more = Entry::Header(header(&[]));
    assert_eq!(writer.entry(&more, 0).expect_err("it did fail").exit, Exit::Storage);
}

#[test]
fn a_disk_without_room_for_an_opening_leaves_nothing() {
    let mut memory = crate::session::sample::Memory::new();
    memory.room = 10;
    let refused =
        Writer::begin(Box::new(memory.clone()), "x".into()).map(|_| ()).expect_err("full");
    assert!(refused.sentence.contains("no room"), "{refused}");
    assert_eq!(memory.content(), b"");
}
