//! The whole job with the real binary and the board's own image: emulated processor, USB and a
//! pseudo-terminal between the two, the virtual bench's chips and water on its pins.
#![cfg(unix)]

use rillmark_tests::binary::rillmark;
use rillmark_tests::emulated_board::EmulatedBoard;
use rillmark_tests::guided::{Operator, calibrate, lines, no_decision, object};
use serde_json::Value;

const READINGS: u64 = 200;

#[test]
fn equip_calibrate_power_cycle_log_and_replay_on_the_boards_own_image() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut board = EmulatedBoard::start(11);
    let probe = &mut board.probe;

    let listed = object(probe, &["probes"]);
    let ports = listed["ports"].as_array().expect("a list");
    let found = ports.iter().find(|port| port["port"] == probe.port.as_str()).expect("ours");
    // The flash chip's unique number, which the emulator gives it.
    assert_eq!(found["board"], "e660583883123456", "{listed}");
    object(probe, &["equip", "--electrode", "E-1", "--cell", "K-1", "--thermometer", "T-1"]);

    let beaker = |name: &str, n: u64| format!("{name} {}", 22 + n);
    let operator = Operator { beaker: &beaker, decide: &no_decision };
    let (said, code) = calibrate(probe, &["conductivity", "--standard", "1413"], &operator);
    assert_eq!(code, 0, "{said:#?}");

    let standards = ["phosphate-1-1", "phthalate-1977", "borax"];
    let mut arguments = vec!["ph"];
    arguments.extend(standards.iter().flat_map(|name| ["--standard", name]));
    let beaker = |name: &str, n: u64| format!("{name} {:.1}", 19.0 + 0.9 * n as f64);
    let operator = Operator { beaker: &beaker, decide: &no_decision };
    let (said, code) = calibrate(probe, &arguments, &operator);
    assert_eq!(code, 0, "{said:#?}");
    let record = &said.last().expect("an end")["record"];
    assert_eq!(record["points"].as_array().map(Vec::len), Some(3));

    let before = object(probe, &["show"]);
    assert_eq!(probe.order("power-cycle")["ok"], true);
    let after = object(probe, &["show"]);
    assert_eq!(before["records"].as_array().map(Vec::len), Some(2));
    assert_eq!(before["records"], after["records"]);
    assert_eq!(before["equipment"], after["equipment"]);

    probe.order("sample 7.6 480 18");
    let file = folder.path().join("a.session");
    let file = file.to_str().expect("a plain path");
    let count = READINGS.to_string();
    object(probe, &["log", "--every", "0", "--count", &count, "--out", file]);
    let replayed = rillmark().args(["--json", "replay", file]).output().expect("it runs");
    assert!(replayed.status.success());
    let mut replayed = lines(&replayed);
    let summary = replayed.pop().expect("a summary")["summary"].clone();
    assert_eq!(summary["readings"], READINGS);
    for nothing in ["mismatches", "unresolved", "missing_readings"] {
        assert_eq!(summary[nothing], 0, "{summary}");
    }
    let last = replayed.last().expect("readings");
    // The sample is pH 7.6 and 480 µS/cm at 25 °C by construction.
    let number = |key: &str| last[key].as_f64().unwrap_or_else(|| panic!("no {key} in {last}"));
    assert!((number("ph") - 7.6).abs() < 0.05, "{last}");
    assert!((number("specific_conductance_us_cm") / 480.0 - 1.0).abs() < 0.01, "{last}");

    let status = probe.order("status");
    assert_eq!(status["resets"], Value::Array(vec![]), "{status}");
    assert_eq!(status["faults"], Value::Array(vec![]), "{status}");
    assert_eq!(status["warnings"], Value::Array(vec![]), "the emulator misses something: {status}");
}
