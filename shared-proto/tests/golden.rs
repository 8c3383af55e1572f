//! The golden files of every released version: bytes on disk that later releases must still read.
//!
//! `RILLMARK_REGOLD=1 cargo test -p rillmark-proto --test golden` writes the files of the newest
//! version anew. Before a release that is how they follow the code; once a version is released,
//! its `.frames` and `.record` files stay as they are for ever, and only the `.txt` beside them
//! may follow a changed name.

mod samples;

use std::fmt::Write as _;
use std::fs;
use std::path::PathBuf;

use rillmark_proto::record::{Record, codec};
use rillmark_proto::wire::frame::{MAX_FRAME, Payload, Piece, encode, kind, pieces, unpack};
use rillmark_proto::wire::message::{Answer, Done, FromProbe, Order};
use rillmark_proto::wire::{
    Incoming, decode, encode_command, encode_from_probe, encode_hello, encode_hello_answer,
};

fn golden(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden").join(name)
}

/// Compares with a golden file, or writes it when asked to.
fn compare(name: &str, found: &[u8]) {
    if std::env::var_os("RILLMARK_REGOLD").is_some() {
        fs::write(golden(name), found).expect("the golden folder can be written");
    }
    let expected = fs::read(golden(name)).expect("the golden file is there");
    let differs = expected.iter().zip(found).position(|(expected, found)| expected != found);
    assert!(expected == found, "{name} differs, first at byte {differs:?}");
}

/// What the newest version says, in frames.
fn newest_conversation() -> Vec<u8> {
    let (mut stream, mut out) = (Vec::new(), [0; MAX_FRAME]);
    let len = encode_hello(samples::HELLO, &mut out).expect("fits");
    stream.extend(&out[..len]);
    let len = encode_hello_answer(samples::hello_answer(), &mut out).expect("fits");
    stream.extend(&out[..len]);
    let (commands, messages) = samples::conversation();
    for command in commands {
        let len = encode_command(&command, &mut out).expect("fits");
        stream.extend(&out[..len]);
    }
    for message in messages {
        let len = encode_from_probe(&message, &mut out).expect("fits");
        stream.extend(&out[..len]);
    }
    let len = encode(kind::SESSION, 1, b"any body", &mut out).expect("fits");
    stream.extend(&out[..len]);
    stream
}

fn record_text(bytes: &[u8]) -> String {
    let record = codec::decode(bytes).expect("a record");
    format!("{} {record:#?}", codec::identity(bytes))
}

/// What frames say, each with its place; records within them are told as records.
fn text(stream: &[u8]) -> String {
    let (mut text, mut space) = (String::new(), [0; MAX_FRAME]);
    for piece in pieces(stream) {
        let Piece::Frame { offset, raw } = piece else { panic!("whole frames only: {piece:?}") };
        let payload = unpack(raw, &mut space).expect("a whole frame");
        let Payload { kind, version, .. } = payload;
        let incoming = decode(&payload).expect("a message");
        let record = match &incoming {
            Incoming::Command(command) => match &command.order {
                Order::Keep(bytes) | Order::KeepEarlier(bytes) => Some(bytes),
                _ => None,
            },
            Incoming::FromProbe(FromProbe::Answer(Answer {
                outcome: Ok(Done::Record(bytes)),
                ..
            })) => Some(bytes),
            _ => None,
        };
        writeln!(text, "{offset}: kind 0x{kind:02x}, version {version}").expect("a string");
        match record.filter(|bytes| codec::decode(bytes).is_ok()) {
            Some(bytes) => writeln!(text, "record {}", record_text(bytes)),
            None => writeln!(text, "{incoming:#?}"),
        }
        .expect("a string");
    }
    text
}

#[test]
fn wire_version_1_is_read() {
    compare("wire-v1.frames", &newest_conversation());
    let stream = fs::read(golden("wire-v1.frames")).expect("the golden file is there");
    compare("wire-v1.txt", text(&stream).as_bytes());
}

#[test]
fn record_version_1_is_read() {
    let records = [
        ("record-v1-ph", Record::from(samples::ph_record())),
        ("record-v1-conductivity", samples::conductivity_record().into()),
        ("record-v1-verification", samples::verification_record().into()),
    ];
    for (name, record) in records {
        let file = format!("{name}.record");
        compare(&file, &codec::encode(&record).expect("fits"));
        let bytes = fs::read(golden(&file)).expect("the golden file is there");
        compare(&format!("{name}.txt"), format!("{}\n", record_text(&bytes)).as_bytes());
    }
}
