//! Verdicts survive an output that nobody reads, a disk that is full, and a store that is full.
#![cfg(target_os = "linux")]

use std::fs::{self, OpenOptions};
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark_bench::Setup;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{CalibrationRecord, Record, codec};
use rillmark_tests::binary::{rillmark, said};
use rillmark_tests::source_tree::root;

/// Where an output goes that nobody takes.
enum Lost {
    /// Its reader has gone.
    Closed,
    /// Its disk is full.
    Full,
}

/// The exit code and what stands on standard error.
fn ends(folder: &Path, arguments: &[&str], lost: Lost) -> (i32, String) {
    let out: Stdio = match lost {
        Lost::Closed => {
            let (reader, writer) = std::io::pipe().expect("the system has pipes");
            drop(reader);
            writer.into()
        }
        Lost::Full => {
            OpenOptions::new().write(true).open("/dev/full").expect("Linux has it").into()
        }
    };
    let output = rillmark()
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(out)
        .stderr(Stdio::piped())
        .output()
        .expect("the binary runs");
    let error = String::from_utf8(output.stderr).expect("UTF-8");
    (output.status.code().expect("it ends by itself"), error)
}

/// A virtual probe whose electrode is calibrated.
fn calibrated() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let run =
        |arguments: &[&str]| said(folder.path(), &[&["--port", "virtual"], arguments].concat(), "");
    run(&["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    assert!(run(&CALIBRATE[2..]).ends_with("exit 0\n"));
    folder
}

const CALIBRATE: [&str; 6] = [
    "--port",
    "virtual",
    "calibrate",
    "ph",
    "--standard=technical-7.00,lot=B1,at=21",
    "--standard=technical-4.01,lot=B2,at=21",
];
/// So small a limit that nobody can tell.
const VERIFY: [&str; 7] = [
    "--port",
    "virtual",
    "verify",
    "ph",
    "--standard=phosphate-1-3.5,lot=B9,at=21",
    "--limit",
    "0.0001",
];

#[test]
fn a_verdict_is_the_end_whoever_reads_it() {
    let folder = calibrated();
    let told = said(folder.path(), &VERIFY, "");
    assert!(told.ends_with("exit 11\n"), "{told}");
    let (closed, error) = ends(folder.path(), &VERIFY, Lost::Closed);
    assert_eq!(closed, 11, "{error}");
    let (full, error) = ends(folder.path(), &VERIFY, Lost::Full);
    assert_eq!(full, 11, "{error}");
    assert!(error.contains("besides, cannot write the output"), "{error}");
}

#[test]
fn a_calibration_that_could_not_be_told_is_in_force() {
    let folder = calibrated();
    std::fs::write(folder.path().join("answers"), "continue\n").expect("written");
    let again = [&CALIBRATE[..], &["--answers", "answers"]].concat();
    let (code, error) = ends(folder.path(), &again, Lost::Full);
    assert_eq!(code, 7, "{error}");
    assert!(
        error.contains("is kept by the probe as record") && error.contains("in force; but"),
        "{error}"
    );
}

#[test]
fn a_full_store_does_not_take_the_verdict() {
    let folder = calibrated();
    fill(&folder.path().join("virtual-probe.flash"));
    let told = said(folder.path(), &VERIFY, "");
    assert!(told.ends_with("exit 6\n"), "{told}");
    for part in ["U is made of", "NOT KEPT", "and the record of that was not kept"] {
        assert!(told.contains(part), "{part} is not in {told}");
    }
}

/// Fills the store of a virtual probe with calibrations of other electrodes, none of which may go.
fn fill(flash: &Path) {
    let setup = Setup { flash: Some(flash.to_owned()), ..Setup::default() };
    let link = VirtualLink::with(setup, "bench").expect("a bench on that flash");
    let mut probe = Probe::connect(Box::new(link)).expect("the bench answers");
    let before = probe.equipment().expect("an answer").expect("it was equipped");
    let kept = probe.records().expect("a list")[0].id;
    let record = codec::decode(&probe.record(kept).expect("its bytes")).expect("a record");
    let Record::Calibration(record) = record else { panic!("{record:?}") };
    // This bench has another board than the command's; the store is the same.
    let board = probe.answer().board;
    for count in 0..10_000 {
        let electrode = Some(count.to_string().as_str().try_into().expect("short"));
        let fitted = Fitted { electrode, ..record.fitted.clone() };
        let equipment = Equipment { fitted: fitted.clone(), ..before.clone() };
        probe.equip(equipment).expect("there is room for that");
        let other = Record::from(CalibrationRecord { board, fitted, ..record.clone() });
        if let Err(error) = probe.keep(codec::encode(&other).expect("a record")) {
            assert!(error.to_string().contains("room"), "{count}: {error}");
            probe.equip(before).expect("there is room for that");
            return;
        }
    }
    panic!("there was always room");
}

#[test]
fn who_ends_a_command_from_outside_finds_nothing_half_written() {
    let session = fs::read(root().join("tests/golden/session-v1.session")).expect("it is there");
    for signal in ["-TERM", "-INT", "-HUP"] {
        let folder = tempfile::tempdir().expect("a folder");
        // Longer than anybody waits here.
        fs::write(folder.path().join("a.session"), session.repeat(4_000)).expect("there is room");
        let mut replay = rillmark()
            .args(["replay", "a.session", "--csv", "a.csv"])
            .current_dir(folder.path())
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .spawn()
            .expect("the binary runs");
        let count = || fs::read_dir(folder.path()).expect("it is there").count();
        let deadline = Instant::now() + Duration::from_secs(60);
        while count() < 2 {
            assert!(Instant::now() < deadline, "nothing is begun");
            thread::sleep(Duration::from_millis(5));
        }
        let sent = Command::new("kill").args([signal, &replay.id().to_string()]).status();
        assert!(sent.expect("kill runs").success());
        assert!(!replay.wait().expect("it ends").success());
        assert_eq!(count(), 1, "{signal}: the session alone");
    }
}
