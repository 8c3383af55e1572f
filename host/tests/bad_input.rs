//! What cannot work ends with one sentence that says what to do, and with its own exit code.
#![cfg(unix)]

use std::io::{Read, Write};
use std::net::TcpListener;
use std::process::{Command, Output, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use serde_json::Value;
use serialport::{SerialPort, TTYPort};

fn rillmark(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_rillmark"))
        .args(arguments)
        .stdin(Stdio::null())
        .output()
        .expect("the program was built for this test")
}

/// Runs it, wants this exit code, nothing on standard output and one sentence on standard error.
fn refused(arguments: &[&str], exit: i32) -> String {
    let output = rillmark(arguments);
    let error = String::from_utf8(output.stderr).expect("UTF-8");
    assert_eq!(output.status.code(), Some(exit), "{arguments:?}: {error}");
    assert!(output.stdout.is_empty(), "{arguments:?}");
    assert_eq!(error.lines().count(), 1, "{arguments:?}: {error}");
    error
}

#[test]
fn ports_that_are_not_there_or_no_ports() {
    let said = refused(&["--port", "/dev/no-such-port", "show"], 4);
    assert!(said.contains("not there"), "{said}");
    let said = refused(&["--port", "/dev/null", "show"], 4);
    assert!(said.contains("/dev/null is not a serial port"), "{said}");
    let said = refused(&["--port", env!("CARGO_BIN_EXE_rillmark"), "show"], 4);
    assert!(said.contains("not a serial port"), "{said}");
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let address = format!("tcp:{}", listener.local_addr().expect("bound"));
    drop(listener);
    let said = refused(&["--port", &address, "show"], 4);
    assert!(said.contains("cannot open"), "{said}");
}

#[test]
fn a_port_that_another_program_has() {
    let (_master, slave) = TTYPort::pair().expect("a pseudo-terminal");
    let path = slave.name().expect("it has a path");
    drop(slave);
    let _other = serialport::new(&path, 115_200).open().expect("it is free");
    let said = refused(&["--port", &path, "show"], 4);
    assert!(said.contains("in use by another program"), "{said}");
}

#[test]
fn a_port_where_nothing_or_something_else_answers() {
    let (mut master, slave) = TTYPort::pair().expect("a pseudo-terminal");
    let path = slave.name().expect("it has a path");
    drop(slave);
    let said = refused(&["--port", &path, "show"], 5);
    assert!(said.contains("nothing answers"), "{said}");

    let over = Arc::new(AtomicBool::new(false));
    let talker = {
        let over = Arc::clone(&over);
        std::thread::spawn(move || {
            while !over.load(Ordering::SeqCst) {
                // Fails while nobody has the other end open.
                let _ = master.write_all(b"login: \r\n");
                std::thread::sleep(Duration::from_millis(20));
            }
        })
    };
    let said = refused(&["--port", &path, "show"], 5);
    assert!(said.contains("not a Rillmark probe"), "{said}");
    over.store(true, Ordering::SeqCst);
    talker.join().expect("it does not panic");
}

/// What a program came to that ends by itself in time; one that does not is ended.
fn ends_within(mut child: std::process::Child, most: Duration) -> Option<Output> {
    let begun = std::time::Instant::now();
    while begun.elapsed() < most {
        if child.try_wait().expect("it is our child").is_some() {
            return Some(child.wait_with_output().expect("it is our child"));
        }
        std::thread::sleep(Duration::from_millis(20));
    }
    child.kill().expect("it is our child");
    child.wait().expect("it is our child");
    None
}

#[test]
fn a_flood_ends_in_a_sentence() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let address = format!("tcp:{}", listener.local_addr().expect("bound"));
    let noise = (0..1_u64 << 13).flat_map(|n| n.wrapping_mul(0x9e37_79b9_7f4a_7c15).to_le_bytes());
    let noise: Vec<u8> = noise.collect();
    std::thread::spawn(move || {
        for client in listener.incoming() {
            let mut client = client.expect("somebody connects");
            // Until the other side has had enough.
            while client.write_all(&noise).is_ok() {}
        }
    });
    let session = folder.path().join("a.session").display().to_string();
    for arguments in [vec!["show"], vec!["log", "--for", "3", "--out", &session]] {
        let child = Command::new(env!("CARGO_BIN_EXE_rillmark"))
            .args(["--port", &address])
            .args(&arguments)
            .stdin(Stdio::null())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program was built for this test");
        // Five hellos of a second each, on a machine that may be busy.
        let output = ends_within(child, Duration::from_secs(30)).expect("it ends by itself");
        assert_eq!(output.status.code(), Some(5), "{arguments:?}");
        assert!(String::from_utf8_lossy(&output.stderr).contains("not a Rillmark probe"));
    }
}

/// A program that reads what never ends, with no more memory than there is sense in.
fn of_what_never_ends(arguments: &[&str]) -> Output {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let zeros = std::fs::File::open("/dev/zero").expect("a Unix has it");
    // In the shell, for the limit: 1 GB, of addresses too.
    let child = Command::new("sh")
        .args(["-c", "ulimit -v 1000000; exec \"$0\" \"$@\"", env!("CARGO_BIN_EXE_rillmark")])
        .args(arguments)
        .current_dir(folder.path())
        .stdin(zeros)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program was built for this test");
    ends_within(child, Duration::from_secs(30)).expect("it ends by itself")
}

#[test]
fn input_without_an_end_is_an_error() {
    let standard = "--standard=borax,lot=B1";
    let sachet = "--standard=technical-7.00,sachet";
    for (arguments, exit, said) in [
        (
            vec![
                "calibrate",
                "ph",
                "--standard=technical-7.00",
                standard,
                "--answers",
                "/dev/zero",
            ],
            3,
            "larger",
        ),
        (vec!["calibrate", "ph", sachet, standard], 3, "sachet"),
        (vec!["calibrate", "ph", "--standard=file=/dev/zero", standard], 3, "larger"),
        (vec!["fit", "ph", "-"], 7, "larger"),
        (vec!["fit", "ph", "/dev/zero"], 7, "larger"),
    ] {
        let output = of_what_never_ends(&[&["--port", "virtual"], &arguments[..]].concat());
        let error = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(exit), "{arguments:?}: {error}");
        assert!(error.contains(said), "{arguments:?}: {error}");
    }
}

#[test]
fn files_that_are_no_sessions_or_exist_already() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let path = |name: &str| folder.path().join(name).display().to_string();
    let (empty, foreign, missing) = (path("empty"), path("foreign"), path("missing"));
    std::fs::write(&empty, b"").expect("there is room");
    std::fs::write(&foreign, b"utc,ph\n1,7\n").expect("there is room");
    assert!(refused(&["replay", &empty], 3).contains("empty"));
    assert!(refused(&["replay", &foreign], 3).contains("not a session file"));
    assert!(refused(&["replay", &missing], 7).contains("cannot read"));
    let port = format!("virtual:{}", path("flash"));
    let said = refused(&["--port", &port, "log", "--count", "1", "--out", &foreign], 7);
    assert!(said.contains("not overwritten"), "{said}");
    assert_eq!(std::fs::read(&foreign).expect("still there"), b"utc,ph\n1,7\n");
    let said = refused(&["--port", &port, "equip", "--cell", "seventeen-letters"], 3);
    assert!(said.contains("16"), "{said}");
    let said = refused(&["--port", &port, "--probe", "0000000000000000", "show"], 4);
    assert!(said.contains("not 0000000000000000"), "{said}");
}

#[test]
fn with_json_the_failure_is_an_object() {
    for (arguments, exit, name) in [
        (vec!["--json", "--port", "/dev/no-such-port", "show"], 4, "port"),
        (vec!["--json", "no-such-command"], 2, "usage"),
    ] {
        let output = rillmark(&arguments);
        assert_eq!(output.status.code(), Some(exit));
        let error = String::from_utf8(output.stderr).expect("UTF-8");
        let value: Value = serde_json::from_str(error.trim_end()).expect("one JSON object");
        assert_eq!(value["failure"]["exit"], exit);
        assert_eq!(value["failure"]["name"], name);
        assert!(value["failure"]["sentence"].is_string());
    }
}

#[test]
fn a_reader_that_goes_away_is_success_and_a_full_disk_is_not() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let port = format!("virtual:{}", folder.path().join("flash").display());
    let mut child = Command::new(env!("CARGO_BIN_EXE_rillmark"))
        .args(["--port", &port, "watch"])
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program was built for this test");
    let mut first = [0; 1];
    child.stdout.take().expect("piped").read_exact(&mut first).expect("it prints");
    // The pipe is closed now; without a count only that ends the command.
    let output = child.wait_with_output().expect("it is our child");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    // What the marks mean stands there, why a new probe shows no pH, and nothing of the pipe.
    let told = String::from_utf8_lossy(&output.stderr);
    let notes = told.strip_prefix(rillmark::words::en::assess::MARKS).expect("the marks first");
    let is_note = |line: &str| line.is_empty() || line.starts_with("note: ");
    assert!(notes.lines().all(is_note), "{told}");

    if cfg!(target_os = "linux") {
        let full = std::fs::OpenOptions::new().write(true).open("/dev/full").expect("Linux has it");
        let status = Command::new(env!("CARGO_BIN_EXE_rillmark"))
            .args(["reference", "nernst", "--at", "25"])
            .stdout(full)
            .stderr(Stdio::null())
            .status()
            .expect("the program was built for this test");
        assert_eq!(status.code(), Some(7));
    }
}

#[test]
fn every_command_has_help_with_an_example() {
    // From the help itself, so that a new command is not forgotten here.
    fn look_at(command: &[&str], seen: &mut Vec<String>) {
        let output = rillmark(&[command, &["--help"]].concat());
        assert!(output.status.success(), "{command:?}");
        let help = String::from_utf8(output.stdout).expect("UTF-8");
        assert!(help.contains("Example:\n  rillmark "), "{command:?}: {help}");
        seen.push(command.join(" "));
        let list = help.lines().skip_while(|line| *line != "Commands:").skip(1);
        for line in list.take_while(|line| !line.is_empty()) {
            // Further lines of a description are indented deeper.
            let name = line.strip_prefix("  ").filter(|rest| !rest.starts_with(' '));
            if let Some(name) = name.and_then(|rest| rest.split_whitespace().next())
                && name != "help"
            {
                look_at(&[command, &[name]].concat(), seen);
            }
        }
    }
    let mut seen = Vec::new();
    look_at(&[], &mut seen);
    for command in ["demo", "calibrate conductivity", "reference nernst", "fit ph", "virtual"] {
        assert!(seen.iter().any(|it| it == command), "{command} is not among {seen:?}");
    }
}
