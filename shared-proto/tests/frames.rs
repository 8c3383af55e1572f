//! Frames: found again among any bytes, in any pieces.

use proptest::prelude::*;
use rillmark_proto::wire::frame::{
    Decoder, EncodeError, Event, MAX_BODY, MAX_FRAME, Payload, Piece, encode, kind, pieces, unpack,
};

/// A frame's kind, version and body.
type Content = (u8, u8, Vec<u8>);

fn framed(kind: u8, version: u8, body: &[u8]) -> Vec<u8> {
    let mut out = [0; MAX_FRAME];
    let len = encode(kind, version, body, &mut out).expect("fits");
    out[..len].to_vec()
}

/// What a decoder makes of a stream: contents, and damaged bytes reported.
fn decoded(stream: &[u8]) -> (Vec<Content>, u64) {
    let mut decoder = Decoder::new();
    let (mut contents, mut damage) = (Vec::new(), 0);
    for byte in stream {
        match decoder.push(*byte) {
            Some(Event::Payload(Payload { kind, version, body })) => {
                contents.push((kind, version, body.to_vec()));
            }
            Some(Event::Damage { bytes }) => damage += u64::from(bytes),
            None => {}
        }
    }
    damage += u64::from(decoder.reset());
    assert_eq!(decoder.damaged_bytes(), damage, "the running count equals the events");
    (contents, damage)
}

/// The same from memory, with unfinished bytes counted as damage.
fn walked(stream: &[u8]) -> (Vec<Content>, u64) {
    let mut space = [0; MAX_FRAME];
    let (mut contents, mut damage, mut end) = (Vec::new(), 0, 0);
    for piece in pieces(stream) {
        let (offset, len) = match piece {
            Piece::Frame { offset, raw } => {
                assert_eq!(raw, &stream[offset..offset + raw.len()]);
                let Payload { kind, version, body } = unpack(raw, &mut space).expect("whole");
                contents.push((kind, version, body.to_vec()));
                (offset, raw.len())
            }
            Piece::Damage { offset, bytes } | Piece::Unfinished { offset, bytes } => {
                damage += bytes as u64;
                (offset, bytes)
            }
        };
        assert!(stream[end..offset].iter().all(|byte| *byte == 0), "only delimiters between");
        end = offset + len;
    }
    (contents, damage)
}

fn content() -> impl Strategy<Value = Content> {
    let body = prop_oneof![
        4 => proptest::collection::vec(any::<u8>(), 0..60),
        1 => proptest::collection::vec(prop_oneof![Just(0u8), any::<u8>()], 0..=MAX_BODY),
        1 => proptest::collection::vec(1u8.., 240..=270),
    ];
    (proptest::sample::select(&kind::KNOWN), 1u8.., body)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn a_frame_has_one_zero_and_comes_back((kind, version, body) in content()) {
        let frame = framed(kind, version, &body);
        prop_assert_eq!(frame.iter().position(|byte| *byte == 0), Some(frame.len() - 1));
        prop_assert_eq!(decoded(&frame), (vec![(kind, version, body.clone())], 0));
        prop_assert_eq!(walked(&frame), (vec![(kind, version, body)], 0));
    }

    /// The stuffing against an independent implementation, and the CRC against its definition.
    #[test]
    fn stuffing_is_the_common_one((kind, version, body) in content()) {
        let frame = framed(kind, version, &body);
        let mut payload = vec![0; MAX_FRAME];
        let len = cobs::decode(&frame, &mut payload).expect("valid");
        let mut expected = vec![kind, version];
        expected.extend(&body);
        let mut crc = u32::MAX;
        for byte in &expected {
            crc ^= u32::from(*byte);
            for _ in 0..8 {
                crc = (crc >> 1) ^ (0xEDB8_8320 & (crc & 1).wrapping_neg());
            }
        }
        expected.extend((!crc).to_le_bytes());
        prop_assert_eq!(&payload[..len], &expected[..]);
        let mut stuffed = vec![0; MAX_FRAME];
        let len = cobs::encode(&expected, &mut stuffed);
        // At the end of a full run both an empty run and none are in use; both are decoded.
        stuffed.truncate(len);
        stuffed.push(0);
        prop_assert_eq!(decoded(&stuffed).0.len(), 1);
    }

    #[test]
    fn any_bytes_are_taken(stream in proptest::collection::vec(
        prop_oneof![Just(0u8), Just(1u8), Just(3u8), Just(0x11u8), Just(255u8), any::<u8>()],
        0..1600,
    )) {
        let (contents, damage) = decoded(&stream);
        let zeros = stream.iter().filter(|byte| **byte == 0).count();
        prop_assert!(contents.is_empty());
        prop_assert!(damage as usize <= stream.len() && damage as usize + zeros >= stream.len());
        prop_assert_eq!(walked(&stream), (contents, damage));
    }

    /// Garbage, delimited or not, stands between frames: every frame is found all the same, and
    /// every byte is accounted for.
    #[test]
    fn frames_are_found_among_garbage(
        parts in proptest::collection::vec(
            (content(), proptest::collection::vec(any::<u8>(), 0..40), any::<bool>()),
            1..8,
        ),
    ) {
        let (mut stream, mut expected, mut frames) = (Vec::new(), Vec::new(), 0);
        for (content, garbage, delimited) in parts {
            // Garbage and frame fit the decoder together.
            let frame = framed(content.0, content.1, &content.2);
            stream.extend(garbage.iter().take(MAX_FRAME - frame.len()));
            if delimited {
                stream.push(0);
            }
            stream.extend(&frame);
            frames += frame.len();
            expected.push(content);
        }
        let (contents, damage) = decoded(&stream);
        prop_assert_eq!(&contents, &expected);
        let lone = stream.len() - frames - damage as usize;
        let zeros = stream.iter().filter(|byte| **byte == 0).count() - expected.len();
        prop_assert!(lone <= zeros, "{} bytes are neither frame, damage nor delimiter", lone);
        prop_assert_eq!(walked(&stream), (contents, damage));
    }

    /// Flipped bits lose frames and never make one; frames not touched are all found.
    #[test]
    fn flipped_bits_only_lose(
        contents in proptest::collection::vec(content(), 1..6),
        flips in proptest::collection::vec((any::<prop::sample::Index>(), 0u8..8), 0..6),
    ) {
        let (mut stream, mut ends) = (Vec::new(), Vec::new());
        for content in &contents {
            stream.extend(framed(content.0, content.1, &content.2));
            ends.push(stream.len());
        }
        let clean = stream.clone();
        for (at, bit) in flips {
            let at = at.index(stream.len());
            stream[at] ^= 1 << bit;
        }
        let mut start = 0;
        let mut untouched = Vec::new();
        for (content, end) in contents.iter().zip(ends) {
            if clean[start..end] == stream[start..end] {
                untouched.push(content.clone());
            }
            start = end;
        }
        let found = decoded(&stream).0;
        // A lost delimiter can make garbage and frame longer than the decoder holds; then, and
        // only then, the walker over memory finds more.
        let walked = walked(&stream).0;
        prop_assert_eq!(&walked, &untouched);
        prop_assert!(found.iter().all(|content| untouched.contains(content)));
        if stream.split(|byte| *byte == 0).all(|segment| segment.len() < MAX_FRAME) {
            prop_assert_eq!(&found, &untouched);
        }
    }
}

#[test]
fn an_oversized_segment_is_thrown_away_to_its_delimiter() {
    let frame = framed(kind::COMMAND, 1, b"whole");
    let mut stream = vec![0x55; MAX_FRAME];
    // The tail of the segment looks like a frame; a live decoder no longer holds its beginning.
    stream.extend(&frame);
    stream.extend(&frame);
    let (contents, damage) = decoded(&stream);
    assert_eq!(contents, [(kind::COMMAND, 1, b"whole".to_vec())]);
    assert_eq!(damage as usize, MAX_FRAME + frame.len());
    // From memory, the end of even a long segment is searched.
    let (contents, damage) = walked(&stream);
    assert_eq!((contents.len(), damage as usize), (2, MAX_FRAME));
}

#[test]
fn a_lost_delimiter_costs_one_frame() {
    let (one, two) = (framed(kind::FROM_PROBE, 1, b"one"), framed(kind::FROM_PROBE, 1, b"two"));
    for replaced in 1..=255 {
        let mut stream = one.clone();
        stream[one.len() - 1] = replaced;
        stream.extend(&two);
        let (contents, damage) = decoded(&stream);
        assert_eq!(contents, [(kind::FROM_PROBE, 1, b"two".to_vec())]);
        assert_eq!(damage as usize, one.len());
    }
}

#[test]
fn a_tail_without_delimiter_is_unfinished() {
    let frame = framed(kind::SESSION, 1, b"note");
    for cut in 1..frame.len() {
        let mut stream = frame.clone();
        stream.extend(&frame[..cut]);
        let last = pieces(&stream).last();
        assert_eq!(last, Some(Piece::Unfinished { offset: frame.len(), bytes: cut }));
    }
}

#[test]
fn bodies_and_buffers_have_limits() {
    let mut out = [0; MAX_FRAME];
    assert_eq!(encode(kind::SESSION, 1, &[1; MAX_BODY], &mut out), Ok(MAX_FRAME));
    assert_eq!(
        encode(kind::SESSION, 1, &[1; MAX_BODY + 1], &mut out),
        Err(EncodeError::BodyTooLong { max: MAX_BODY })
    );
    for offered in 0..MAX_FRAME {
        assert_eq!(
            encode(kind::SESSION, 1, &[1; MAX_BODY], &mut out[..offered]),
            Err(EncodeError::BufferTooSmall { offered })
        );
    }
}

#[test]
fn a_cut_line_starts_anew() {
    let frame = framed(kind::FROM_PROBE, 1, b"reading");
    let mut decoder = Decoder::new();
    for byte in &frame[..5] {
        assert_eq!(decoder.push(*byte), None);
    }
    assert_eq!(decoder.reset(), 5);
    let events: Vec<bool> = frame.iter().map(|byte| decoder.push(*byte).is_some()).collect();
    assert_eq!(events.iter().position(|event| *event), Some(frame.len() - 1));
}
