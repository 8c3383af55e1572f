//! The campaign can fail: what is spoilt before it is judged is found, of every kind.
#![cfg(unix)]

use std::path::Path;
use std::process::{Command, Output};

use rillmark_tests::binary;

fn attack(into: &Path, arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_rillmark-attack"))
        .arg("--binary")
        .arg(binary::path())
        .arg("--into")
        .arg(into)
        .args(arguments)
        .output()
        .expect("the campaign runs")
}

/// Every fault that can be planted, with its kind.
fn plants() -> Vec<(String, String)> {
    let output = attack(Path::new("."), &["--kinds"]);
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let mut plants = Vec::new();
    for line in text.lines() {
        let (kind, faults) = line.split_once(' ').expect("a kind, and what can be planted in it");
        let before = plants.len();
        plants.extend(faults.split(' ').map(|fault| (kind.to_owned(), fault.to_owned())));
        assert!(plants.len() > before && !faults.is_empty(), "{line}");
    }
    plants
}

#[test]
fn every_planted_fault_is_found_and_kept_with_its_command() {
    let plants = plants();
    assert!(plants.len() >= 25, "{plants:?}");
    for (kind, fault) in &plants {
        let folder = tempfile::tempdir().expect("a folder");
        let arguments = ["--seed", "1", "--minutes", "0.05", "--only", kind, "--plant", fault];
        let output = attack(folder.path(), &arguments);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(1), "{kind} {fault}: {said}");
        let again = format!("bash tests/campaign --repeat {kind} ");
        assert!(said.contains(&again), "{kind} {fault}: {said}");
        let mut kept = std::fs::read_dir(folder.path()).expect("it is there").flatten();
        let case = kept.next().expect("a case is kept").path();
        let found = std::fs::read_to_string(case.join("what-was-found.txt")).expect("written");
        assert!(found.starts_with(&again), "{found}");
    }
}

#[test]
fn a_kind_that_tries_nothing_is_a_failure() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut nothing = Command::new(env!("CARGO_BIN_EXE_rillmark-attack"));
    nothing.args(["--binary", "/bin/true", "--minutes", "0.001", "--only", "kill-calibrating"]);
    let output = nothing.arg("--into").arg(folder.path()).output().expect("it runs");
    assert_eq!(output.status.code(), Some(1), "a program that is none is not judged as good");
}
