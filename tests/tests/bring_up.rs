//! What a builder measured of a board, from the file to the check and into U, with the real binary.
//!
//! The board is the bench's of a seed: its resistors, offset, bias and leaks are known here, and nowhere in
//! what is tried.
#![cfg(unix)]

use std::fs;
use std::path::{Path, PathBuf};

use rillmark_bench::Truth;
use rillmark_tests::binary::{rillmark, said};
use rillmark_tests::guided::converse;
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

/// Loads whose values are known to 0.05 %, as the bench connects them.
const LOADS: [&str; 10] = [
    "--load",
    "100k=100k,0.05%",
    "--load",
    "10k=10k,0.05%",
    "--load",
    "1k=1k,0.05%",
    "--load",
    "100=100,0.05%",
    "--thermometer",
    "1k,0.05%",
];

/// The id of the board that the bench has for a seed.
fn board(seed: u64) -> String {
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--seed", &seed.to_string()]);
    let shown =
        rillmark().args(["--json", "--port", &probe.port, "show"]).output().expect("it runs");
    let shown: Value = serde_json::from_slice(&shown.stdout).expect("JSON");
    shown["board"].as_str().expect("an id").to_owned()
}

/// What somebody with good instruments finds on the board of a seed: every value off by half of what its
/// instrument may be off by. `change` may spoil a line.
fn sheet(folder: &Path, seed: u64, change: impl Fn(&mut Vec<(&str, f64, f64)>)) -> PathBuf {
    let truth = Truth::seeded(seed);
    let [r8, r9, r10, r11] = truth.resistors;
    let mut lines = vec![
        ("r8-ohm", r8, 0.1),
        ("r9-ohm", r9, 1.0),
        ("r10-ohm", r10, 10.0),
        ("r11-ohm", r11, 0.2),
        ("offset-mv", truth.electrometer_offset_mv, 0.03),
        ("bias-fa", truth.bias_a * 1e15, 20.0),
        ("leak-na", truth.switch_leakage_a.abs() * 1e9, 1.0),
        ("supply-v", 3.3, 0.017),
        ("mid-v", 1.65, 0.009),
        ("drive-v", 0.3966, 0.008),
    ];
    change(&mut lines);
    let text: String = lines
        .iter()
        .map(|(key, value, within)| format!("{key} = [{}, {within}]\n", value + 0.5 * within))
        .collect();
    let file = folder.join("board.toml");
    fs::write(&file, format!("board = \"{}\"\n{text}", board(seed))).expect("there is room");
    file
}

/// The object at the end of a check of the bench's own board, and its exit code.
fn checked(folder: &Path, arguments: &[&str]) -> (Value, i32) {
    let output = rillmark()
        .args(["--json", "--port", "virtual", "check-board"])
        .args(arguments)
        .current_dir(folder)
        .output()
        .expect("the binary runs");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let last = text.lines().last().unwrap_or_default();
    (serde_json::from_str(last).unwrap_or_default(), output.status.code().expect("no signal"))
}

/// What was compared and does not agree.
fn contradicted(found: &Value) -> Vec<String> {
    let compared = found["measured"].as_array().expect("a list");
    let wrong = compared.iter().filter(|each| each["agrees"] == false);
    let name =
        |each: &Value| each["part"].as_str().or(each["what"].as_str()).expect("a name").to_owned();
    wrong.map(name).collect()
}

#[test]
fn a_check_bears_out_what_is_true_and_tells_what_is_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let with = |file: &Path, loads: &[&str]| {
        let file = file.to_str().expect("a plain path");
        checked(folder.path(), &[&["--measured", file], loads].concat())
    };
    let file = sheet(folder.path(), 1, |_| {});
    let (found, exit) = with(&file, &LOADS);
    assert_eq!((&found["verdict"], exit), (&"pass".into(), 0), "{found}");
    assert_eq!(contradicted(&found), Vec::<String>::new(), "{found}");
    // R8 by two loads, R9, R10, R11, offset, bias.
    assert_eq!(found["measured"].as_array().expect("a list").len(), 7, "{found}");

    // Each lie alone, by more than instrument and load allow; the board itself is sound.
    let lies: [(&str, f64, &[&str]); 5] = [
        ("r8-ohm", -3.4, &["R8", "R8"]),
        ("r9-ohm", -30.0, &["R9"]),
        ("r11-ohm", -6.0, &["R11"]),
        ("offset-mv", 0.5, &["offset"]),
        ("bias-fa", 700.0, &["bias"]),
    ];
    for (lie, by, told) in lies {
        let file = sheet(folder.path(), 1, |lines| {
            let line = lines.iter_mut().find(|(key, _, _)| *key == lie).expect(lie);
            line.1 = line.1.abs() * line.1.signum() + by;
        });
        let (found, exit) = with(&file, &LOADS);
        assert_eq!(contradicted(&found), told, "{lie}: {found}");
        assert_eq!((&found["verdict"], exit), (&"cannot-tell".into(), 11), "{lie}");
    }

    // Loads of 1 % tell no resistor that can be claimed from another: nothing bears it out, true or false.
    let file = sheet(folder.path(), 1, |lines| lines[1].1 -= 30.0);
    let (found, exit) = with(&file, &[]);
    assert_eq!((contradicted(&found), exit), (vec![], 0), "{found}");
    let compared = found["measured"].as_array().expect("a list");
    let says = |each: &&Value| each["what"] == "resistor" && each["agrees"].is_null();
    assert_eq!(compared.iter().filter(says).count(), 5, "{found}");
    let believed =
        ["r8-ohm", "r9-ohm", "r10-ohm", "r11-ohm", "leak-na", "supply-v", "mid-v", "drive-v"];
    assert_eq!(found["believed"], Value::from(believed.to_vec()), "{found}");
}

#[test]
fn a_person_reads_what_agrees_and_what_does_not() {
    let folder = tempfile::tempdir().expect("a folder");
    let check = |arguments: &[&str]| {
        let start = ["--port", "virtual", "check-board", "--measured", "board.toml"];
        let all = said(folder.path(), &[&start[..], arguments].concat(), "");
        let end = all.find("What was measured").unwrap_or(0);
        all[end..].to_owned()
    };
    sheet(folder.path(), 1, |_| {});
    let agrees = check(&LOADS);
    let believed = check(&[]);
    sheet(folder.path(), 1, |lines| lines[1].1 -= 30.0);
    let contradicts = check(&LOADS);
    fs::write(
        folder.path().join("board.toml"),
        "board = \"0123456789ABCDEF\"\nr8-ohm = [1000, 0.1]\n",
    )
    .expect("there is room");
    let other = check(&[]);
    let own = board(1);
    fs::write(folder.path().join("board.toml"), format!("board = \"{own}\"\nr8-ohm = [1000, 5]\n"))
        .expect("there is room");
    let useless = check(&[]);
    insta::assert_snapshot!([agrees, believed, contradicts, other, useless].join("\n"));
}

/// A file that nothing would count with.
#[test]
fn show_takes_the_file_with_a_budget_alone() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = sheet(folder.path(), 1, |_| {});
    let file = file.to_str().expect("a plain path");
    let show = |more: &[&str]| {
        let start = ["--port", "virtual", "show", "--measured", file];
        said(folder.path(), &[&start[..], more].concat(), "")
    };
    assert!(show(&[]).contains("--budget-conductivity"), "{}", show(&[]));
    // Read, and a calibration is what is missing.
    let budget = show(&["--budget-conductivity", "84,25"]);
    assert!(budget.contains("no conductivity calibration"), "{budget}");
}

/// How far R8 and R9 of a seed are from each other, and R11 from what it is called, as fractions.
fn apart(seed: u64) -> [f64; 2] {
    let [r8, r9, _, r11] = Truth::seeded(seed).resistors;
    [(r9 / 1e4 - r8 / 1e3).abs(), (r11 / 2e3 - 1.0).abs()]
}

/// Probes whose cell was calibrated on the 1 kΩ range alone and whose thermometer was not, in a standard that
/// is read on the 10 kΩ range: two whose resistors were found near their values, and one whose were not, of
/// which U must say so.
#[test]
fn u_follows_what_was_measured_and_covers_the_truth() {
    let near = (1..).filter(|seed| apart(*seed).iter().all(|apart| *apart < 3e-4)).take(2);
    let far = (1..).filter(|seed| apart(*seed)[0] > 1.2e-3 && apart(*seed)[1] > 7e-4).take(1);
    for (seed, is_near) in near.map(|seed| (seed, true)).chain(far.map(|seed| (seed, false))) {
        let folder = tempfile::tempdir().expect("a folder");
        let file = sheet(folder.path(), seed, |_| {});
        let file = file.to_str().expect("a plain path");
        let number = seed.to_string();
        let mut probe =
            VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "200", "--seed", &number]);
        let port = probe.port.clone();
        let (_, exit) =
            converse(&port, &["equip", "--cell", "K-1", "--thermometer", "T-1"], |_| None);
        assert_eq!(exit, 0);
        let standard = ["--nominal-cell-constant", "1", "--standard", "1413,lot=A"];
        let calibrate = [&["calibrate", "conductivity"], &standard[..]].concat();
        let (told, exit) =
            converse(&port, &calibrate, |said| match said.last()?["step"].as_str()? {
                "place" => {
                    probe.order("beaker 1413 25");
                    Some("done".to_owned())
                }
                "decide" => Some("leave".to_owned()),
                _ => None,
            });
        assert_eq!(exit, 0, "{told:#?}");
        probe.order("beaker 84 25");
        let watch = |more: &[&str]| {
            let arguments = [&["watch", "--only", "conductivity", "--count", "40"], more].concat();
            let (said, exit) = converse(&port, &arguments, |_| None);
            assert_eq!(exit, 0, "{said:#?}");
            said.last().expect("readings").clone()
        };
        let (any, own) = (watch(&[]), watch(&["--measured", file]));
        let u = |reading: &Value, key| reading["standard_uncertainty"][key].as_f64().expect("u");
        for (key, u_key, truth) in [
            ("specific_conductance_us_cm", "specific_conductance_us_cm", 84.0),
            ("temperature_c", "temperature_k", 25.0),
        ] {
            let away = (own[key].as_f64().expect("a value") - truth).abs();
            assert!(away < 2.0 * u(&own, u_key), "{seed}, {key}: {away} of {}", u(&own, u_key));
        }
        let [before, after] = [&any, &own].map(|reading| u(reading, "temperature_k"));
        assert_eq!(after < 0.99 * before, is_near, "{seed}: {after} and {before} K");
        let budget = |more: &[&str]| {
            let arguments = [&["show", "--budget-conductivity", "84,25"], more].concat();
            let (said, exit) = converse(&port, &arguments, |_| None);
            assert_eq!(exit, 0, "{said:#?}");
            let conductivity = &said[0]["conductivity"];
            let causes = conductivity["contributions"].as_array().expect("a list");
            let range = causes.iter().find(|each| each["cause"] == "range").expect("a range");
            [&range["u_percent"], &conductivity["standard_uncertainty_percent"]]
                .map(|u| u.as_f64().expect("%"))
        };
        let (any, own) = (budget(&[]), budget(&["--measured", file]));
        assert_eq!(own[0] < 0.95 * any[0], is_near, "{seed}: {own:?} and {any:?} %");
        assert_eq!(own[1] < any[1], is_near, "{seed}: {own:?} and {any:?} %");
    }
}

/// A log keeps what its uncertainties count with: a replay counts with it too, says so, and leaves it out when
/// it is told to.
#[test]
fn a_session_keeps_what_was_measured() {
    let folder = tempfile::tempdir().expect("a folder");
    sheet(folder.path(), 1, |lines| lines.retain(|(key, _, _)| ["r11-ohm", "mid-v"].contains(key)));
    let run = |arguments: &[&str]| said(folder.path(), arguments, "");
    let log = ["--port", "virtual", "log", "--every", "0", "--count", "2"];
    let own = run(&[&log[..], &["--out", "own.session", "--measured", "board.toml"]].concat());
    assert!(own.contains("Uncertainties count with board.toml in place"), "{own}");
    let any = run(&[&log[..], &["--out", "any.session"]].concat());
    assert!(!any.contains("ncertainties count"), "{any}");
    // What stands in the session counts, whatever became of the file.
    fs::rename(folder.path().join("board.toml"), folder.path().join("again.toml")).expect("moved");
    let replay = |arguments: &[&str]| {
        let output = rillmark()
            .args([&["--json", "replay"], arguments].concat())
            .current_dir(folder.path())
            .output()
            .expect("the binary runs");
        assert_eq!(output.status.code(), Some(0), "{arguments:?}");
        let text = String::from_utf8(output.stdout).expect("UTF-8");
        let lines: Vec<Value> =
            text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect();
        let k = lines[0]["standard_uncertainty"]["temperature_k"].as_f64().expect("a thermometer");
        (k, lines.last().expect("a summary")["summary"]["counted_with"].clone())
    };
    let (kept_k, with) = replay(&["own.session"]);
    let kept = serde_json::json!([
        { "file": "board.toml", "lines": ["r11-ohm"], "kept": true, "runs": 1 }
    ]);
    assert_eq!(with, kept);
    let given = serde_json::json!([{ "file": "again.toml", "lines": ["r11-ohm"], "kept": false }]);
    assert_eq!(replay(&["own.session", "--measured", "again.toml"]), (kept_k, given.clone()));
    let (none_k, with) = replay(&["own.session", "--measured", "none"]);
    assert_eq!(with, Value::Array(vec![]));
    // R11 of this board is 0.07 % off, which is more doubt than its 0.1 %, whoever says so.
    assert!(kept_k > none_k, "{kept_k} and {none_k} K");
    let (any_k, with) = replay(&["any.session"]);
    assert_eq!(with, Value::Null);
    let (given_k, with) = replay(&["any.session", "--measured", "again.toml"]);
    assert!(given_k > any_k && with == given, "{given_k} and {any_k} K: {with}");
    let texts = [&["own.session"][..], &["own.session", "--measured", "again.toml"]];
    let texts = texts.map(|arguments| {
        let all = run(&[&["replay"], arguments].concat());
        all[all.find("Uncertainties").expect("a sentence")..].to_owned()
    });
    insta::assert_snapshot!(texts.concat());
}
