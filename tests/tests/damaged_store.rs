//! One damaged record of a virtual probe: every command goes on, says so, and there is a way back.

use std::fs;
use std::path::Path;
use std::process::Output;

use rillmark_proto::record::codec;
use rillmark_tests::binary::rillmark;
use serde_json::Value;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = rillmark();
    command.args(["--json", "--port", "virtual"]).args(arguments).current_dir(folder);
    command.output().expect("it runs")
}

/// The last line of what a command that ends well prints.
fn said(folder: &Path, arguments: &[&str]) -> Value {
    let output = run(folder, arguments);
    let error = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{arguments:?}: {error}");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    serde_json::from_str(text.lines().last().expect("a line")).expect("JSON")
}

const CALIBRATE: [&str; 5] =
    ["calibrate", "ph", "--standard", "phosphate-1-1,at=21", "--standard=phthalate-1977,at=21"];

/// The second time there is something as found, and a question.
fn calibrate_again(folder: &Path) {
    fs::write(folder.join("answers"), "done\ndone\ncontinue\n").expect("written");
    said(folder, &[&CALIBRATE[..], &["--answers", "answers"]].concat());
}

/// A probe with two calibrations of its electrode, the first of which is exported.
fn probe(folder: &Path) -> (String, Vec<u8>) {
    let one = probe_with_one(folder);
    calibrate_again(folder);
    one
}

/// The same with the first of them alone.
fn probe_with_one(folder: &Path) -> (String, Vec<u8>) {
    said(folder, &["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    let first = said(folder, &CALIBRATE)["id"].as_str().expect("an identity").to_owned();
    said(folder, &["show", "--record", &first, "--export", "first.record"]);
    (first, fs::read(folder.join("first.record")).expect("exported"))
}

/// Turns a bit of a record wherever it lies in the flash.
fn damage(folder: &Path, record: &[u8]) {
    let path = folder.join("virtual-probe.flash");
    let mut flash = fs::read(&path).expect("it is there");
    let begin = flash.windows(record.len()).position(|window| window == record).expect("kept");
    flash[begin + record.len() / 2] ^= 0x10;
    fs::write(&path, flash).expect("written");
}

fn in_force(show: &Value) -> Vec<&str> {
    let records = show["records"].as_array().expect("records").iter();
    records.filter(|it| it["in_force"] == true).filter_map(|it| it["id"].as_str()).collect()
}

#[test]
fn a_damaged_record_is_listed_every_command_goes_on_and_it_is_kept_again_from_a_copy() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let (first, bytes) = probe(folder);
    let healthy = said(folder, &["show"]);
    damage(folder, &bytes);

    let show = said(folder, &["show"]);
    let records = show["records"].as_array().expect("records");
    let damaged: Vec<_> = records.iter().filter(|it| it["damaged"] == true).collect();
    assert_eq!((records.len(), damaged.len()), (2, 1));
    assert_eq!(damaged[0]["id"], Value::from(first.clone()));
    assert_eq!(in_force(&show), in_force(&healthy), "the newest stays in force");
    said(folder, &["watch", "--count", "2"]);
    said(folder, &["recognise", "ph", "--beaker", "phosphate-1-1"]);
    said(folder, &["equip"]);
    said(folder, &["stir-check"]);
    let diagnosed = run(folder, &["diagnose"]);
    let text = String::from_utf8_lossy(&diagnosed.stdout).into_owned();
    assert!(text.contains("not-given") && text.contains(&first[..8]), "{text}");
    let verified =
        run(folder, &["verify", "ph", "--standard", "phosphate-1-3.5,at=21", "--profile", "field"]);
    assert!(matches!(verified.status.code(), Some(0 | 10 | 11)), "{verified:?}");
    let logged = said(folder, &["log", "--out", "a.session", "--every", "5", "--count", "3"]);
    assert_eq!(logged["store_fault_readings"], 3);
    let replayed = said(folder, &["replay", "a.session"]);
    let summary = &replayed["summary"];
    assert_eq!(summary["store_fault_readings"], 3);
    assert!(summary["notes"].to_string().contains("is damaged"), "{summary}");

    // The way back: a copy first, never over another file; then the record once more.
    let copied = said(folder, &["show", "--image", "before.store"]);
    let image = fs::read(folder.join("before.store")).expect("copied");
    assert_eq!(copied["bytes"], image.len());
    assert!(fs::read(folder.join("virtual-probe.flash")).expect("there").len() >= image.len());
    let again = run(folder, &["show", "--image", "before.store"]);
    assert_eq!(again.status.code(), Some(rillmark::exit::Exit::Storage as i32));
    let kept = said(folder, &["keep", "first.record"]);
    assert_eq!(kept["kept"], Value::from(vec![first.clone()]));
    let show = said(folder, &["show"]);
    assert_eq!(in_force(&show), in_force(&healthy), "an older one does not come into force");
    assert!(show["records"].as_array().expect("records").iter().all(|it| it["damaged"] == false));
    let logged = said(folder, &["log", "--out", "b.session", "--every", "5", "--count", "2"]);
    assert_eq!(logged["store_fault_readings"], 0);
    calibrate_again(folder);

    // Two others are kept by now, and whatever becomes of it, it does not come into force.
    let before = said(folder, &["show"]);
    said(folder, &["keep", "first.record"]);
    assert_eq!(in_force(&said(folder, &["show"])), in_force(&before));
}

/// It is not taken for a sensor that was never calibrated: the way back is said, and nothing of equipping.
#[test]
fn a_damaged_calibration_in_force_is_told_with_the_way_back() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let (_, bytes) = probe_with_one(folder);
    damage(folder, &bytes);
    let people = |arguments: &[&str]| {
        let mut command = rillmark();
        command.args(["--port", "virtual"]).args(arguments).current_dir(folder);
        let output = command.output().expect("it runs");
        let text = [output.stdout, output.stderr].concat();
        (output.status.code(), String::from_utf8(text).expect("UTF-8"))
    };
    let verify = ["verify", "ph", "--standard", "phosphate-1-3.5,at=21", "--profile", "field"];
    let log = ["log", "--out", "a.session", "--every", "5", "--count", "2"];
    for (arguments, code) in [
        (&["show"][..], 0),
        (&["watch", "--count", "2"], 0),
        (&log, 0),
        (&verify, 6),
        (&["show", "--budget=-25,21"], 6),
    ] {
        let (ended, text) = people(arguments);
        assert_eq!(ended, Some(code), "{arguments:?}: {text}");
        let is_said = text.contains("rillmark keep FILE") && !text.contains("rillmark equip");
        assert!(is_said, "{arguments:?}: {text}");
    }
}

#[test]
fn a_refused_store_is_copied_and_an_erased_one_gets_its_records_from_a_session() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    probe(folder);
    let cell = said(folder, &["calibrate", "conductivity", "--standard", "1413,at=22"]);
    let healthy = said(folder, &["show"]);
    said(folder, &["log", "--out", "a.session", "--every", "5", "--count", "2"]);
    let path = folder.join("virtual-probe.flash");
    let foreign = vec![0x5a; fs::read(&path).expect("it is there").len()];
    fs::write(&path, &foreign).expect("written");
    let refused = run(folder, &["show"]);
    assert_eq!(refused.status.code(), Some(rillmark::exit::Exit::Refused as i32));
    let why = String::from_utf8_lossy(&refused.stderr).into_owned();
    assert!(why.contains("show --image"), "{why}");
    said(folder, &["show", "--image", "before.store"]);
    let image = fs::read(folder.join("before.store")).expect("copied");
    assert!(!image.is_empty() && image.iter().all(|byte| *byte == 0x5a));

    fs::remove_file(&path).expect("erased");
    let nothing_fitted = run(folder, &["keep", "a.session"]);
    assert_eq!(nothing_fitted.status.code(), Some(rillmark::exit::Exit::Refused as i32));
    // Another cell is fitted by now: all the others come back, and which did not is said.
    said(folder, &["equip", "--electrode", "E-17", "--cell", "K-9", "--thermometer", "T-2"]);
    let kept = said(folder, &["keep", "a.session"]);
    assert_eq!(kept["not_fitted"], Value::from(vec![cell["id"].clone()]));
    assert_eq!(kept["in_force"].as_array().map(Vec::len), Some(1));
    said(folder, &["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    said(folder, &["keep", "a.session"]);
    let show = said(folder, &["show"]);
    assert_eq!(in_force(&show), in_force(&healthy));
    assert_eq!(said(folder, &["keep", "a.session"])["kept"], Value::from(Vec::<Value>::new()));
    let unread = fs::read(folder.join("a.session")).expect("there");
    assert!(codec::decode(&unread).is_err(), "a session is no record");
}
