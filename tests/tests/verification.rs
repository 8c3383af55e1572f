//! Verifications with the real binary over a real pseudo-terminal: what happens to a probe between
//! two calibrations, and what the probe keeps of it.
#![cfg(unix)]

use std::path::Path;

use rillmark::exit::Exit;
use rillmark_tests::binary::rillmark;
use rillmark_tests::guided::converse;
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

fn probe(folder: &Path) -> VirtualProcess {
    let link = folder.join("probe");
    let link = link.to_str().expect("a plain path");
    VirtualProcess::start(&["--pty", "--speed", "200", "--link", link, "--seed", "11"])
}

/// What the bench holds for a standard: bottles at 20 °C, and baths for thermometers.
fn beaker(standard: &str) -> String {
    match standard {
        "reference" => "bath 20".to_owned(),
        "ice-point" => "bath 0".to_owned(),
        bottle => format!("{bottle} 20"),
    }
}

/// Runs a command to its end, moves the probe into the beakers that it asks for, and leaves what is
/// within tolerance as it is; all that it said, and its exit code.
fn run(probe: &mut VirtualProcess, arguments: &[&str]) -> (Vec<Value>, i32) {
    converse(&probe.port.clone(), arguments, |said| {
        let value = said.last()?;
        match value["step"].as_str()? {
            "place" => {
                let standard = value["standard"].as_str().expect("a name");
                probe.order(&format!("beaker {}", beaker(standard)));
                Some("done".to_owned())
            }
            "decide" => Some("leave".to_owned()),
            _ => None,
        }
    })
}

fn done(probe: &mut VirtualProcess, arguments: &[&str]) -> Value {
    let (said, code) = run(probe, arguments);
    assert_eq!(code, 0, "{said:#?}");
    said.last().expect("an end").clone()
}

/// A fresh portion whose label says ±0.02: one of which nobody says so is too poorly known to fail what is
/// 0.2 pH off by a limit of 0.1.
const CHECK: [&str; 4] = ["verify", "ph", "--standard", "borax,lot=D1,single-use,tolerance=0.02"];

/// An electrode calibrated in two buffers, of lots B1 and B2.
fn calibrated(probe: &mut VirtualProcess) -> Value {
    done(probe, &["equip", "--electrode", "E-1", "--cell", "K-1", "--thermometer", "T-1"]);
    let buffers = ["--standard", "phosphate-1-1,lot=B1", "--standard", "phthalate-1977,lot=B2"];
    done(probe, &[&["calibrate", "ph"], &buffers[..]].concat())
}

#[test]
fn a_healthy_electrode_passes_until_it_has_aged() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    let calibration = calibrated(&mut probe);
    let passed = done(&mut probe, &CHECK);
    let record = &passed["record"];
    assert_eq!((&record["kind"], &record["verdict"]), (&"verification".into(), &"pass".into()));
    assert_eq!(record["independence"], "independent");
    assert_eq!(record["calibration"], calibration["id"].as_str().expect("an id")[..8]);

    // The slope falls by 15 % at full severity (see the virtual bench's wear): 9 % are 0.2 pH over
    // the 2.2 pH from pH 7 to borax, and its own limit is ±0.1.
    probe.order("fault ageing-glass 0.6");
    let (said, code) = run(&mut probe, &[&CHECK[..], &["--profile", "daily"]].concat());
    assert_eq!(code, Exit::Fails as i32, "{said:#?}");
    let failed = &said.last().expect("an end")["record"];
    assert_eq!(failed["verdict"], "fail");
    let difference = failed["difference"].as_f64().expect("a number");
    assert!((-0.35..-0.1).contains(&difference), "{difference}");

    // What the probe keeps survives the loss of its power, and nothing but the calibration is in
    // force.
    let before = done(&mut probe, &["show"])["records"].clone();
    probe.order("power-cycle");
    let after = done(&mut probe, &["show"])["records"].clone();
    assert_eq!(before, after);
    let kept: Vec<_> = after.as_array().expect("a list").iter().collect();
    let kinds: Vec<_> = kept.iter().map(|record| (&record["kind"], &record["in_force"])).collect();
    let (calibration, verification) = (Value::from("calibration"), Value::from("verification"));
    let (yes, no) = (Value::from(true), Value::from(false));
    assert_eq!(kinds, [(&calibration, &yes), (&verification, &no), (&verification, &no)]);
    assert_eq!(kept[1]["id"], passed["id"]);

    // The last two of them are kept, and a session carries those of the calibration in force.
    let (third, _) = run(&mut probe, &CHECK);
    let kept = done(&mut probe, &["show"])["records"].clone();
    assert_eq!(kept.as_array().map(Vec::len), Some(3));
    let third = third.last().expect("an end");
    assert_eq!(kept[2]["id"], third["id"]);
    assert_eq!(
        third["no_longer_kept"],
        Value::from(vec![passed["id"].clone()]),
        "and that is said"
    );
    let file = folder.path().join("a.session");
    let file = file.to_str().expect("a plain path");
    done(&mut probe, &["log", "--every", "0", "--count", "5", "--out", file]);
    let replayed = rillmark().args(["--json", "replay", file]).output().expect("it runs");
    assert!(replayed.status.success());
    let text = String::from_utf8(replayed.stdout).expect("UTF-8");
    let summary: Value =
        serde_json::from_str(text.lines().last().expect("a summary")).expect("JSON");
    assert_eq!(summary["summary"]["mismatches"], 0);
    let held = summary["summary"]["records"].as_array().expect("a list");
    let count = |kind: &str| held.iter().filter(|record| record["kind"] == kind).count();
    assert_eq!((count("calibration"), count("verification")), (1, 2));
}

#[test]
fn the_calibrations_own_bottle_is_told_apart_also_after_it_was_found_in_order() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    calibrated(&mut probe);
    let verify = |probe: &mut VirtualProcess, standard: &str| {
        let finished = done(probe, &["verify", "ph", "--standard", standard]);
        assert_eq!(finished["record"]["verdict"], "pass");
        finished["record"]["independence"].as_str().expect("a name").to_owned()
    };
    assert_eq!(verify(&mut probe, "phosphate-1-1,lot=B1"), "same-lot");
    assert_eq!(verify(&mut probe, "phosphate-1-1,lot=B9"), "independent");
    assert_eq!(verify(&mut probe, "phosphate-1-1"), "lot-unknown");

    // Found within tolerance in another bottle and left: the coefficients still rest on the first
    // ones.
    let buffers = ["--standard", "borax,lot=B3", "--standard", "phthalate-1977,lot=B4"];
    let left = done(&mut probe, &[&["calibrate", "ph"], &buffers[..]].concat());
    assert_eq!(left["record"]["outcome"], "left-unadjusted");
    assert_eq!(verify(&mut probe, "phosphate-1-1,lot=B1"), "same-lot");
    assert_eq!(verify(&mut probe, "borax,lot=B3"), "same-lot");
    assert_eq!(verify(&mut probe, "carbonate"), "independent");
}

#[test]
fn a_thermometer_is_verified_also_far_from_where_it_was_calibrated() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut probe = probe(folder.path());
    done(&mut probe, &["equip", "--thermometer", "T-1"]);
    let reference = |lot: &str| format!("reference=20,u=0.03,lot={lot}");
    let (calibrated, check) = (reference("R-7"), reference("R-8"));
    done(&mut probe, &["calibrate", "temperature", "--standard", &calibrated]);
    let passed = done(&mut probe, &["verify", "temperature", "--standard", &check]);
    let record = &passed["record"];
    assert_eq!(record["verdict"], "pass");
    assert_eq!(record["independence"], "independent");
    // Whatever the gain that nobody measured makes of 0 °C is judged and no part of U: 2·√(0.05² + 0.056²) K
    // of the ice and the front end.
    let passed = done(&mut probe, &["verify", "temperature", "--standard", "ice"]);
    let record = &passed["record"];
    assert_eq!(record["verdict"], "pass");
    let expanded = record["expanded_uncertainty"].as_f64().expect("a number");
    assert!((expanded - 0.151).abs() < 0.005, "{expanded}");
    assert_eq!(
        (&record["point"]["value"], &record["independence"]),
        (&0.0.into(), &"independent".into())
    );

    // A tenth of the 5 K that the fault adds at most (see the virtual bench's wear).
    probe.order("fault thermometer-offset 0.1");
    let (said, code) = run(&mut probe, &["verify", "temperature", "--standard", &calibrated]);
    assert_eq!(code, Exit::Fails as i32, "{said:#?}");
    let record = &said.last().expect("an end")["record"];
    let difference = record["difference"].as_f64().expect("a number");
    assert!((difference.abs() - 0.5).abs() < 0.05, "{difference}");
    assert_eq!(record["independence"], "same-lot");
}
