//! The real `rillmark` binary, built once for a test process.

use std::path::PathBuf;
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
