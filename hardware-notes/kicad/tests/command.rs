//! What a person types, and how it ends.

use std::fs;
use std::process::{Command, Output};

fn run(arguments: &[&str]) -> (Option<i32>, String, String) {
    let Output { status, stdout, stderr } = Command::new(env!("CARGO_BIN_EXE_rillmark-kicad"))
        .args(arguments)
        .output()
        .expect("the command starts");
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8");
    (status.code(), text(stdout), text(stderr))
}

#[test]
fn files_are_written_and_checked_and_what_is_wrong_ends_with_a_code() {
    let folder = tempfile::tempdir().expect("a folder");
    let project = folder.path().join("board");
    let (code, out, _) = run(&["files", project.to_str().expect("UTF-8")]);
    assert_eq!(code, Some(0));
    assert!(out.contains("rillmark.kicad_pro"), "{out}");

    let board = project.join("rillmark.kicad_pcb");
    let board = board.to_str().expect("UTF-8");
    let (code, out, _) = run(&["check", board]);
    assert_eq!(code, Some(0), "{out}");
    assert!(out.contains("Copper was not looked at"), "{out}");

    let good = fs::read_to_string(board).expect("text");
    fs::write(board, good.replace("dual operational amplifier of", "\u{1b}[2J")).expect("written");
    let (code, out, _) = run(&["check", board]);
    assert_eq!(code, Some(0), "{out}");
    let list = "bill of materials:\n  U1 says \"\\u{1b}[2J least input bias\"\n  U2 says ";
    assert!(out.contains(list), "{out}");

    fs::write(board, good.replace("\"31.6 kΩ\"", "\"3k16\u{1b}[2J\"")).expect("written");
    let (code, out, _) = run(&["check", board]);
    assert_eq!(code, Some(10));
    assert!(out.contains("R6 says \"3k16\\u{1b}[2J\"; it is to be 31.6 kΩ\n1 difference"), "{out}");

    fs::write(board, &good[..good.len() - 4]).expect("written");
    let (code, out, err) = run(&["check", board]);
    assert_eq!((code, out.as_str()), (Some(3), ""));
    assert!(
        err.ends_with("ends in the middle: copy it again, or save the board anew with KiCad.\n"),
        "{err}"
    );

    let (code, _, err) = run(&["check", project.join("none").to_str().expect("UTF-8")]);
    assert_eq!(code, Some(7), "{err}");
    assert_eq!(run(&["check"]).0, Some(2));
}

#[test]
fn nothing_that_is_there_is_replaced() {
    let folder = tempfile::tempdir().expect("a folder");
    let to = folder.path().to_str().expect("UTF-8");
    assert_eq!(run(&["files", to]).0, Some(0));
    assert_eq!(run(&["files", to]).0, Some(0), "the same is no matter");

    let other = tempfile::tempdir().expect("a folder");
    let board = other.path().join("rillmark.kicad_pcb");
    fs::write(&board, "laid out by hand").expect("written");
    let (code, out, err) = run(&["files", other.path().to_str().expect("UTF-8")]);
    assert_eq!((code, out.as_str()), (Some(7), ""));
    let said = "is there and says something else. Nothing was written: choose another folder.\n";
    assert!(err.contains("rillmark.kicad_pcb") && err.ends_with(said), "{err}");
    assert_eq!(fs::read_to_string(&board).expect("text"), "laid out by hand");
    assert_eq!(fs::read_dir(other.path()).expect("a folder").count(), 1);
}

#[cfg(unix)]
#[test]
fn no_link_is_followed() {
    let (folder, other) =
        (tempfile::tempdir().expect("a folder"), tempfile::tempdir().expect("one"));
    for name in ["rillmark.kicad_sym", "rillmark.pretty"] {
        let target = other.path().join(name);
        let link = folder.path().join(name);
        std::os::unix::fs::symlink(&target, &link).expect("a link");
        let (code, _, err) = run(&["files", folder.path().to_str().expect("UTF-8")]);
        assert_eq!(code, Some(7), "{err}");
        assert!(!target.exists());
        assert_eq!(fs::read_dir(folder.path()).expect("a folder").count(), 1);
        fs::remove_file(link).expect("removed");
    }
}

#[test]
fn a_terminal_obeys_no_path() {
    let (code, _, err) = run(&["check", "no\u{1b}[2Jboard"]);
    assert_eq!(code, Some(7));
    assert!(err.starts_with("no\\u{1b}[2Jboard cannot be read"), "{err}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_full_disk_behind_the_error_output_changes_no_code() {
    let full = fs::OpenOptions::new().write(true).open("/dev/full").expect("it is there");
    let status = Command::new(env!("CARGO_BIN_EXE_rillmark-kicad"))
        .args(["check", "no-board"])
        .stderr(full)
        .status()
        .expect("the command starts");
    assert_eq!(status.code(), Some(7));
}
