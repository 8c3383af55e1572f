//! What the program says when ngspice is missing or gives nothing.

use std::process::Command;

fn says(ngspice: &str) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_rillmark-circuit"))
        .env("NGSPICE", ngspice)
        .output()
        .expect("the program runs");
    assert!(!output.status.success());
    assert!(output.stdout.is_empty(), "no half a page");
    String::from_utf8(output.stderr).expect("UTF-8")
}

#[test]
fn it_says_what_to_install() {
    let said = says("no-such-program");
    assert!(said.starts_with("ngspice is not installed"), "{said}");
    assert!(said.contains("apt-get install"), "{said}");
}

/// `true` does nothing and is content, as ngspice is after a command that failed.
#[cfg(unix)]
#[test]
fn nothing_written_is_a_failure() {
    let said = says("true");
    assert!(said.starts_with("ngspice could not simulate the deck cell"), "{said}");
}
