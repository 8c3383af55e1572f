//! The conductance with the cell in air, with the real binary over a real pseudo-terminal.
#![cfg(unix)]

use std::path::Path;

use rillmark_tests::guided::{Operator, calibrate, codes, lines, no_decision, object, run};
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

/// Bench 7 leaks some 0.1 µS.
fn probe(folder: &Path) -> VirtualProcess {
    let link = folder.join("probe");
    let link = link.to_str().expect("a plain path");
    VirtualProcess::start(&["--pty", "--speed", "200", "--link", link, "--seed", "7"])
}

/// What the probe makes of a water of 4 µS/cm at 25 °C once it has come to rest.
fn of_pure_water(probe: &mut VirtualProcess) -> f64 {
    probe.order("sample 6.2 4 25");
    let output = run(probe, &["watch", "--only", "conductivity", "--count", "30"]);
    lines(&output).pop().expect("readings")["conductivity_us_cm"].as_f64().expect("a conductivity")
}

#[test]
fn a_measured_zero_makes_weak_waters_right() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    object(&probe, &["equip", "--cell", "K-1"]);
    let beaker = |name: &str, _: u64| format!("{name} 24");
    let operator = Operator { beaker: &beaker, decide: &no_decision };
    let arguments = ["conductivity", "--standard", "1413"];
    let (said, code) = calibrate(&mut probe, &arguments, &operator);
    assert_eq!(code, 0, "{said:#?}");
    let before = of_pure_water(&mut probe) - 4.0;

    // Forgotten in the water first.
    let beaker = |name: &str, placed: u64| match placed {
        0 => "bath 20".to_owned(),
        _ => format!("{name} 24"),
    };
    let retry = |said: &[Value]| {
        let choices = &said.last().expect("a decision")["choices"];
        match choices.as_array().expect("a list").iter().any(|choice| choice == "leave") {
            true => "continue".to_owned(),
            false => "retry".to_owned(),
        }
    };
    let operator = Operator { beaker: &beaker, decide: &retry };
    let with_zero = [&arguments[..], &["--zero-in-air"]].concat();
    let (said, code) = calibrate(&mut probe, &with_zero, &operator);
    assert_eq!(code, 0, "{said:#?}");
    for code in ["cell-not-dry", "zero-measured"] {
        assert!(codes(&said).contains(&code), "{code}: {:?}", codes(&said));
    }
    let result = said.last().expect("an end")["record"]["result"].clone();
    let zero = result["zero_us"].as_f64().expect("µS");
    assert!((0.05..0.11).contains(&zero), "{zero}");
    assert!(result["standard_uncertainty"]["zero_us"].as_f64() < Some(0.01), "{result}");
    let after = of_pure_water(&mut probe) - 4.0;
    assert!(before > 0.05 && after.abs() < 0.2 * before, "{before} µS/cm became {after}");

    // Kept over a power cut, and taken over by the next calibration.
    probe.order("power-cycle");
    let beaker = |name: &str, _: u64| format!("{name} 24");
    let operator = Operator { beaker: &beaker, decide: &|_| "continue".to_owned() };
    let (said, code) = calibrate(&mut probe, &arguments, &operator);
    assert_eq!(code, 0, "{said:#?}");
    assert!(codes(&said).contains(&"zero-carried-over"), "{:?}", codes(&said));
    assert_eq!(said.last().expect("an end")["record"]["result"]["zero_us"], result["zero_us"]);
}
