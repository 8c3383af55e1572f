//! The real `rillmark` binary, built once for a test process.

use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::OnceLock;

use crate::source_tree::root;

/// Path of the binary, in the profile of the tests.
///
/// # Panics
/// When it does not build.
pub fn path() -> &'static PathBuf {
    static PATH: OnceLock<PathBuf> = OnceLock::new();
    PATH.get_or_init(|| {
        let output = Command::new(env!("CARGO"))
            .args(["build", "--offline", "-p", "rillmark", "--bin", "rillmark"])
            .arg("--message-format=json-render-diagnostics")
            .current_dir(root())
            .stderr(Stdio::inherit())
            .output()
            .expect("cargo runs, as it runs this test");
        assert!(output.status.success(), "the rillmark binary does not build");
        let text = String::from_utf8(output.stdout).expect("cargo prints UTF-8");
        text.lines()
            .filter_map(|line| serde_json::from_str::<serde_json::Value>(line).ok())
            .filter(|message| message["target"]["name"] == "rillmark")
            .find_map(|message| message["executable"].as_str().map(PathBuf::from))
            .expect("cargo names the binary it built")
    })
}

/// A command that runs the binary.
pub fn rillmark() -> Command {
    Command::new(path())
}

/// Everything that a command says on a terminal, in the order in which it is said, and its exit code.
/// It runs in `folder`, and `typed` is what a person types.
///
/// # Panics
/// When it does not run, or says what is not UTF-8.
pub fn said(folder: &Path, arguments: &[&str], typed: &str) -> String {
    let (mut from, to) = std::io::pipe().expect("the system has pipes");
    // The command keeps both ends of its own, so it has to be gone before the pipe can end.
    let mut child = rillmark()
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::piped())
        .stdout(to.try_clone().expect("a second handle"))
        .stderr(to)
        .spawn()
        .expect("the binary runs");
    if let Some(mut keyboard) = child.stdin.take() {
        // A command that asks nothing may have ended already.
        let _ = keyboard.write_all(typed.as_bytes());
    }
    let mut text = String::new();
    from.read_to_string(&mut text).expect("UTF-8");
    let code = child.wait().expect("it ends").code().expect("not by a signal");
    format!("{text}exit {code}\n")
}
