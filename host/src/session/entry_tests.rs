//! The bytes of every entry, literally; released ones never change.

use super::*;
use crate::session::sample::{equipment, host_time};

fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ")
}

/// The body of an entry: its frame's payload without kind, version and CRC.
fn body(entry: &Entry) -> Vec<u8> {
    postcard::to_stdvec(entry).expect("it has an encoding")
}

fn header() -> Header {
    Header {
        host: "0.1.0".into(),
        board: BoardId([1, 2, 3, 4, 5, 6, 7, 8]),
        boot: 258,
        firmware: [0, 1, 2],
        wire: [1, 3],
        record_max: 1,
        reason: HeaderReason::Changed,
        sampling: Sampling::Full { interval_ms: 60_000 },
        equipment: Some(equipment()),
        in_force: vec![RecordId([0xaa; 16])],
        verifications: vec![RecordId([0xcc; 16])],
        junction_ph: Some(0.0625),
        at: host_time(7),
    }
}

/// One of every variant; the match makes a new one fail to compile until it is pinned.
fn pinned(entry: &Entry) -> &'static str {
    match entry {
        Entry::Opening { .. } => "00 52 49 4c 4c 4d 41 52 4b 20 53 45 53 53 49 4f 4e",
        Entry::Header(_) => {
            "01 05 30 2e 31 2e 30 01 02 03 04 05 06 07 08 82 02 00 01 02 01 03 01 01 03 e0 d4 03 \
             01 01 04 45 2d 31 37 01 02 4b 31 00 c0 f6 cd ed ee 66 01 aa aa aa aa aa aa aa aa aa aa \
             aa aa aa aa aa aa 01 cc cc cc cc cc cc cc cc cc cc cc cc cc cc cc cc 01 00 00 00 00 \
             00 00 b0 3f 07 8e a0 d5 ed ee 66"
        }
        Entry::Record { .. } => "02 bb bb bb bb bb bb bb bb bb bb bb bb bb bb bb bb 03 01 00 ff",
        Entry::Mark(_) => "03 02 f0 a2 04 07 8e a0 d5 ed ee 66 02",
        Entry::GapBegan { .. } => "04 01 07 8e a0 d5 ed ee 66",
        Entry::GapEnded { .. } => "05 07 8e a0 d5 ed ee 66",
        Entry::Note { .. } => "06 07 8e a0 d5 ed ee 66 03 c2 b5 53",
        Entry::End { .. } => "07 01 07 8e a0 d5 ed ee 66 02 ac 02 05",
        Entry::Measured { .. } => "08 07 8e a0 d5 ed ee 66 03 62 2e 74 05 6b 20 3d 20 31",
    }
}

fn one_of_each() -> Vec<Entry> {
    let at = host_time(7);
    vec![
        Entry::opening(),
        Entry::Header(header()),
        Entry::Record { id: RecordId([0xbb; 16]), bytes: vec![1, 0, 255] },
        Entry::Mark(Mark { boot: 2, probe_ms: 70_000, at, headers: 2 }),
        Entry::GapBegan { cause: Cause::Silent, at },
        Entry::GapEnded { at },
        Entry::Note { at, text: "µS".into() },
        Entry::End {
            reason: EndReason::Interrupted,
            at,
            headers: 2,
            readings: 300,
            line_damaged_bytes: 5,
        },
        Entry::Measured { at, file: "b.t".into(), lines: "k = 1".into() },
    ]
}

#[test]
fn every_entry_has_its_bytes() {
    for (number, entry) in one_of_each().iter().enumerate() {
        let bytes = body(entry);
        assert_eq!(hex(&bytes), pinned(entry), "{entry:?}");
        assert_eq!(usize::from(bytes[0]), number, "one of each, in order");
        assert_eq!(Entry::from_body(&bytes).as_ref(), Some(entry));
        assert_eq!(Entry::from_body(&[bytes.as_slice(), &[0]].concat()), None, "goes on");
        assert_eq!(Entry::from_body(&bytes[..bytes.len() - 1]), None, "cut short");
    }
}

#[test]
fn choices_have_their_numbers() {
    let number = |bytes: Vec<u8>| bytes[0];
    let encode = |cause: Cause| match cause {
        Cause::LineLost => (number(postcard::to_stdvec(&cause).expect("encodes")), 0),
        Cause::Silent => (number(postcard::to_stdvec(&cause).expect("encodes")), 1),
    };
    for cause in [Cause::LineLost, Cause::Silent] {
        let (is, pinned) = encode(cause);
        assert_eq!(is, pinned);
    }
    let encode = |reason: EndReason| match reason {
        EndReason::Done => (number(postcard::to_stdvec(&reason).expect("encodes")), 0),
        EndReason::Interrupted => (number(postcard::to_stdvec(&reason).expect("encodes")), 1),
    };
    for reason in [EndReason::Done, EndReason::Interrupted] {
        let (is, pinned) = encode(reason);
        assert_eq!(is, pinned);
    }
    let encode = |reason: HeaderReason| match reason {
        HeaderReason::Began => (number(postcard::to_stdvec(&reason).expect("encodes")), 0),
        HeaderReason::Changed => (number(postcard::to_stdvec(&reason).expect("encodes")), 1),
    };
    for reason in [HeaderReason::Began, HeaderReason::Changed] {
        let (is, pinned) = encode(reason);
        assert_eq!(is, pinned);
    }
}

#[test]
fn every_file_begins_with_the_same_bytes() {
    let frame = Entry::opening().frame().expect("it fits");
    assert_eq!(
        hex(&frame),
        "03 20 01 15 52 49 4c 4c 4d 41 52 4b 20 53 45 53 53 49 4f 4e 7b eb e2 7f 00"
    );
}

#[test]
fn the_longest_record_and_note_fit_and_longer_ones_are_refused() {
    let record = |len| Entry::Record { id: RecordId([1; 16]), bytes: vec![9; len] };
    assert!(record(rillmark_proto::record::MAX_RECORD_BYTES).frame().is_ok());
    assert!(record(2000).frame().is_err());
    let note = |len| Entry::Note { at: host_time(0), text: "x".repeat(len) };
    assert!(note(MAX_NOTE).frame().is_ok());
    assert!(note(2000).frame().is_err());
    let (file, lines) = ("x".repeat(MAX_FILE), "x".repeat(MAX_LINES));
    assert!(Entry::Measured { at: host_time(0), file, lines }.frame().is_ok());
}
