//! What travels on the line: found by three ways that have to agree, and decoded.

use rillmark::link::arrivals::Arrivals;
use rillmark_proto::wire::frame::{
    DELIMITER, Decoder, Event, MAX_FRAME, Payload, Piece, encode, kind, pieces, unpack,
};
use rillmark_proto::wire::{
    Incoming, decode, encode_command, encode_from_probe, encode_hello, encode_hello_answer,
};

use crate::random::Random;

/// Every message of version 1, invented; the same file that pins the wire's bytes.
const GOLDEN: &[u8] = include_bytes!("../../../../shared-proto/tests/golden/wire-v1.frames");

pub(super) fn seeds() -> Vec<Vec<u8>> {
    let frames: Vec<Vec<u8>> =
        GOLDEN.split_inclusive(|byte| *byte == DELIMITER).map(<[u8]>::to_vec).collect();
    // Single ones and a few at once; long ones are few, for they cost the most.
    let short = frames.iter().filter(|frame| frame.len() < 200).cloned();
    let pairs = frames.windows(3).map(<[_]>::concat).filter(|three| three.len() < 300);
    let mut seeds: Vec<_> = short.chain(pairs).collect();
    seeds.push(GOLDEN.to_vec());
    seeds
}

/// Frames and damaged bytes of a stream.
#[derive(Debug, Default, PartialEq, Eq)]
struct Found<'a> {
    frames: Vec<&'a [u8]>,
    damaged: u64,
}

/// True when a frame in it says something.
pub(super) fn check(stream: &[u8]) -> bool {
    let found = in_memory(stream);
    arrives_in_chunks(stream, &found);
    reaches_the_probe(stream, &found);
    let mut space = [0; MAX_FRAME];
    let mut is_whole = false;
    for raw in found.frames {
        let payload = unpack(raw, &mut space).expect("a frame that was found is whole");
        is_whole |= says_the_same_again(&payload);
    }
    is_whole
}

fn in_memory(stream: &[u8]) -> Found<'_> {
    let (mut found, mut end) = (Found::default(), 0);
    for piece in pieces(stream) {
        let (offset, len) = match piece {
            Piece::Frame { offset, raw } => {
                assert_eq!(raw, &stream[offset..offset + raw.len()], "a frame is where it stands");
                found.frames.push(raw);
                (offset, raw.len())
            }
            Piece::Damage { offset, bytes } | Piece::Unfinished { offset, bytes } => {
                found.damaged += bytes as u64;
                (offset, bytes)
            }
        };
        let between = stream.get(end..offset).expect("pieces stand in their order");
        assert!(between.iter().all(|byte| *byte == DELIMITER), "only delimiters between pieces");
        end = offset + len;
    }
    assert!(stream[end..].iter().all(|byte| *byte == DELIMITER), "only delimiters behind them");
    found
}

/// The host, which is given the bytes in pieces of any length.
fn arrives_in_chunks(stream: &[u8], expected: &Found<'_>) {
    let mut random = Random::new(stream.len() as u64);
    let (mut arrivals, mut rest) = (Arrivals::default(), stream);
    let mut frames = expected.frames.iter();
    while !rest.is_empty() {
        let (chunk, left) = rest.split_at(1 + random.below(rest.len().min(90)));
        arrivals.push(chunk);
        rest = left;
        while let Some(arrival) = arrivals.pop() {
            let frame = arrival.into_frame();
            assert_eq!(frames.next(), Some(&&frame[..]), "the same frames in chunks");
        }
    }
    arrivals.cut();
    assert_eq!(frames.next(), None, "all frames in chunks");
    assert_eq!(arrivals.damaged_bytes(), expected.damaged, "as many damaged bytes in chunks");
    assert_eq!(arrivals.bytes(), stream.len() as u64);
}

/// The probe, which takes byte by byte and remembers no more than a frame.
fn reaches_the_probe(stream: &[u8], expected: &Found<'_>) {
    let mut decoder = Decoder::new();
    let mut space = [0; MAX_FRAME];
    let (mut whole, mut damaged) = (0, 0);
    let mut expected_frames = expected.frames.iter();
    for byte in stream {
        match decoder.push(*byte) {
            Some(Event::Payload(payload)) => {
                // It may miss some, but none is another.
                let same =
                    expected_frames.find(|raw| unpack(raw, &mut space).as_ref() == Some(&payload));
                whole += same.expect("the probe sees what is in memory").len() as u64;
            }
            Some(Event::Damage { bytes }) => damaged += u64::from(bytes),
            None => {}
        }
    }
    damaged += u64::from(decoder.reset());
    assert_eq!(decoder.damaged_bytes(), damaged, "the running count is that of the events");
    let all: u64 = expected.frames.iter().map(|raw| raw.len() as u64).sum();
    assert_eq!(whole + damaged, all + expected.damaged, "every byte is a frame's or damage");
    let is_short = stream.split(|byte| *byte == DELIMITER).all(|segment| segment.len() < MAX_FRAME);
    assert!(!is_short || damaged == expected.damaged, "the probe finds every frame");
}

/// True when it says anything; then it says the same after another journey.
fn says_the_same_again(payload: &Payload<'_>) -> bool {
    let Ok(incoming) = decode(payload) else { return false };
    let mut out = [0; MAX_FRAME];
    let once = encoded(&incoming, &mut out);
    let mut space = [0; MAX_FRAME];
    let again = unpack(once, &mut space).expect("what we encode is a frame");
    assert_eq!((again.kind, again.version), (payload.kind, payload.version));
    let said = decode(&again).expect("what we encode we decode");
    // Compared by their bytes: a NaN is not equal to itself.
    let mut out = [0; MAX_FRAME];
    assert_eq!(encoded(&said, &mut out), once, "the same is said again");
    true
}

fn encoded<'a>(incoming: &Incoming<'_>, out: &'a mut [u8; MAX_FRAME]) -> &'a [u8] {
    let len = match incoming {
        Incoming::Hello(hello) => encode_hello(*hello, out),
        Incoming::HelloAnswer(answer) => encode_hello_answer(*answer, out),
        Incoming::Command(command) => encode_command(command, out),
        Incoming::FromProbe(message) => encode_from_probe(message, out),
        Incoming::Session { version, body } => encode(kind::SESSION, *version, body, out),
    };
    &out[..len.expect("what a frame said fits a frame")]
}
