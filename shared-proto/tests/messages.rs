//! Messages: what goes in comes out, and what is unknown is named.

mod arbitrary;
mod samples;

use proptest::prelude::*;
use rillmark_proto::record::RecordBytes;
use rillmark_proto::wire::frame::{
    Decoder, EncodeError, Event, MAX_BODY, MAX_FRAME, Payload, kind, unpack,
};
use rillmark_proto::wire::hello::{Hello, HelloAnswer};
use rillmark_proto::wire::message::{
    Answer, Command, Done, FromProbe, MAX_LISTED, Order, WIRE_VERSION,
};
use rillmark_proto::wire::start::{START_LEN, Start};
use rillmark_proto::wire::{
    DecodeError, Incoming, decode, encode_command, encode_from_probe, encode_hello,
    encode_hello_answer,
};

/// Encodes into a buffer and decodes the frame again.
fn there_and_back(
    encode: impl FnOnce(&mut [u8]) -> Result<usize, EncodeError>,
    check: impl FnOnce(Incoming<'_>),
) {
    let (mut out, mut space) = ([0; MAX_FRAME], [0; MAX_FRAME]);
    let len = encode(&mut out).expect("every message fits");
    let payload = unpack(&out[..len], &mut space).expect("a whole frame");
    check(decode(&payload).expect("a message"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// A reading whose values are no numbers is malformed: not one of them goes any further.
    #[test]
    fn what_is_no_number_does_not_come_back(
        reading in arbitrary::reading(),
        bad in proptest::sample::select(&[f32::NAN, f32::INFINITY, f32::NEG_INFINITY]),
        at in 0..4,
    ) {
        let mut reading = reading;
        let computed = &mut reading.computed;
        *match at {
            0 => &mut computed.temperature_c,
            1 => &mut computed.ph,
            2 => &mut computed.conductivity_us_cm,
            _ => &mut computed.specific_conductance_us_cm,
        } = Some(bad);
        let (mut out, mut space) = ([0; MAX_FRAME], [0; MAX_FRAME]);
        let len = encode_from_probe(&FromProbe::Reading(reading), &mut out).expect("it fits");
        let payload = unpack(&out[..len], &mut space).expect("a whole frame");
        prop_assert_eq!(decode(&payload), Err(DecodeError::Malformed { kind: kind::FROM_PROBE }));
    }

    #[test]
    fn commands_come_back(command in arbitrary::command()) {
        there_and_back(|out| encode_command(&command, out), |incoming| {
            assert_eq!(incoming, Incoming::Command(command.clone()));
        });
    }

    #[test]
    fn answers_and_readings_come_back(message in arbitrary::from_probe()) {
        there_and_back(|out| encode_from_probe(&message, out), |incoming| {
            assert_eq!(incoming, Incoming::FromProbe(message.clone()));
        });
    }

    #[test]
    fn hellos_come_back(
        versions in any::<[u8; 3]>(), board in any::<[u8; 8]>(), boot: u32, firmware: [u8; 3],
        start in any::<[u8; START_LEN]>(),
    ) {
        let [wire_min, wire_max, record_max] = versions;
        let hello = Hello { wire_min, wire_max };
        there_and_back(|out| encode_hello(hello, out), |incoming| {
            assert_eq!(incoming, Incoming::Hello(hello));
        });
        let board = rillmark_proto::identity::BoardId(board);
        let start = Start::from_bytes(&start);
        let answer = HelloAnswer { wire_min, wire_max, record_max, board, boot, firmware, start };
        there_and_back(|out| encode_hello_answer(answer, out), |incoming| {
            assert_eq!(incoming, Incoming::HelloAnswer(answer));
        });
    }

    /// A conversation in any pieces with any flipped bit: what comes out was said.
    #[test]
    fn a_flipped_bit_never_says_something_else(at: prop::sample::Index, bit in 0u8..8) {
        let (commands, messages) = samples::conversation();
        let (mut stream, mut out) = (Vec::new(), [0; MAX_FRAME]);
        let mut said = Vec::new();
        for command in commands {
            let len = encode_command(&command, &mut out).expect("fits");
            stream.extend(&out[..len]);
            said.push(Incoming::Command(command));
        }
        for message in messages {
            let len = encode_from_probe(&message, &mut out).expect("fits");
            stream.extend(&out[..len]);
            said.push(Incoming::FromProbe(message));
        }
        let at = at.index(stream.len());
        stream[at] ^= 1 << bit;
        let (mut decoder, mut heard) = (Decoder::new(), 0);
        let mut remaining = said.iter();
        for byte in stream {
            if let Some(Event::Payload(payload)) = decoder.push(byte) {
                let incoming = decode(&payload).expect("undamaged");
                prop_assert!(remaining.any(|said| *said == incoming), "in order, none made up");
                heard += 1;
            }
        }
        prop_assert_eq!(heard, said.len() - 1);
    }

    /// Whole frames with any content at all.
    #[test]
    fn any_body_is_taken(
        kind in prop_oneof![any::<u8>(), proptest::sample::select(&kind::KNOWN)],
        version in prop_oneof![any::<u8>(), Just(WIRE_VERSION)],
        body in proptest::collection::vec(prop_oneof![0u8..12, any::<u8>()], 0..80),
    ) {
        match decode(&Payload { kind, version, body: &body }) {
            Ok(Incoming::Session { version: found, body: content }) => {
                prop_assert_eq!((kind, found, content), (kind::SESSION, version, &body[..]));
            }
            Ok(_) => prop_assert_eq!(version, 1),
            Err(DecodeError::UnknownKind { kind: found }) => {
                prop_assert!(found == kind && !kind::KNOWN.contains(&kind));
            }
            Err(DecodeError::UnknownVersion { kind: of, found, newest }) => {
                prop_assert_eq!((of, found, newest), (kind, version, 1));
                prop_assert_ne!(version, 1);
            }
            Err(DecodeError::UnknownOrder { .. }) => prop_assert_eq!(kind, kind::COMMAND),
            Err(DecodeError::UnknownAnswer { .. }) => prop_assert_eq!(kind, kind::FROM_PROBE),
            Err(DecodeError::Malformed { kind: of }) => prop_assert_eq!(of, kind),
        }
    }
}

#[test]
fn what_is_unknown_is_named() {
    use DecodeError::{Malformed, UnknownAnswer, UnknownKind, UnknownOrder, UnknownVersion};
    let cases: &[(u8, u8, &[u8], DecodeError)] = &[
        (0x30, 1, &[], UnknownKind { kind: 0x30 }),
        (0x10, 2, &[7, 2], UnknownVersion { kind: 0x10, found: 2, newest: 1 }),
        (0x11, 0, &[7, 2], UnknownVersion { kind: 0x11, found: 0, newest: 1 }),
        (0x01, 2, b"RILLMARK\x01\x01", UnknownVersion { kind: 1, found: 2, newest: 1 }),
        // An order that a later release may have, a sampling likewise.
        (0x10, 1, &[0x87, 0x02, 8], UnknownOrder { id: 263 }),
        (0x10, 1, &[7, 0, 4], UnknownOrder { id: 7 }),
        // A known order with bytes after its end, or cut short.
        (0x10, 1, &[7, 2, 0], UnknownOrder { id: 7 }),
        (0x10, 1, &[7, 6], UnknownOrder { id: 7 }),
        (0x10, 1, &[], Malformed { kind: 0x10 }),
        (0x10, 1, &[0x80], Malformed { kind: 0x10 }),
        (0x11, 1, &[0, 7, 0, 6], UnknownAnswer { id: 7 }),
        (0x11, 1, &[0, 7, 1, 12], UnknownAnswer { id: 7 }),
        (0x11, 1, &[0], Malformed { kind: 0x11 }),
        (0x11, 1, &[2, 7], Malformed { kind: 0x11 }),
        (0x11, 1, &[1, 7], Malformed { kind: 0x11 }),
        (0x01, 1, b"RILLMARK\x01", Malformed { kind: 0x01 }),
        (0x01, 1, b"RILLMARK\x01\x01\x01", Malformed { kind: 0x01 }),
        (0x01, 1, b"rillmark\x01\x01", Malformed { kind: 0x01 }),
        (0x02, 1, b"RILLMARK\x01\x01", Malformed { kind: 0x02 }),
    ];
    for (kind, version, body, expected) in cases {
        let payload = Payload { kind: *kind, version: *version, body };
        assert_eq!(decode(&payload), Err(*expected), "{payload:02x?}");
        assert!(!expected.to_string().is_empty());
    }
}

#[test]
fn the_newest_version_of_both_is_agreed() {
    let cases = [
        ((1, 1), (1, 1), Some(1)),
        ((1, 3), (2, 5), Some(3)),
        ((2, 5), (1, 3), Some(3)),
        ((1, 1), (2, 2), None),
        ((3, 4), (1, 2), None),
        ((2, 1), (1, 2), None),
    ];
    for ((wire_min, wire_max), (probe_min, probe_max), agreed) in cases {
        let answer =
            HelloAnswer { wire_min: probe_min, wire_max: probe_max, ..samples::hello_answer() };
        assert_eq!(Hello { wire_min, wire_max }.agree(answer), agreed);
    }
}

#[test]
fn the_largest_messages_fit() {
    let full = RecordBytes::from_iter([0xFF; rillmark_proto::record::MAX_RECORD_BYTES]);
    let listed = core::iter::repeat_n(samples::listed(), MAX_LISTED).collect();
    let mut out = [0; MAX_FRAME];
    let command = Command { id: u32::MAX, order: Order::Keep(full.clone()) };
    let mut sizes = vec![encode_command(&command, &mut out)];
    for done in [Done::Record(full), Done::Records(listed)] {
        let answer = FromProbe::Answer(Answer { id: u32::MAX, outcome: Ok(done) });
        sizes.push(encode_from_probe(&answer, &mut out));
    }
    let largest = sizes.into_iter().collect::<Result<Vec<_>, _>>().expect("fit").into_iter().max();
    // 1472 bytes of record; 2 of its length, 5 of the id, 3 variant numbers; 6 around the body,
    // 6 code bytes, the delimiter.
    assert_eq!(largest, Some(1495));
    const { assert!(MAX_BODY >= 1472 + 2 + 5 + 3) };
}
