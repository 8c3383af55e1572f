//! `rillmark log` through kills, a pulled cable and a full disk: the real binary over a real
//! pseudo-terminal, the virtual probe in a process of its own.
#![cfg(unix)]

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use rillmark::session::entry::{Entry, HeaderReason, HostTime, Mark};
use rillmark::session::replay::open;
use rillmark_proto::reading::{ProbeTime, Reading};
use rillmark_proto::wire::encode_from_probe;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::message::FromProbe;
use rillmark_tests::binary::{self, rillmark};
use rillmark_tests::source_tree::root;
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

fn log_command(port: &str, file: &Path, more: &[&str]) -> Command {
    let mut command = rillmark();
    command.args(["--port", port, "log", "--every", "0", "--out"]).arg(file).args(more);
    command
}

/// A logger that does not outlive its test.
struct Logger(Child);

impl Drop for Logger {
    fn drop(&mut self) {
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

fn start_log(port: &str, file: &Path, more: &[&str]) -> Logger {
    let child = log_command(port, file, more)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .expect("the binary starts");
    Logger(child)
}

/// The summary of a replay, and whether it ended well.
fn replay(file: &Path) -> (Value, bool) {
    let output = rillmark().args(["--json", "replay"]).arg(file).output().expect("it runs");
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let last = text
        .lines()
        .last()
        .unwrap_or_else(|| panic!("no summary: {}", String::from_utf8_lossy(&output.stderr)));
    let summary: Value = serde_json::from_str(last).expect("JSON");
    (summary["summary"].clone(), output.status.success())
}

fn number(summary: &Value, key: &str) -> u64 {
    summary[key].as_u64().unwrap_or_else(|| panic!("no number {key} in {summary}"))
}

/// Waits until `done` or a generous deadline.
fn wait_until(what: &str, mut done: impl FnMut() -> bool) {
    let deadline = Instant::now() + Duration::from_secs(60);
    while !done() {
        assert!(Instant::now() < deadline, "waited in vain for {what}");
        thread::sleep(Duration::from_millis(10));
    }
}

fn size(file: &Path) -> u64 {
    fs::metadata(file).map_or(0, |metadata| metadata.len())
}

#[test]
fn a_logger_killed_a_hundred_times_leaves_whole_readings_every_time() {
    let folder = tempfile::tempdir().expect("a folder");
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "2000"]);
    // A fixed sequence of waits that looks random: multiples of the golden ratio, modulo 1.
    let mut with_readings = 0;
    for round in 0..100_u32 {
        let file = folder.path().join(format!("{round}.session"));
        let mut log = start_log(&probe.port, &file, &[]);
        wait_until("the session file", || size(&file) > 0);
        let part = (f64::from(round) * 0.618_033_988_749_895).fract();
        if round % 2 == 0 {
            // Somewhere among the readings, however slow the machine is.
            wait_until("readings", || size(&file) > 600 + (part * 3_000.0) as u64);
        } else {
            thread::sleep(Duration::from_micros((part * 60_000.0) as u64));
        }
        log.0.kill().expect("still logging");
        log.0.wait().expect("ended");

        let (summary, verified) = replay(&file);
        assert!(verified, "round {round}: {summary}");
        // A killed process loses at most the frame in flight: nothing inside the file is damaged.
        assert_eq!(number(&summary, "damaged_bytes"), 0, "round {round}: {summary}");
        assert_eq!(number(&summary, "mismatches"), 0, "round {round}: {summary}");
        assert_eq!(number(&summary, "missing_readings"), 0, "round {round}: {summary}");
        assert!(number(&summary, "torn_bytes") < 1200, "round {round}: {summary}");
        assert_eq!(summary["end"], Value::Null, "round {round}: it was cut short");
        with_readings += u32::from(number(&summary, "readings") > 0);
    }
    assert!(with_readings >= 50, "only {with_readings} of 100 logs got to a reading");
}

#[test]
fn a_pulled_cable_is_a_gap_in_the_same_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let (port, file) = (folder.path().join("probe"), folder.path().join("a.session"));
    let port_text = port.to_str().expect("a plain path");
    let mut probe = VirtualProcess::start(&["--pty", "--speed", "100", "--link", port_text]);
    let log = log_command(port_text, &file, &[])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the binary starts");
    let mut log = Logger(log);
    let mut said = BufReader::new(log.0.stderr.take().expect("a pipe")).lines();
    let mut next_line = || said.next().expect("it says more").expect("UTF-8");
    assert!(next_line().contains("Logging into"));

    wait_until("readings", || size(&file) > 2_000);
    probe.order("unplug");
    // Before it stands why a probe that was never set and calibrated shows no pH.
    // At this speed a hundredth of a second is a second of the probe's, so its line may seem late too.
    let is_beside =
        |line: &String| ["note: ", "the line had held"].iter().any(|begin| line.starts_with(begin));
    let loss = std::iter::repeat_with(&mut next_line).find(|line| !is_beside(line));
    let loss = loss.expect("it says more");
    assert!(loss.contains("is lost; waiting for the probe"), "the loss is said: {loss}");
    thread::sleep(Duration::from_millis(300));
    probe.order("plug");
    loop {
        let line = next_line();
        // The log goes on by itself: nobody has to do anything again.
        assert!(!line.contains("again"), "{line}");
        if line.starts_with("Going on after") {
            break;
        }
        assert!(is_beside(&line) || line.ends_with("The log goes on by itself."), "{line}");
    }
    let before = size(&file);
    wait_until("readings after the gap", || size(&file) > before + 2_000);
    let interrupted = Command::new("sh")
        .args(["-c", &format!("kill -INT {}", log.0.id())])
        .status()
        .expect("sh runs");
    assert!(interrupted.success());
    assert!(log.0.wait().expect("ended").success(), "an interrupted log ends well");

    let (summary, verified) = replay(&file);
    assert!(verified, "{summary}");
    assert_eq!(number(&summary, "gaps"), 1, "{summary}");
    assert_eq!(number(&summary, "damaged_bytes"), 0, "{summary}");
    assert_eq!(summary["end"], "interrupted", "{summary}");
}

#[test]
fn a_noisy_line_costs_readings_but_never_makes_one_up() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a.session");
    let mut probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000"]);
    let mut log = start_log(&probe.port, &file, &["--count", "500"]);
    wait_until("readings", || size(&file) > 1_500);
    probe.order("fault damaged-bytes 0.004");
    probe.order("fault dropped-bytes 0.002");
    thread::sleep(Duration::from_millis(300));
    probe.order("clear");
    assert!(log.0.wait().expect("ended").success());

    let (summary, verified) = replay(&file);
    assert!(verified, "{summary}");
    assert_eq!(number(&summary, "readings"), 500, "{summary}");
    assert_eq!(number(&summary, "mismatches"), 0, "{summary}");
    assert!(number(&summary, "missing_readings") > 0, "{summary}");
    assert!(number(&summary, "line_damaged_bytes") > 0, "{summary}");
}

#[test]
fn a_full_disk_is_one_sentence_and_what_was_written_is_whole() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a.session");
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000"]);
    // The shell's limit on file size stands for the disk; its signal is ignored, so that the
    // program sees the error as it would see a full disk.
    let output = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 4; exec \"$@\"", "sh"])
        .arg(binary::path())
        .args(["--port", &probe.port, "log", "--every", "0", "--out"])
        .arg(&file)
        .stdin(Stdio::null())
        .output()
        .expect("sh runs");
    assert_eq!(output.status.code(), Some(rillmark::exit::Exit::Storage as i32));
    let said = String::from_utf8(output.stderr).expect("UTF-8");
    let sentence = said.lines().last().expect("a sentence");
    assert!(sentence.contains("is whole") || sentence.contains("all of them whole"), "{sentence}");

    let (summary, verified) = replay(&file);
    assert!(verified && number(&summary, "readings") > 5, "{summary}");
    assert_eq!(number(&summary, "damaged_bytes"), 0, "{summary}");
}

/// 400 MB of which nothing but the begin was written, as a disk leaves it that lost its power, with 100 MB
/// for data.
#[test]
fn a_logger_that_shall_outlive_its_terminal_does() {
    let folder = tempfile::tempdir().expect("a folder");
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000"]);
    for (before, ends) in [("trap '' HUP; ", false), ("", true)] {
        let file = folder.path().join(if ends { "ends.session" } else { "outlives.session" });
        let logger = Command::new("sh")
            .arg("-c")
            .arg(format!("{before}exec \"$0\" --port {} log --every 0 --out \"$1\"", probe.port))
            .args([binary::path().as_path(), &file])
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn();
        let mut logger = Logger(logger.expect("a shell"));
        wait_until("readings", || size(&file) > 2_000);
        let hang_up = Command::new("kill").args(["-HUP", &logger.0.id().to_string()]).status();
        assert!(hang_up.expect("kill runs").success());
        if ends {
            wait_until("its end", || logger.0.try_wait().expect("a process").is_some());
            continue;
        }
        let then = size(&file);
        wait_until("more readings", || size(&file) > then + 2_000);
        assert!(logger.0.try_wait().expect("a process").is_none());
    }
}

#[test]
fn a_session_is_read_in_pieces() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a.session");
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000"]);
    let mut log = start_log(&probe.port, &file, &["--count", "3"]);
    assert!(log.0.wait().expect("ended").success());
    let len = size(&file);
    let grown = fs::File::options().write(true).open(&file).expect("it is there");
    grown.set_len(len + 400_000_000).expect("a file may have holes");
    let limited = |arguments: &[&str]| {
        let mut command = Command::new("sh");
        command.args(["-c", "ulimit -d 100000; exec \"$@\"", "sh"]).arg(binary::path());
        command.args(arguments).arg(&file).stdin(Stdio::null()).output().expect("sh runs")
    };
    let output = limited(&["--json", "replay"]);
    let text = String::from_utf8(output.stdout).expect("UTF-8");
    let said = String::from_utf8_lossy(&output.stderr);
    let last = text.lines().last().unwrap_or_else(|| panic!("{said}"));
    let summary: Value = serde_json::from_str(last).expect("JSON");
    assert_eq!(number(&summary["summary"], "torn_bytes"), 400_000_000, "{summary}");
    assert_eq!(number(&summary["summary"], "readings"), 3, "{summary}");
    let output = limited(&["--port", &probe.port, "log", "--continue", "--count", "1", "--out"]);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
}

/// 60 MB of notes and headers, a clock that is set at each reading, starts without end: with 50 MB for data.
#[test]
fn a_session_of_any_content_is_read_in_little_memory() {
    let golden = root().join("tests/golden/session-v1.session");
    let session = open(&fs::read(golden).expect("it is there")[..]).expect("a session");
    let mut header = session.headers.first().expect("it has one").clone();
    header.verifications.clear();
    let frame = |entry: &Entry| entry.frame().expect("it fits");
    let time =
        |n: u64, ahead: i64| HostTime { monotonic_ms: n * 1_000, utc_ms: n as i64 * 1_000 + ahead };
    let mark = |boot: u32, n: u64, ahead: i64| {
        frame(&Entry::Mark(Mark { boot, probe_ms: n * 1_000, at: time(n, ahead), headers: 1 }))
    };
    let mut bytes = [frame(&Entry::opening()), frame(&Entry::Header(header.clone()))].concat();
    for n in 0..3_000_u64 {
        let ahead = if n % 2 == 0 { 0 } else { 86_400_000 };
        bytes.extend(mark(1, n, ahead));
        let reading = Reading {
            running: n as u32,
            time: ProbeTime { boot: 1, ms: n * 1_000 },
            raw: Default::default(),
            flags: Default::default(),
            computed: Default::default(),
            calibrations: Default::default(),
        };
        let mut out = [0; MAX_FRAME];
        let len = encode_from_probe(&FromProbe::Reading(reading), &mut out).expect("it fits");
        bytes.extend(&out[..len]);
    }
    header.reason = HeaderReason::Changed;
    for n in 0..30_000_u64 {
        let text = format!("{n} {}", "x".repeat(990));
        bytes.extend(frame(&Entry::Note { at: time(n, 0), text }));
    }
    while bytes.len() < 60_000_000 {
        header.at.monotonic_ms += 1;
        bytes.extend(frame(&Entry::Header(header.clone())));
    }
    (2..200_000).for_each(|boot| bytes.extend(mark(boot, 0, 0)));
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a.session");
    fs::write(&file, bytes).expect("there is room");
    for json in [true, false] {
        let mut command = Command::new("sh");
        command.args(["-c", "ulimit -d 50000; exec \"$@\"", "sh"]).arg(binary::path());
        command.args(json.then_some("--json")).arg("replay").arg(&file).stdin(Stdio::null());
        let output = command.output().expect("sh runs");
        let said = String::from_utf8_lossy(&output.stderr);
        let text = String::from_utf8(output.stdout).expect("UTF-8");
        let last = text.lines().last().unwrap_or_else(|| panic!("{said}"));
        if json {
            let summary: Value = serde_json::from_str(last).expect("JSON");
            let summary = &summary["summary"];
            assert_eq!(number(summary, "readings"), 3_000);
            assert_eq!(number(summary, "notes_left_out"), 29_900);
            assert_eq!(summary["notes"].as_array().map(Vec::len), Some(100));
            assert_eq!(number(summary, "clock_set_left_out"), 2_999 - 100);
        } else {
            assert!(
                text.contains("(and 29900 more)") && text.contains("and 2989 times more"),
                "{said}"
            );
        }
    }
}

#[test]
fn a_log_that_is_started_again_goes_on_in_its_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a.session");
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000"]);
    for _ in 0..5 {
        let before = size(&file);
        let mut log = start_log(&probe.port, &file, &["--continue"]);
        wait_until("readings", || size(&file) > before + 1_000);
        log.0.kill().expect("still logging");
        log.0.wait().expect("ended");
    }
    let mut log = start_log(&probe.port, &file, &["--continue", "--count", "3"]);
    assert!(log.0.wait().expect("ended").success());
    let (summary, verified) = replay(&file);
    assert!(verified, "{summary}");
    assert_eq!((number(&summary, "runs"), number(&summary, "cut_short")), (6, 5), "{summary}");
    assert_eq!(number(&summary, "mismatches"), 0, "{summary}");
    assert_eq!(number(&summary, "lost_readings"), 0, "{summary}");
    assert_eq!(summary["end"], "done", "{summary}");

    // Another board's readings do not come into it.
    let other = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000", "--seed", "9"]);
    let before = fs::read(&file).expect("it is there");
    let output = log_command(&other.port, &file, &["--continue"]).output().expect("it runs");
    assert_eq!(output.status.code(), Some(rillmark::exit::Exit::BadInput as i32));
    assert_eq!(fs::read(&file).expect("it is there"), before);
}

#[test]
fn a_start_that_fails_leaves_no_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let file = folder.path().join("a.session");
    let probe = VirtualProcess::start(&["--tcp", "127.0.0.1:0", "--speed", "1000"]);
    let long = "x".repeat(1001);
    let output = log_command(&probe.port, &file, &["--note", &long]).output().expect("it runs");
    assert_eq!(output.status.code(), Some(rillmark::exit::Exit::BadInput as i32));
    assert!(!file.exists(), "a note that is too long leaves nothing");
    // A disk with room for nothing.
    let output = Command::new("sh")
        .args(["-c", "trap '' XFSZ; ulimit -f 0; exec \"$@\"", "sh"])
        .arg(binary::path())
        .args(["--port", &probe.port, "log", "--count", "1", "--out"])
        .arg(&file)
        .stdin(Stdio::null())
        .output()
        .expect("sh runs");
    assert_eq!(output.status.code(), Some(rillmark::exit::Exit::Storage as i32));
    assert!(!file.exists(), "nor does a full disk");
    let mut log = start_log(&probe.port, &file, &["--count", "1"]);
    assert!(log.0.wait().expect("ended").success(), "the name is free");
}
