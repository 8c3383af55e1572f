//! What is said about bottles and beakers, as a person reads it: a bottle's own file, old bottles, a
//! wrong one, and which standard the probe stands in. The bench is deterministic; look at a change with
//! care before accepting it (`INSTA_UPDATE=always cargo test -p rillmark-tests --test standards_text`).

use std::fs;
use std::path::Path;

use rillmark_tests::binary::said;

/// A command on a bench of its own in `folder`, and what is typed. How a reading comes to rest and what
/// is fitted are shown elsewhere.
fn text(folder: &Path, arguments: &[&str], typed: &str) -> String {
    const ELSEWHERE: [&str; 5] = ["  settle", "  check", "electrode E-17:", "cell K-3:", "Kept by"];
    let whole = said(folder, &[&["--port", "virtual"], arguments].concat(), typed);
    let kept = |line: &&str| !ELSEWHERE.iter().any(|beginning| line.starts_with(beginning));
    whole.lines().filter(kept).map(|line| format!("{}\n", without_identity(line))).collect()
}

/// A line without the short form of a record, which changes with every digit of it.
fn without_identity(line: &str) -> String {
    match line.split_once("with calibration ") {
        Some((before, after)) => {
            let rest = after.split_once(',').map_or("", |(_, rest)| rest);
            format!("{before}with calibration ...,{rest}")
        }
        None => line.to_owned(),
    }
}

fn equipped() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    text(folder.path(), &["equip", "--electrode", "E-17", "--cell", "K-3"], "");
    folder
}

/// The bench's invented day is 2027-05-03.
const BOTTLE: &str = r#"quantity = "ph"
name = "our 10"
values = [[20, 10.06], [25, 10.01], [30, 9.97]]
expanded-uncertainty = 0.02
coverage-factor = 2
basis = "label"
lot = "10C-7"
expires = 2028-03-31
opened = 2027-03-01
"#;

#[test]
fn a_bottle_of_its_own_that_has_been_open_for_long_is_kept_with_its_reason() {
    let folder = equipped();
    fs::write(folder.path().join("ours.toml"), BOTTLE).expect("written");
    let calibrate = [
        "calibrate",
        "ph",
        "--standard",
        "technical-7.00,opened=2027-05-01",
        "--standard",
        "technical-4.01,single-use,opened=2027-05-02",
        "--standard",
        "ours.toml,beaker=10.01",
    ];
    let made = text(folder.path(), &calibrate, "override no other bottle here\ncontinue\n");
    let shown = said(folder.path(), &["--json", "--port", "virtual", "show"], "");
    let line = shown.lines().next().expect("a probe");
    let probe: serde_json::Value = serde_json::from_str(line).expect("JSON");
    let short = probe["records"][0]["short"].as_str().expect("a record");
    let record = text(folder.path(), &["show", "--record", short], "");
    // What was overridden, and the points with their bottles.
    let bottles = |line: &&str| line.starts_with("overridden") || line.contains("  label  ");
    let bottles: Vec<_> = record.lines().filter(bottles).collect();
    insta::assert_snapshot!(format!("{made}\n--- the record ---\n{}", bottles.join("\n")));
    // A limit of one's own, on the command line or in the file.
    let patient = [&calibrate[..], &["--opened-limit", "100"]].concat();
    let said = text(folder.path(), &patient, "cancel\n");
    assert!(!said.contains("was opened 63 days ago"), "{said}");
    assert!(said.contains("single use"), "{said}");
}

#[test]
fn a_file_that_cannot_be_used_is_one_sentence_with_its_line() {
    let folder = equipped();
    let file = BOTTLE.replace("coverage-factor = 2\n", "");
    fs::write(folder.path().join("ours.toml"), file).expect("written");
    let said = text(folder.path(), &["calibrate", "ph", "--standard", "ours.toml"], "");
    insta::assert_snapshot!(said);
}

#[test]
fn a_wrong_bottle_is_refused_by_the_name_of_what_it_looks_like() {
    let folder = equipped();
    let ph = [
        "calibrate",
        "ph",
        "--standard",
        "7.00,beaker=4.01/7.00",
        "--standard",
        "4.01",
        "--standard",
        "borax",
    ];
    let first = text(folder.path(), &ph, "retry\n");
    // With that calibration a buffer that is not in the plan is told from borax, 0.8 pH away.
    let again = ["calibrate", "ph", "--standard", "7.00", "--standard", "borax,beaker=10.01"];
    let second = text(folder.path(), &again, "cancel\n");
    let cell = [
        "calibrate",
        "conductivity",
        "--standard",
        "1413,beaker=12880/1413",
        "--nominal-cell-constant",
        "1",
    ];
    let third = text(folder.path(), &cell, "retry\n");
    insta::assert_snapshot!(format!("{first}\n---\n{second}\n---\n{third}"));
}

#[test]
fn the_probe_is_asked_what_it_stands_in() {
    let folder = equipped();
    let ask = |arguments: &[&str]| text(folder.path(), arguments, "");
    let usual = ["--standard", "4.01", "--standard", "7.00", "--standard", "10.01"];
    let before = [
        ask(&[&["recognise", "ph", "--beaker", "4.01"][..], &usual].concat()),
        ask(&["recognise", "ph", "--beaker", "borax"]),
        ask(&["recognise", "conductivity", "--beaker", "1413"]),
        ask(&["recognise", "conductivity", "--beaker", "84", "--nominal-cell-constant", "1"]),
    ];
    text(folder.path(), &["calibrate", "conductivity", "--standard", "1413"], "");
    let ph = ["calibrate", "ph", "--standard", "7.00", "--standard", "4.01", "--standard", "borax"];
    text(folder.path(), &ph, "");
    let after = [
        ask(&["recognise", "ph", "--beaker", "borax", "--at", "21"]),
        ask(&[&["recognise", "ph", "--beaker", "lake"][..], &usual].concat()),
        ask(&["recognise", "conductivity", "--beaker", "1413"]),
        ask(&["recognise", "conductivity", "--beaker", "lake"]),
    ];
    let (before, after) = (before.join("\n"), after.join("\n"));
    insta::assert_snapshot!(format!("{before}\n--- calibrated ---\n{after}"));
    let json = said(folder.path(), &["--json", "--port", "virtual", "recognise", "ph"], "");
    let line = json.lines().next().expect("an answer");
    let answer: serde_json::Value = serde_json::from_str(line).expect("JSON");
    for key in ["answer", "candidates", "nearest", "not_judged", "found", "unit", "settled"] {
        assert!(!answer[key].is_null(), "{key}: {answer}");
    }
}
