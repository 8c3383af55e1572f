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
