//! A board that somebody built, checked with the real binary: on the bench that connects by itself, and by
//! hand.

use std::fs;
use std::path::Path;
use std::process::Stdio;

use rillmark_tests::binary::{rillmark, said};
use rillmark_tests::guided::converse;
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

/// What the command says on the bench, in a new folder.
fn text(arguments: &[&str]) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    said(folder.path(), &[&["--port", "virtual", "check-board"], arguments].concat(), "")
}

/// The object at the end of a check on the bench, and its exit code.
fn finished(folder: &Path, arguments: &[&str]) -> (Value, i32) {
    let output = rillmark()
        .args(["--json", "--port", "virtual", "check-board"])
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .expect("the binary runs");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let last = text.lines().last().expect("an object at least");
    (serde_json::from_str(last).expect("JSON"), output.status.code().expect("not by a signal"))
}

/// Causes that were named, each with its parts.
fn named(found: &Value) -> Vec<String> {
    let causes = found["causes"].as_array().expect("a list");
    let of = |cause: &Value| {
        let parts = cause["parts"].as_array().expect("a list");
        let parts = parts.iter().map(|part| format!(" {}", part.as_str().expect("a name")));
        cause["cause"].as_str().expect("a name").to_owned() + &parts.collect::<String>()
    };
    causes.iter().map(of).collect()
}

#[test]
fn a_sound_board_passes() {
    insta::assert_snapshot!(text(&[]));
}

#[test]
fn a_leak_at_the_guard_shows_behind_a_high_resistance() {
    insta::assert_snapshot!(text(&["--practise", "guard-joint"]));
}

#[test]
fn swapped_resistors_are_named() {
    insta::assert_snapshot!(text(&["--practise", "resistors-swapped"]));
}

#[test]
fn without_its_converter_nothing_more_is_measured() {
    insta::assert_snapshot!(text(&["--practise", "converter-address"]));
}

#[test]
fn what_was_skipped_is_not_passed() {
    let folder = tempfile::tempdir().expect("a folder");
    let answers = folder.path().join("answers");
    let done = "done\n".repeat(7);
    fs::write(&answers, format!("# no large resistor here\ndone\nskip\n{done}")).expect("a file");
    let file = answers.to_str().expect("UTF-8");
    let all = said(folder.path(), &["--port", "virtual", "check-board", "--answers", file], "");
    let end = all.find("\nCANNOT TELL").expect("it says so");
    insta::assert_snapshot!(&all[end + 1..]);
    for (script, part) in [
        ("skip\n".repeat(9), "line 1 of the answers"),
        // The bench connects by itself, and has no answers of its own.
        ("done\n".repeat(8), "answers 8 of 9 steps"),
        ("done\n".repeat(10), "line 10 of the answers is one too many"),
    ] {
        fs::write(&answers, script).expect("a file");
        let all = said(folder.path(), &["--port", "virtual", "check-board", "--answers", file], "");
        assert!(all.contains(part) && all.ends_with("exit 3\n"), "{all}");
    }
}

/// Each mistake with the cause that has to be named, alone or among those that look the same.
#[test]
fn mistakes_are_named() {
    for (mistake, cause, verdict) in [
        ("converter-address", "converter", "fail"),
        ("clock-missing", "clock-chip", "fail"),
        ("supply-switch", "supply", "fail"),
        ("drive-open", "drive", "fail"),
        ("gates-swapped", "drive", "fail"),
        ("mid-missing", "mid", "fail"),
        ("filter-joint", "input-dead", "fail"),
        ("return-open", "return", "fail"),
        ("resistors-swapped", "swapped R8 R9", "fail"),
        ("resistor-wrong", "resistor R10", "fail"),
        ("reference-missing", "resistor R11", "fail"),
        ("reference-wrong", "resistor R11", "fail"),
        ("range-low", "range-line", "fail"),
        ("taps-swapped", "tap-lines", "fail"),
        ("inputs-swapped", "input-reversed", "fail"),
        ("reference-open", "input-open", "fail"),
        ("guard-joint", "leak", "fail"),
        ("wrong-amplifier", "leak", "fail"),
        ("cell-joint", "series", "fail"),
        ("reference-at-mid", "reference-path", "fail"),
    ] {
        let folder = tempfile::tempdir().expect("a folder");
        let (found, exit) = finished(folder.path(), &["--practise", mistake]);
        let named = named(&found);
        assert!(named.iter().any(|name| name == cause), "{mistake}: {named:?}");
        assert!(named.len() <= 3, "{mistake}: {named:?}");
        assert_eq!((&found["verdict"], exit), (&verdict.into(), 10), "{mistake}");
    }
}

#[test]
fn what_cannot_be_used_is_one_sentence() {
    let of = |arguments: &[&str]| text(arguments);
    let all = [
        of(&["--practise", "gremlins"]),
        of(&["--tolerance", "50"]),
        of(&["--load", "47k=46.8k"]),
        of(&["--load", "10k=99k"]),
        of(&["--source", "1500"]),
        of(&["--answers", "not-there"]),
    ];
    insta::assert_snapshot!(all.concat());
}

#[test]
fn a_person_is_asked_and_may_cancel() {
    let bench = VirtualProcess::start(&["--tcp", "127.0.0.1:0"]);
    let folder = tempfile::tempdir().expect("a folder");
    let arguments = ["--port", &bench.port, "check-board", "--practise", "guard-joint"];
    assert!(said(folder.path(), &arguments, "").contains("--practise is for the virtual bench"));
    insta::assert_snapshot!(said(
        folder.path(),
        &["--port", &bench.port, "check-board"],
        "what?\nskip\ncancel\n"
    ));
}

/// Checks a board by hand: whatever is asked for is connected at the bench, the 10 kΩ one being 9.7 kΩ
/// in truth.
fn by_hand(arguments: &[&str]) -> (Value, i32) {
    let mut bench = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "500"]);
    let arguments = [&["check-board"], arguments].concat();
    let (said, exit) = converse(&bench.port.clone(), &arguments, |said| {
        let asked = said.last().filter(|value| value["step"] == "connect")?;
        let mut order = format!(
            "connect thermometer={} ph={},{}",
            asked["thermometer_ohm"], asked["source_mv"], asked["source_ohm"]
        );
        if asked["joined"] == true {
            order += " joined";
        }
        if let Some(ohm) = asked["cell_ohm"].as_f64() {
            let is = if (9e3..11e3).contains(&ohm) { 9_700.0 } else { ohm };
            order.push_str(&format!(" cell={is}"));
        }
        bench.order(&order);
        assert_eq!(bench.order("status")["connected"]["source_mv"], asked["source_mv"]);
        Some("done".to_owned())
    });
    (said.last().expect("an end").clone(), exit)
}

/// 3 % less than its marking is more than 1 % allows; what a meter says of it is allowed.
#[test]
fn a_load_may_be_what_a_meter_says() {
    let (found, exit) = by_hand(&[]);
    assert_eq!((named(&found), exit), (vec!["range-off R9".to_owned()], 10), "{found}");
    let (found, exit) = by_hand(&["--load", "10k=9.69k,0.3%"]);
    assert_eq!((&found["verdict"], exit), (&"pass".into(), 0), "{found}");
    let row = |row: &Value| row["quantity"] == "cell" && row["expected"] == 9_690.0;
    assert!(found["rows"].as_array().expect("a list").iter().any(row), "{found}");
}
