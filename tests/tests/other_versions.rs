//! A host with firmware of another time: the real binary over TCP against a probe that speaks other
//! versions, and what each is told to do.

use std::io::{Read, Write};
use std::net::TcpListener;
use std::thread;

use rillmark_proto::identity::BoardId;
use rillmark_proto::record::codec::RECORD_VERSION;
use rillmark_proto::wire::encode_hello_answer;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::message::WIRE_VERSION;
use rillmark_proto::wire::start::{Cause, Start};
use rillmark_tests::binary::rillmark;

/// What a probe that answers every hello so, and nothing else, is told; the exit code with it.
fn told(wire: (u8, u8), record_max: u8, command: &[&str]) -> (Option<i32>, String) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
    let port = format!("tcp:{}", listener.local_addr().expect("it is bound"));
    let answer = HelloAnswer {
        wire_min: wire.0,
        wire_max: wire.1,
        record_max,
        board: BoardId([1, 2, 3, 4, 5, 6, 7, 8]),
        boot: 1,
        firmware: [9, 0, 0],
        start: Start { cause: Cause::PowerOn, restarts: 0, trouble: None },
    };
    thread::spawn(move || {
        let mut frame = [0; MAX_FRAME];
        let len = encode_hello_answer(answer, &mut frame).expect("it fits a frame");
        let (mut line, _) = listener.accept().expect("the binary connects");
        let mut heard = [0; 256];
        while line.read(&mut heard).is_ok_and(|bytes| bytes > 0) {
            if line.write_all(&frame[..len]).is_err() {
                break;
            }
        }
    });
    let output =
        rillmark().args(["--port", &port]).args(command).output().expect("the binary runs");
    (output.status.code(), String::from_utf8(output.stderr).expect("UTF-8"))
}

#[test]
fn each_side_is_told_who_is_to_be_updated() {
    let calibrate =
        ["calibrate", "ph", "--standard", "phosphate-1-1", "--standard", "phthalate-1977"];
    let ours = (WIRE_VERSION, WIRE_VERSION);
    let verify = ["verify", "ph", "--standard", "phosphate-1-3.5"];
    let (same, newer) = (RECORD_VERSION, RECORD_VERSION + 1);
    let (older, show) = (RECORD_VERSION - 1, &["show"][..]);
    let firmware = "Update the probe's firmware";
    let cases = [
        ("older wire", (0, WIRE_VERSION - 1), same, show, firmware),
        ("newer wire", (WIRE_VERSION + 1, WIRE_VERSION + 2), same, show, "Update rillmark."),
        ("older records, calibration", ours, older, &calibrate, firmware),
        ("older records, verification", ours, older, &verify, firmware),
        // Of one that speaks a newer wire too, the common version is spoken: this probe goes on to
        // be silent.
        ("both wires", (WIRE_VERSION, WIRE_VERSION + 1), newer, show, "did not answer"),
    ];
    for (name, wire, record_max, command, expected) in cases {
        let (exit, said) = told(wire, record_max, command);
        assert_eq!(exit, Some(5), "{name}: {said}");
        assert!(said.contains(expected), "{name}: {said}");
    }
}
