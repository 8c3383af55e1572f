//! No text of a probe, a session, a bottle, a table or a person is obeyed by the terminal, or makes a line
//! of its own; machines get it as it is.

use std::fs;
use std::path::Path;
use std::process::{Output, Stdio};

use rillmark::foreign::is_plain;
use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::{DEFAULT_SEED, VirtualLink};
use rillmark::session::entry::{Entry, HostTime};
use rillmark_bench::Setup;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{AsLeft, CalibrationRecord, Override, Point, Record, codec};
use rillmark_tests::binary::rillmark;
use serde_json::Value;

/// Ends the line, says something as if it were ours, and has the terminal take back, turn and hide what
/// stands around. The beginning fits the smallest text of a record.
const HOSTILE: &str =
    "\nFORGED\x1b\u{9b}\u{202e}\r\u{200b}[2K\x1b]0;title\x07\u{e0041}\u{2028}\u{2066}\t";

/// As much of it as fits.
fn hostile<T: for<'a> TryFrom<&'a str>>() -> T {
    let mut ends = HOSTILE.char_indices().rev();
    ends.find_map(|(end, _)| T::try_from(&HOSTILE[..end]).ok()).expect("some of it fits")
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    rillmark()
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .output()
        .expect("the binary runs")
}

/// Both outputs of a command, of which a terminal obeys nothing and no line is forged.
fn shown(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    let text = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).expect("UTF-8"));
    let text = text.concat();
    let obeyed = text.chars().find(|c| *c != '\n' && !is_plain(*c));
    assert_eq!(obeyed, None, "{arguments:?}: {text:?}");
    let forged = text.lines().find(|line| line.trim_start().to_uppercase().starts_with("FORGED"));
    assert_eq!(forged, None, "{arguments:?}: {text}");
    text
}

/// The same where the command has something of it to show.
fn shown_in(folder: &Path, arguments: &[&str]) {
    let text = shown(folder, arguments);
    assert!(text.to_uppercase().contains("\\NFORGED"), "{arguments:?}: {text}");
}

/// The same for machines, which are given the very text.
fn told_in(folder: &Path, arguments: &[&str]) {
    fn holds(value: &Value) -> bool {
        match value {
            Value::String(text) => text.contains("\nFORGED\x1b\u{9b}"),
            Value::Array(values) => values.iter().any(holds),
            Value::Object(values) => values.values().any(holds),
            _ => false,
        }
    }
    let output = run(folder, arguments);
    let text = [output.stdout, output.stderr].map(|bytes| String::from_utf8(bytes).expect("UTF-8"));
    let text = text.concat();
    assert!(text.chars().all(|c| c == '\n' || is_plain(c)), "{arguments:?}: {text:?}");
    let values = text.lines().map(|line| serde_json::from_str::<Value>(line).expect("JSON"));
    assert!(values.into_iter().any(|value| holds(&value)), "{arguments:?}: {text}");
}

/// A virtual probe that keeps nothing but hostile text, and the short forms of its records.
fn hostile_probe(folder: &Path) -> Vec<String> {
    let made = |arguments: &[&str]| {
        let output = run(folder, &[&["--port", "virtual"], arguments].concat());
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    };
    made(&["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    let buffers =
        ["--standard=technical-7.00,lot=B1,at=21", "--standard=technical-4.01,lot=B2,at=21"];
    made(&[&["calibrate", "ph"], &buffers[..]].concat());
    made(&["verify", "ph", "--standard=phosphate-1-3.5,lot=B9,at=21"]);

    let flash = Some(folder.join("virtual-probe.flash"));
    let setup = Setup { flash, seed: DEFAULT_SEED, ..Setup::default() };
    let link = VirtualLink::with(setup, "bench").expect("a bench on that flash");
    let mut probe = Probe::connect(Box::new(link)).expect("the bench answers");
    let board = probe.answer().board;
    let listed = probe.records().expect("a list");
    let records = listed.iter().map(|listed| {
        let bytes = probe.record(listed.id).expect("its bytes");
        codec::decode(&bytes).expect("a record")
    });
    let records: Vec<Record> = records.collect();
    let text = Some(hostile());
    let fitted = Fitted { electrode: text.clone(), cell: text.clone(), thermometer: text };
    probe.equip(Equipment { fitted: fitted.clone(), utc_ms: 0 }).expect("there is room");
    let point = |point: &Point| Point {
        standard: hostile(),
        lot: hostile(),
        certificate: hostile(),
        ..point.clone()
    };
    let mut kept = Vec::new();
    for record in &records {
        let Record::Calibration(record) = record else { continue };
        let as_left = record.as_left.clone().map(|as_left| AsLeft {
            standard: hostile(),
            lot: hostile(),
            ..as_left
        });
        let overridden = Override { judgement: 5, reason: hostile() };
        let calibration = CalibrationRecord {
            board,
            fitted: fitted.clone(),
            operator: hostile(),
            points: record.points.iter().map(point).collect(),
            overrides: [overridden].into_iter().collect(),
            as_left,
            previous: None,
            ..record.clone()
        };
        let bytes = codec::encode(&calibration.into()).expect("a record");
        kept.push(probe.keep(bytes).expect("there is room"));
    }
    for record in &records {
        let Record::Verification(record) = record else { continue };
        let mut verification = record.clone();
        verification.board = board;
        verification.fitted = fitted.clone();
        verification.operator = hostile();
        verification.calibration = kept[0].short();
        verification.point = point(&record.point);
        verification.limit.profile = hostile();
        verification.limit.source = hostile();
        let bytes = codec::encode(&verification.into()).expect("a record");
        kept.push(probe.keep(bytes).expect("there is room"));
    }
    assert_eq!(kept.len(), 2);
    kept.iter().map(|id| id.short().to_string()).collect()
}

#[test]
fn what_a_probe_and_a_session_say_is_shown_and_not_obeyed() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let records = hostile_probe(folder);
    let on_probe = |arguments: &[&'static str]| [&["--port", "virtual"], arguments].concat();
    for arguments in [on_probe(&["show"]), on_probe(&["equip"]), on_probe(&["diagnose"])] {
        shown_in(folder, &arguments);
        told_in(folder, &[&["--json"], &arguments[..]].concat());
    }
    shown(folder, &on_probe(&["probes"]));
    for record in &records {
        shown_in(folder, &["--port", "virtual", "show", "--record", record]);
        told_in(folder, &["--json", "--port", "virtual", "show", "--record", record]);
    }
    shown_in(folder, &on_probe(&["verify", "ph", "--standard=borax,lot=D1,at=21"]));
    let export = on_probe(&["show", "--export", "a.record", "--record"]);
    shown(folder, &[&export[..], &[records[0].as_str()]].concat());

    shown(folder, &on_probe(&["log", "--out", "a.session", "--every", "0", "--count", "3"]));
    let path = folder.join("a.session");
    let bytes = fs::read(&path).expect("it was logged");
    let note = Entry::Note { at: HostTime { monotonic_ms: 0, utc_ms: 0 }, text: HOSTILE.into() };
    let note = note.frame().expect("it fits");
    // Before the frame that ends it.
    let end =
        bytes[..bytes.len() - 1].iter().rposition(|byte| *byte == 0).expect("more frames") + 1;
    fs::write(&path, [&bytes[..end], &note, &bytes[end..]].concat()).expect("there is room");
    for command in ["replay", "diagnose"] {
        shown_in(folder, &[command, "a.session"]);
        told_in(folder, &["--json", command, "a.session"]);
    }
    shown(folder, &["replay", "a.session", "--csv", "-"]);
    // Lost, and there again.
    fs::remove_file(folder.join("virtual-probe.flash")).expect("it is there");
    shown(folder, &on_probe(&["keep", "a.record"]));
}

#[test]
fn what_bottles_tables_and_arguments_say_is_shown_and_not_obeyed() {
    let folder = tempfile::tempdir().expect("a folder");
    let folder = folder.path();
    let write = |name: &str, text: &str| fs::write(folder.join(name), text).expect("there is room");
    let quoted = serde_json::to_string(HOSTILE).expect("a string of TOML too");
    let values = "quantity = \"ph\"\nvalues = [[25, 10.01]]\nexpanded-uncertainty = 0.02\ncoverage-factor = 2\n";
    write("name.toml", &format!("{values}name = {quoted}\n"));
    write("lot.toml", &format!("{values}name = \"N\"\nlot = {quoted}\n"));
    write("said.toml", &format!("{values}name = \"N\"\nstatement = {quoted}\n"));
    write("key.toml", &format!("{values}name = \"N\"\n{quoted} = 1\n"));
    write("raw.toml", &format!("{values}name = \"{HOSTILE}\"\n"));
    for bottle in ["name.toml", "lot.toml", "said.toml", "key.toml", "raw.toml"] {
        let standard = format!("--standard={bottle}");
        shown(folder, &["--port", "virtual", "calibrate", "ph", &standard]);
        shown(folder, &["--port", "virtual", "verify", "ph", &standard]);
    }
    let one_line = HOSTILE.replace(['\n', '\r', '\u{2028}'], "");
    write("header.csv", &format!("buffer_ph,potential_mv,{one_line}\n4,170,21\n"));
    write("cell.csv", &format!("buffer_ph,potential_mv,temperature_c\n4,{one_line},21\n"));
    for table in ["header.csv", "cell.csv"] {
        let text = shown(folder, &["fit", "ph", table]);
        assert!(text.contains("FORGED"), "{text}");
    }
    write("answers", &format!("done\n{one_line}\n"));
    let scripted = ["calibrate", "ph", "--standard=borax,lot=B1", "--answers=answers"];
    shown(folder, &[&["--port", "virtual"], &scripted[..]].concat());
    // Names that a person, or a script of hers, gives.
    let name = format!("name{HOSTILE}");
    for arguments in [
        vec!["replay", &name],
        vec!["diagnose", &name],
        vec!["fit", "ph", &name],
        vec!["--port", &name, "show"],
        vec!["--port", "virtual", "verify", "ph", "--standard", &name],
        vec!["--port", "virtual", "log", "--count", "1", "--every", "0", "--out", &name],
        vec!["reference", "ph-buffer", &name, "--at", "21"],
        vec!["--port", "virtual", "show", "--record", &name],
    ] {
        shown_in(folder, &arguments);
        shown(folder, &[&["--json"], &arguments[..]].concat());
    }
    for arguments in [vec!["watch", "--count", &name], vec![name.as_str()]] {
        let text = shown_without_forging_of_clap(folder, &arguments);
        assert!(text.contains("FORGED"), "{text}");
    }
}

/// What the parser of arguments quotes keeps its line breaks; nothing else of it is obeyed.
fn shown_without_forging_of_clap(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    let text = String::from_utf8(output.stderr).expect("UTF-8");
    assert!(text.chars().all(|c| c == '\n' || is_plain(c)), "{arguments:?}: {text:?}");
    text
}
