//! The whole job with the real binary over a real pseudo-terminal, the virtual probe in a process
//! of its own: equip, calibrate, show, power cycle, log, replay.
#![cfg(unix)]

use std::path::Path;

use rillmark::exit::Exit;
use rillmark_tests::binary::rillmark;
use rillmark_tests::guided::{Operator, calibrate, codes, lines, no_decision, object, run};
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

fn probe(folder: &Path) -> VirtualProcess {
    let link = folder.join("probe");
    let link = link.to_str().expect("a plain path");
    VirtualProcess::start(&["--pty", "--speed", "200", "--link", link, "--seed", "11"])
}

const PH: [&str; 7] = [
    "ph",
    "--standard",
    "phosphate-1-1,lot=B1,expires=2999-12-31",
    "--standard",
    "phthalate-1977",
    "--standard",
    "borax",
];

#[test]
fn equip_calibrate_power_cycle_log_and_replay_over_a_pseudo_terminal() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    object(&probe, &["equip", "--electrode", "E-1", "--cell", "K-1", "--thermometer", "T-1"]);

    // Bottles a little apart, and the first and the third by less than the 2 K that would be asked about.
    let at =
        |celsius: f64| move |name: &str, n: u64| format!("{name} {}", celsius + 0.8 * n as f64);
    let beaker = at(22.0);
    let operator = Operator { beaker: &beaker, decide: &no_decision };
    let arguments = ["conductivity", "--standard", "1413,lot=C1", "--operator", "Ann"];
    let (said, code) = calibrate(&mut probe, &arguments, &operator);
    assert_eq!(code, 0, "{said:#?}");
    let cell = said.last().expect("an end")["record"].clone();
    // The standard's value is that at the solution's temperature: 1331.2 µS/cm at 22 °C and
    // 26.9 µS/cm per kelvin there (1413 µS/cm times the shape of the CRC table: computed), and the
    // thermometer has a tolerance of 0.3 K.
    let value = cell["points"][0]["value"].as_f64().expect("a number");
    let celsius = cell["points"][0]["temperature_c"].as_f64().expect("a number");
    assert!((celsius - 22.0).abs() < 0.4, "{celsius}");
    assert!((value - (1331.2 + 26.9 * (celsius - 22.0))).abs() < 0.5, "{value} at {celsius}");

    let beaker = at(19.0);
    let operator = Operator { beaker: &beaker, decide: &no_decision };
    let (said, code) = calibrate(&mut probe, &PH, &operator);
    assert_eq!(code, 0, "{said:#?}");
    let ph = said.last().expect("an end")["record"].clone();
    assert_eq!(ph["outcome"], "adjusted");
    assert_eq!(ph["points"].as_array().map(Vec::len), Some(3));
    assert_eq!(ph["points"][0]["lot"], "B1");
    // The bench's electrodes have 96.8 to 99.2 % (see the virtual bench's truth).
    let slope = ph["result"]["slope_percent"].as_f64().expect("a number");
    assert!((96.5..99.5).contains(&slope), "{slope}");

    let before = object(&probe, &["show"]);
    probe.order("power-cycle");
    let after = object(&probe, &["show"]);
    assert_eq!(before["records"].as_array().map(Vec::len), Some(2));
    assert_eq!(before["records"], after["records"]);
    assert_eq!(before["equipment"], after["equipment"]);

    probe.order("sample 7.6 480 18");
    let file = folder.path().join("a.session");
    let file = file.to_str().expect("a plain path");
    object(&probe, &["log", "--every", "0", "--count", "40", "--out", file]);
    let replayed = rillmark().args(["--json", "replay", file]).output().expect("it runs");
    assert!(replayed.status.success());
    let mut replayed = lines(&replayed);
    let summary = replayed.pop().expect("a summary")["summary"].clone();
    assert_eq!(summary["readings"], 40);
    assert_eq!(summary["mismatches"], 0);
    assert_eq!(summary["unresolved"], 0);
    assert_eq!(summary["missing_readings"], 0);
    let last = replayed.last().expect("readings");
    // The sample is pH 7.6 and 480 µS/cm at 25 °C by construction.
    let number = |key: &str| last[key].as_f64().unwrap_or_else(|| panic!("no {key} in {last}"));
    assert!((number("ph") - 7.6).abs() < 0.05, "{last}");
    assert!((number("specific_conductance_us_cm") / 480.0 - 1.0).abs() < 0.01, "{last}");
}

#[test]
fn a_wrong_bottle_is_refused_until_the_right_one_comes_and_a_second_calibration_can_be_left() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    object(&probe, &["equip", "--electrode", "E-1", "--cell", "K-1"]);

    // The second beaker holds borax where the label says phthalate.
    let beaker = |name: &str, n: u64| match n {
        1 => "borax 20".to_owned(),
        _ => format!("{name} 20"),
    };
    let decide = |said: &[Value]| {
        let last = said.last().expect("a decision");
        let choices: Vec<_> = last["choices"].as_array().expect("a list").iter().collect();
        assert!(!choices.iter().any(|choice| *choice == "override"), "a refusal has no override");
        "retry".to_owned()
    };
    let (said, code) = calibrate(&mut probe, &PH, &Operator { beaker: &beaker, decide: &decide });
    assert_eq!(code, 0, "{said:#?}");
    assert!(codes(&said).contains(&"looks-like-other-buffer"), "{:?}", codes(&said));

    let first = object(&probe, &["show"])["records"].clone();
    let beaker = |name: &str, _: u64| format!("{name} 21");
    let leave = |_: &[Value]| "leave".to_owned();
    let (said, code) = calibrate(&mut probe, &PH, &Operator { beaker: &beaker, decide: &leave });
    assert_eq!(code, 0, "{said:#?}");
    assert!(codes(&said).contains(&"ph-as-found-within-tolerance"), "{:?}", codes(&said));
    let record = &said.last().expect("an end")["record"];
    assert_eq!(record["outcome"], "left-unadjusted");
    assert_eq!(record["result"], first[0]["result"], "bit for bit");
    assert_eq!(record["previous"], first[0]["short"]);
    assert!(record["points"][0]["as_found"].is_number());
}

#[test]
fn a_refused_or_cancelled_attempt_leaves_the_store_untouched() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    let beaker = |name: &str, _: u64| format!("{name} 20");
    let decide = |_: &[Value]| "cancel".to_owned();
    let operator = Operator { beaker: &beaker, decide: &decide };

    let (_, code) = calibrate(&mut probe, &PH, &operator);
    assert_eq!(code, Exit::Refused as i32, "nobody said which electrode is fitted");
    object(&probe, &["equip", "--electrode", "E-1"]);
    let before = object(&probe, &["show"])["records"].clone();

    let single = ["ph", "--standard", "borax"];
    let (said, code) = calibrate(&mut probe, &single, &operator);
    assert_eq!((code, codes(&said).contains(&"single-point")), (Exit::Cancelled as i32, true));

    let wrong = |_: &str, _: u64| "borax 20".to_owned();
    let wrong = Operator { beaker: &wrong, decide: &decide };
    let (_, code) = calibrate(&mut probe, &PH, &wrong);
    assert_eq!(code, Exit::Cancelled as i32);

    probe.order("fault thermometer-open");
    let (said, code) = calibrate(&mut probe, &PH, &operator);
    assert_eq!(code, Exit::Cancelled as i32);
    assert!(codes(&said).contains(&"reading-flagged"), "{:?}", codes(&said));
    // A refusal that the script has no answer for is the end of it.
    let script = folder.path().join("answers");
    std::fs::write(&script, "# the first beaker\ndone\n").expect("written");
    let script = ["calibrate", "--answers", script.to_str().expect("a plain path")];
    let output = run(&probe, &[&script[..1], &PH[..], &script[1..]].concat());
    assert_eq!(output.status.code(), Some(Exit::Refused as i32));
    let sentence = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(sentence.contains("the thermometer is open"), "{sentence}");
    assert_eq!(object(&probe, &["show"])["records"], before);
}
