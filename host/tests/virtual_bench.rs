//! `rillmark virtual` in a process of its own, spoken to from this one.

use std::io::{BufRead, BufReader, Read, Write};
use std::path::Path;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::time::{Duration, Instant};

use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::hello::{Hello, HelloAnswer};
use rillmark_proto::wire::{Incoming, decode, encode_hello};
use serde_json::Value;

/// Longest wait for anything, so that a failure ends.
const PATIENCE: Duration = Duration::from_secs(20);

struct Served {
    child: Child,
    lines: BufReader<ChildStdout>,
    control: Option<ChildStdin>,
    at: String,
}

impl Served {
    fn start(arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_rillmark"))
            .args(["--json", "virtual"])
            .args(arguments)
            .stdin(Stdio::piped())
            .stdout(Stdio::piped())
            .spawn()
            .expect("the program was built for this test");
        let control = child.stdin.take();
        let lines = BufReader::new(child.stdout.take().expect("it is piped"));
        let mut served = Self { child, lines, control, at: String::new() };
        served.at = served.line()["serving"].as_str().expect("it says where").to_owned();
        served
    }

    fn line(&mut self) -> Value {
        let mut line = String::new();
        self.lines.read_line(&mut line).expect("its output is text");
        serde_json::from_str(&line).expect("a line of JSON")
    }

    fn tell(&mut self, line: &str) -> Value {
        let control = self.control.as_mut().expect("still open");
        writeln!(control, "{line}").expect("it reads its input");
        self.line()
    }

    fn ends(&mut self) -> bool {
        let start = Instant::now();
        while start.elapsed() < PATIENCE {
            if self.child.try_wait().expect("it is our child").is_some() {
                return true;
            }
            std::thread::sleep(Duration::from_millis(5));
        }
        false
    }
}

impl Drop for Served {
    fn drop(&mut self) {
        let _ = self.child.kill(); // it may have ended already
        let _ = self.child.wait();
    }
}

/// Says hello until it is answered.
fn hello(line: &mut (impl Read + Write)) -> HelloAnswer {
    let mut frame = [0; MAX_FRAME];
    let length = encode_hello(Hello { wire_min: 1, wire_max: 1 }, &mut frame).unwrap();
    let (start, mut decoder) = (Instant::now(), Decoder::new());
    while start.elapsed() < PATIENCE {
        line.write_all(&frame[..length]).expect("the line takes a hello");
        let said = Instant::now();
        while said.elapsed() < Duration::from_secs(1) {
            let mut bytes = [0; 256];
            let count = line.read(&mut bytes).unwrap_or(0);
            for &byte in &bytes[..count] {
                if let Some(Event::Payload(payload)) = decoder.push(byte)
                    && let Ok(Incoming::HelloAnswer(answer)) = decode(&payload)
                {
                    return answer;
                }
            }
        }
    }
    panic!("no answer to the hello");
}

fn socket(at: &str) -> std::net::TcpStream {
    let address = at.strip_prefix("tcp:").expect("served on TCP");
    let socket = std::net::TcpStream::connect(address).expect("it listens");
    socket.set_read_timeout(Some(Duration::from_millis(20))).unwrap();
    socket
}

/// True when the other end closed the socket.
fn closed(socket: &mut std::net::TcpStream) -> bool {
    let start = Instant::now();
    while start.elapsed() < PATIENCE {
        match socket.read(&mut [0; 64]) {
            Ok(0) => return true,
            Err(error) if error.kind() == std::io::ErrorKind::ConnectionReset => return true,
            _ => {}
        }
    }
    false
}

#[test]
fn serves_one_client_after_the_other_on_tcp() {
    let mut served = Served::start(&["--tcp", "127.0.0.1:0", "--speed", "50"]);
    for _ in 0..2 {
        assert_eq!(hello(&mut socket(&served.at)).boot, 1);
    }
    assert_eq!(served.tell("power-cycle")["ok"], true);
    assert_eq!(hello(&mut socket(&served.at)).boot, 2);
    assert_eq!(served.tell("quit")["ok"], true);
    assert!(served.ends());
}

#[test]
fn control_lines_are_answered_one_by_one() {
    let mut served = Served::start(&["--tcp", "127.0.0.1:0", "--beaker", "air"]);
    assert_eq!(served.tell("beaker 1413 21.5")["ok"], true);
    assert_eq!(served.tell("fault adc-silent")["ok"], true);
    let status = served.tell("status");
    assert_eq!(status["beaker"], "kcl-0.01-mol-per-l");
    assert_eq!(status["temperature_c"], 21.5);
    assert_eq!(status["faults"], serde_json::json!(["adc-silent"]));
    let refused = served.tell("beaker phthalate-1977 400");
    assert_eq!(refused["ok"], false);
    assert!(refused["sentence"].as_str().is_some_and(|why| why.contains("400")));
    assert_eq!(served.tell("clear")["ok"], true);
    assert_eq!(served.tell("status")["faults"], serde_json::json!([]));
}

#[test]
fn a_pulled_cable_closes_the_line_until_it_is_plugged_in() {
    let mut served = Served::start(&["--tcp", "127.0.0.1:0"]);
    let mut first = socket(&served.at);
    hello(&mut first);
    assert_eq!(served.tell("unplug")["ok"], true);
    assert!(closed(&mut first));
    assert!(closed(&mut socket(&served.at)), "turned away while unplugged");
    assert_eq!(served.tell("plug")["serving"].as_str(), Some(served.at.as_str()));
    assert_eq!(hello(&mut socket(&served.at)).boot, 1, "the probe ran on");
}

#[test]
fn the_end_of_its_input_ends_it_only_when_told_so() {
    let mut served = Served::start(&["--tcp", "127.0.0.1:0"]);
    served.control = None;
    std::thread::sleep(Duration::from_millis(50));
    hello(&mut socket(&served.at));
    let mut until = Served::start(&["--tcp", "127.0.0.1:0", "--until-eof"]);
    until.control = None;
    assert!(until.ends());
}

#[test]
fn a_killed_bench_loses_nothing_of_its_flash() {
    let folder = tempfile::tempdir().unwrap();
    let flash = folder.path().join("probe.flash");
    let flash = flash.to_str().expect("a temporary folder has a plain name");
    for boot in 1..=3 {
        let served = Served::start(&["--tcp", "127.0.0.1:0", "--flash", flash]);
        assert_eq!(hello(&mut socket(&served.at)).boot, boot);
    }
}

#[test]
fn what_cannot_be_served_is_one_sentence_and_an_exit_code() {
    let folder = tempfile::tempdir().unwrap();
    let foreign = folder.path().join("letter.txt");
    std::fs::write(&foreign, "Dear lake").unwrap();
    let foreign = foreign.to_str().expect("a temporary folder has a plain name");
    let cases: [(&[&str], i32, &str); 5] = [
        (&["--beaker", "tea"], 3, "tea"),
        (&["--speed", "0"], 3, "speed"),
        (&["--tcp", "not an address"], 4, "cannot serve"),
        (&["--tcp", "127.0.0.1:0", "--flash", foreign], 7, "not a flash image"),
        (&["--tcp", "127.0.0.1:0", "--link", "x"], 3, "--link"),
    ];
    for (arguments, code, part) in cases {
        let output = Command::new(env!("CARGO_BIN_EXE_rillmark"))
            .arg("virtual")
            .args(arguments)
            .stdin(Stdio::null())
            .output()
            .expect("the program was built for this test");
        let said = String::from_utf8_lossy(&output.stderr);
        assert_eq!(output.status.code(), Some(code), "{arguments:?}: {said}");
        assert!(said.contains(part) && said.trim_end().lines().count() == 1, "{said}");
    }
    assert_eq!(std::fs::read_to_string(Path::new(foreign)).unwrap(), "Dear lake");
}

#[cfg(unix)]
mod pseudo_terminal {
    use super::{Duration, Instant, PATIENCE, Read, Served, hello};

    fn open(path: &str) -> Box<dyn serialport::SerialPort> {
        serialport::new(path, 115_200)
            .timeout(Duration::from_millis(20))
            .open()
            .expect("a pseudo-terminal is a serial port")
    }

    #[test]
    fn looks_like_a_serial_port_whose_client_may_leave_and_come_back() {
        let served = Served::start(&["--pty"]);
        for _ in 0..3 {
            assert_eq!(hello(&mut open(&served.at)).boot, 1);
        }
    }

    #[test]
    fn a_second_client_finds_it_busy() {
        let served = Served::start(&["--pty"]);
        let first = open(&served.at);
        assert!(serialport::new(&served.at, 115_200).open().is_err());
        drop(first);
        open(&served.at);
    }

    #[test]
    fn a_pulled_cable_is_an_error_and_the_link_leads_to_the_new_one() {
        let folder = tempfile::tempdir().unwrap();
        let link = folder.path().join("probe");
        let path = link.to_str().expect("a temporary folder has a plain name");
        let mut served = Served::start(&["--pty", "--link", path]);
        assert_eq!(served.at, path);
        let mut port = open(path);
        hello(&mut port);
        assert_eq!(served.tell("unplug")["ok"], true);
        let start = Instant::now();
        let lost = loop {
            match port.read(&mut [0; 64]) {
                Err(error) if error.kind() != std::io::ErrorKind::TimedOut => break true,
                Ok(0) => break true,
                _ if start.elapsed() > PATIENCE => break false,
                _ => {}
            }
        };
        assert!(lost && !link.exists());
        assert_eq!(served.tell("plug")["ok"], true);
        drop(port);
        assert_eq!(hello(&mut open(path)).boot, 1);
        assert_eq!(served.tell("quit")["ok"], true);
        assert!(served.ends() && !link.is_symlink());
    }
}

#[test]
fn a_line_that_is_no_text_is_answered_and_the_next_one_too() {
    let mut served = Served::start(&["--tcp", "127.0.0.1:0"]);
    let control = served.control.as_mut().expect("still open");
    control.write_all(b"beaker \xff\xfe\n").expect("it reads its input");
    assert_eq!(served.line()["ok"], false);
    assert_eq!(served.tell("beaker lake")["ok"], true);
}

#[cfg(unix)]
#[test]
fn an_interruption_ends_a_wait_for_a_person() {
    let served = Served::start(&["--tcp", "127.0.0.1:0"]);
    let equipped = Command::new(env!("CARGO_BIN_EXE_rillmark"))
        .args(["--port", &served.at, "equip", "--electrode", "E-17"])
        .stdout(Stdio::null())
        .status();
    assert!(equipped.expect("the program was built for this test").success());
    let mut asking = Command::new(env!("CARGO_BIN_EXE_rillmark"))
        .args(["--json", "--port", &served.at, "calibrate", "ph"])
        .args(["--standard=technical-7.00,lot=A", "--standard=technical-4.01,lot=B"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program was built for this test");
    // Whose end stays open: a person who does not answer.
    let _person = asking.stdin.take();
    let mut said = BufReader::new(asking.stdout.take().expect("it is piped")).lines();
    let is_question = |line: &std::io::Result<String>| {
        line.as_ref().is_ok_and(|line| line.contains("\"step\":\"place\""))
    };
    assert!(said.any(|line| is_question(&line)));
    let signalled = Command::new("kill").args(["-INT", &asking.id().to_string()]).status();
    assert!(signalled.expect("a Unix has it").success());
    let begun = Instant::now();
    while begun.elapsed() < PATIENCE && asking.try_wait().expect("it is our child").is_none() {
        std::thread::sleep(Duration::from_millis(5));
    }
    let _ = asking.kill(); // it has ended already, or never will
    let output = asking.wait_with_output().expect("it is our child");
    let error = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(9), "{error}");
    assert!(error.contains("cancelled"), "{error}");
}
