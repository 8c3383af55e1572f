//! A probe that goes away while it is calibrated or verified, with the real binary over a real
//! pseudo-terminal.
#![cfg(unix)]

use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::Stdio;

use rillmark::exit::Exit;
use rillmark_tests::binary::rillmark;
use rillmark_tests::guided::object;
use rillmark_tests::virtual_process::VirtualProcess;

/// Runs a routine whose every question is answered with *done*, unplugs the probe while it settles in
/// the `at`-th beaker, and returns the exit code and what was said last.
fn unplugged_at(
    at: usize,
    probe: &mut VirtualProcess,
    answers: &Path,
    arguments: &[&str],
) -> (Option<i32>, String) {
    let mut child = rillmark()
        .args(["--json", "--port", &probe.port])
        .args(arguments)
        .arg("--answers")
        .arg(answers)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    let mut places = 0;
    for line in BufReader::new(child.stdout.take().expect("a pipe")).lines() {
        let value: serde_json::Value = serde_json::from_str(&line.expect("UTF-8")).expect("JSON");
        match value["step"].as_str() {
            Some("place") => {
                let standard = value["standard"].as_str().expect("a name");
                probe.order(&format!("beaker {standard} 20"));
                places += 1;
            }
            Some("settling") if places == at => {
                probe.order("unplug");
                places += 1;
            }
            _ => {}
        }
    }
    let mut said = String::new();
    child.stderr.take().expect("a pipe").read_to_string(&mut said).expect("UTF-8");
    (child.wait().expect("it ends").code(), said.lines().last().unwrap_or_default().to_owned())
}

#[test]
fn a_probe_that_goes_away_midway_is_as_it_was_and_that_is_said() {
    let folder = tempfile::tempdir().expect("a folder");
    let (link, answers) = (folder.path().join("probe"), folder.path().join("answers"));
    std::fs::write(&answers, "done\n".repeat(9)).expect("there is room");
    let link = link.to_str().expect("a plain path");
    let mut probe =
        VirtualProcess::start(&["--pty", "--speed", "100", "--link", link, "--seed", "11"]);
    object(&probe, &["equip", "--electrode", "E-1", "--cell", "K-1", "--thermometer", "T-1"]);
    let before = object(&probe, &["show"])["records"].clone();
    let buffers = ["--standard", "phosphate-1-1,lot=B1", "--standard", "phthalate-1977,lot=B2"];
    for at in [1, 2] {
        let (code, said) =
            unplugged_at(at, &mut probe, &answers, &[&["calibrate", "ph"], &buffers[..]].concat());
        assert_eq!(code, Some(Exit::Port as i32), "{said}");
        assert!(said.contains("Nothing in the probe was changed"), "{said}");
        probe.order("plug");
        assert_eq!(object(&probe, &["show"])["records"], before);
    }
}
