//! Replays as people and machines see them.

use std::io::Write;

use super::*;
use crate::link::fake::reading_frame;
use crate::session::entry::Entry;
use crate::session::sample::{cell_record, frames, header, kept, mark, ph_record, reading};
use serde_json::Value;

/// What a run said: its end, standard output, standard error.
struct Said {
    result: Result<(), Failure>,
    out: String,
    progress: String,
}

impl Said {
    fn lines(&self) -> Vec<Value> {
        self.out.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect()
    }
}

fn file(bytes: &[u8]) -> tempfile::NamedTempFile {
    let mut file = tempfile::NamedTempFile::new().expect("a temporary file");
    file.write_all(bytes).expect("there is room");
    file
}

fn say(bytes: &[u8], json: bool, csv: Option<&str>, calibration: &[&Path]) -> Said {
    let file = file(bytes);
    let (mut out, mut progress) = (Vec::new(), Vec::new());
    let mut answers: &[u8] = &[];
    let mut context = Context {
        json,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut progress,
        answers: &mut answers,
    };
    let options = Options {
        file: file.path().to_owned(),
        csv: csv.map(PathBuf::from),
        calibration: calibration.iter().map(|path| path.to_path_buf()).collect(),
        measured: None,
    };
    let result = run(options, &mut context);
    let name = file.path().display().to_string();
    let text = |bytes| String::from_utf8(bytes).expect("UTF-8").replace(&name, "FILE");
    Said { result, out: text(out), progress: text(progress) }
}

fn damaged() -> Vec<u8> {
    let mut altered = reading(3);
    altered.computed.ph = Some(1.5);
    let mut frames = frames();
    let count = frames.len();
    frames[count - 1 - 3] = reading_frame(altered);
    frames.remove(count - 1 - 5);
    frames.truncate(frames.len() - 1);
    let mut bytes = frames.concat();
    bytes.extend([1, 2, 3]);
    bytes
}

#[test]
fn a_whole_session_is_a_summary() {
    let said = say(&frames().concat(), false, None, &[]);
    assert_eq!(said.result, Ok(()));
    insta::assert_snapshot!(said.out);
}

#[test]
fn a_damaged_one_says_what_is_missing_and_names_what_does_not_match() {
    let said = say(&damaged(), false, None, &[]);
    assert_eq!(said.result.expect_err("a mismatch").exit, Exit::Mismatch);
    insta::assert_snapshot!(said.out);
}

#[test]
fn readings_that_cannot_be_checked_are_no_success() {
    // The electrode's record is gone.
    let mut frames = frames();
    frames.remove(2);
    let failure = say(&frames.concat(), false, None, &[]).result.expect_err("nothing was checked");
    assert_eq!(failure.exit, Exit::Mismatch);
    assert!(failure.sentence.contains("6 of 6 readings cannot be checked"), "{failure}");
}

#[test]
fn json_is_a_line_a_reading_and_a_summary() {
    let said = say(&damaged(), true, None, &[]);
    assert_eq!(said.result.as_ref().expect_err("a mismatch").exit, Exit::Mismatch);
    let lines = said.lines();
    assert_eq!(lines.len(), 6);
    let matches: Vec<_> = lines[..5].iter().map(|line| line["match"].clone()).collect();
    assert_eq!(matches, [true, true, false, true, true].map(Value::from));
    assert_eq!(lines[2]["ph"], 1.5);
    assert!(lines[2]["recomputed"]["ph"].is_number());
    let summary = &lines[5]["summary"];
    let numbers = ["readings", "gaps", "mismatches", "torn_bytes", "damaged_bytes", "unresolved"];
    assert_eq!(numbers.map(|key| summary[key].as_u64()), [5, 1, 1, 3, 0, 0].map(Some));
    assert_eq!(summary["end"], Value::Null);
}

#[test]
fn csv_has_units_in_its_columns_and_stays_alone_on_standard_output() {
    let said = say(&frames().concat(), false, Some("-"), &[]);
    assert_eq!(said.result, Ok(()));
    insta::assert_snapshot!(said.out);
    assert!(said.progress.contains("match to the bit"));
    let both = say(&frames().concat(), true, Some("-"), &[]);
    assert_eq!(both.result.expect_err("no room for both").exit, Exit::Usage);
}

#[test]
fn a_csv_file_is_new_or_not_written() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = folder.path().join("a.csv");
    let name = path.display().to_string();
    let said = say(&frames().concat(), true, Some(&name), &[]);
    assert_eq!((said.result.clone(), said.lines().len()), (Ok(()), 7));
    let written = std::fs::read_to_string(&path).expect("written");
    assert_eq!(written.lines().count(), 7);
    let again = say(&frames().concat(), false, Some(&name), &[]);
    assert_eq!(again.result.expect_err("it exists").exit, Exit::Storage);
    assert_eq!(std::fs::read_to_string(&path).expect("still there"), written);
}

#[test]
fn another_calibration_is_named_and_gives_the_values() {
    let (listed, bytes) = kept(&ph_record(0.9), false);
    let record = file(&bytes);
    let said = say(&frames().concat(), true, None, &[record.path()]);
    assert_eq!(said.result, Ok(()));
    let lines = said.lines();
    let first = &lines[0];
    assert_eq!(first["calibrations"]["ph"], listed.id.short().to_string());
    assert_eq!(first["match"], true);
    assert_ne!(first["ph"], first["recorded"]["ph"]);
    assert_eq!(first["conductivity_us_cm"], first["recorded"]["conductivity_us_cm"]);
    assert_eq!(lines[6]["summary"]["calibration"][0], listed.id.to_string());
    let table = say(&frames().concat(), false, None, &[record.path()]);
    assert!(table.out.contains(&listed.id.to_string()), "{}", table.out);
}

#[test]
fn what_cannot_be_read_is_one_sentence() {
    let exit = |bytes: &[u8]| say(bytes, false, None, &[]).result.expect_err("unreadable");
    assert!(exit(b"").sentence.contains("empty"));
    assert!(exit(b"hello world\n").sentence.contains("not a session file"));
    assert_eq!(exit(b"").exit, Exit::BadInput);
    let foreign = file(b"\x01\x02");
    let said = say(&frames().concat(), false, None, &[foreign.path()]);
    let failure = said.result.expect_err("no record");
    assert_eq!(failure.exit, Exit::BadInput);
    assert!(failure.sentence.contains("not a calibration record"), "{failure}");
    let missing = say(&frames().concat(), false, None, &[Path::new("/nowhere/at.all")]);
    assert_eq!(missing.result.expect_err("not there").exit, Exit::Storage);
}

#[test]
fn two_calibrations_of_one_quantity_are_refused_since_only_one_can_count() {
    let export = |slope| {
        let (_, bytes) = kept(&ph_record(slope), true);
        file(&bytes)
    };
    let (one, other) = (export(0.95), export(0.96));
    for pair in [[one.path(), one.path()], [one.path(), other.path()]] {
        let said = say(&frames().concat(), true, None, &pair);
        let failure = said.result.expect_err("which one?");
        assert_eq!(failure.exit, Exit::BadInput);
        assert!(failure.sentence.contains("both calibrate the electrode"), "{failure}");
        assert_eq!(said.out, "");
    }
}

/// An output that takes nothing.
struct Lost(std::io::ErrorKind);

impl std::io::Write for Lost {
    fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
        Err(self.0.into())
    }
    fn flush(&mut self) -> std::io::Result<()> {
        Err(self.0.into())
    }
}

#[test]
fn a_session_is_checked_to_its_end_whoever_reads_it() {
    use std::io::ErrorKind::{BrokenPipe, StorageFull};
    let ends = |bytes: &[u8], kind, json, csv: Option<&str>| {
        let mut file = tempfile::NamedTempFile::new().expect("a temporary file");
        std::io::Write::write_all(&mut file, bytes).expect("there is room");
        let mut context = Context {
            json,
            port: None,
            probe: None,
            out: &mut Lost(kind),
            progress: &mut std::io::sink(),
            answers: &mut std::io::empty(),
        };
        let csv = csv.map(PathBuf::from);
        let options =
            Options { file: file.path().to_owned(), csv, calibration: Vec::new(), measured: None };
        run(options, &mut context).expect_err("nothing can be written").exit
    };
    for (json, csv) in [(false, None), (true, None), (false, Some("-"))] {
        assert_eq!(ends(&frames().concat(), BrokenPipe, json, csv), Exit::Success);
        assert_eq!(ends(&frames().concat(), StorageFull, json, csv), Exit::Storage);
        for kind in [BrokenPipe, StorageFull] {
            assert_eq!(ends(&damaged(), kind, json, csv), Exit::Mismatch, "{kind} {json} {csv:?}");
        }
    }
}

/// What a replay says of what was measured: its last sentences, the same for machines, and how it ended.
fn measured(frames: &[Vec<u8>], given: Option<&Path>) -> (Result<(), Failure>, String, Value) {
    let session = file(&frames.concat());
    let run = |json: bool| {
        let (mut out, mut progress, mut answers) = (Vec::new(), Vec::new(), &b""[..]);
        let mut context = Context {
            json,
            port: None,
            probe: None,
            out: &mut out,
            progress: &mut progress,
            answers: &mut answers,
        };
        let measured = given.map(Path::to_path_buf);
        let options = Options { measured, ..Options::of(session.path().to_owned()) };
        let result = run(options, &mut context);
        (result, String::from_utf8(out).expect("UTF-8"))
    };
    let ((result, text), (_, json)) = (run(false), run(true));
    let said = text.split_whitespace().collect::<Vec<_>>().join(" ");
    let summary: Value =
        json.lines().last().map_or(Value::Null, |line| serde_json::from_str(line).expect("JSON"));
    (result, said, summary["summary"].clone())
}

/// The whole session of one run with these copies behind its header and before its end.
fn keeping(copies: [Option<(&str, &str)>; 2]) -> Vec<Vec<u8>> {
    let mut frames = frames();
    let copy = |(file, lines): (&str, &str)| {
        let (file, lines) = (file.to_owned(), lines.to_owned());
        let at = crate::session::sample::host_time(9_000);
        Entry::Measured { at, file, lines }.frame().expect("it fits")
    };
    let [begin, end] = copies.map(|it| it.map(copy));
    end.into_iter().for_each(|copy| frames.insert(frames.len() - 1, copy));
    begin.into_iter().for_each(|copy| frames.insert(2, copy));
    frames
}

const OWN: &str = "board = \"0102030405060708\"\nr8-ohm = [1000.2, 0.1]\n";
const OTHER: &str = "board = \"0902030405060708\"\nr8-ohm = [1000.2, 0.1]\n";

#[test]
fn it_says_what_it_counts_with_and_in_how_many_runs() {
    let own = Some(("own.toml", OWN));
    let (result, said, json) = measured(&keeping([own; 2]), None);
    assert_eq!(result, Ok(()));
    assert!(said.contains("count with own.toml, which this session keeps, in place of"), "{said}");
    let listed =
        serde_json::json!({ "file": "own.toml", "lines": ["r8-ohm"], "kept": true, "runs": 1 });
    assert_eq!(json["counted_with"], Value::Array(vec![listed]));
    assert_eq!(json["counted_unclear"], Value::Null);

    // Another run goes on in the file and keeps none.
    let (ph, cell) = (ph_record(0.98), cell_record());
    let entries = [Entry::Header(header(&[&ph, &cell])), mark(&reading(6))];
    let mut goes_on = entries.map(|entry| entry.frame().expect("it fits")).to_vec();
    goes_on.push(reading_frame(reading(6)));
    let two = [keeping([own; 2]), goes_on].concat();
    let (_, said, json) = measured(&two, None);
    assert!(said.contains("keeps, in 1 of 2 runs in place of"), "{said}");
    assert_eq!(json["counted_with"][0]["runs"], 1);

    // Two copies that differ: none of both is counted with, and that is said.
    let copies =
        [own, Some(("else.toml", "board = \"0102030405060708\"\nr8-ohm = [999.9, 0.1]\n"))];
    let (_, said, json) = measured(&keeping(copies), None);
    assert!(!said.contains("ncertainties count"), "{said}");
    assert!(said.contains("6 readings count with the limits of any board"), "{said}");
    assert_eq!(json["counted_with"], serde_json::json!([]));
    assert_eq!(json["counted_unclear"], 6);

    // Nothing counts with mid alone.
    let mid = Some(("mid.toml", "board = \"0102030405060708\"\nmid-v = [1.65, 0.001]\n"));
    let (_, said, json) = measured(&keeping([mid; 2]), None);
    assert!(
        said.contains("counts with mid.toml, which this session keeps: mid-v is in none."),
        "{said}"
    );
    assert_eq!(json["counted_with"], serde_json::json!([]));
}

#[test]
fn what_is_of_another_board_or_of_none_is_not_counted_with() {
    let (_, said, json) = measured(&keeping([Some(("other.toml", OTHER)); 2]), None);
    assert!(said.contains("is of board 0902030405060708: its run is of board 0102"), "{said}");
    assert_eq!(json["counted_with"], serde_json::json!([]));

    // Whose it is, nobody can tell where no header is left; and no file is counted with there.
    let mut headless = keeping([Some(("own.toml", OWN)); 2]);
    headless.remove(1);
    let (_, said, json) = measured(&headless, None);
    assert!(said.contains("the session does not name the board of its run"), "{said}");
    assert_eq!(json["counted_with"], serde_json::json!([]));
    for text in [OWN, OTHER] {
        let given = file(text.as_bytes());
        let (result, ..) = measured(&headless, Some(given.path()));
        let failure = result.expect_err("it is refused");
        assert_eq!(failure.exit, Exit::BadInput);
        assert!(failure.sentence.contains("names no board"), "{}", failure.sentence);
    }
}

/// A copy without a name, or longer than a log writes it, is an unknown frame.
#[test]
fn what_no_log_keeps_is_passed_over() {
    let (name, lines) = ("n".repeat(256), format!("{OWN}#{}", "-".repeat(1_000)));
    for copy in [("", OWN), (&name, OWN), ("long.toml", &lines)] {
        let (_, said, json) = measured(&keeping([Some(copy); 2]), None);
        assert!(!said.contains("which this session keeps"), "{said}");
        assert_eq!((&json["unknown_frames"], &json["counted_with"]), (&2.into(), &Value::Null));
    }
}
