//! Frames: dropped, doubled, exchanged, and altered inside with the checksum made right again, so that what
//! lies behind the checksum is reached.

use rillmark_proto::wire::frame::{DELIMITER, MAX_BODY, MAX_FRAME, encode, kind, unpack};

use super::bytes;
use crate::random::Random;

/// One alteration.
pub(super) fn alter(stream: &mut Vec<u8>, other: &[u8], random: &mut Random) {
    // Where the checksum fails nothing behind it is seen; what finds frames is.
    if random.below(5) == 0 {
        return bytes::alter(stream, other, random);
    }
    let chosen = frame(stream, random);
    match random.below(10) {
        0 => drop(stream.drain(chosen)),
        1 => {
            let again = stream[chosen.clone()].to_vec();
            let at = frame(stream, random).start;
            drop(stream.splice(at..at, again));
        }
        2 => {
            let taken: Vec<u8> = stream.drain(chosen).collect();
            let at = frame(stream, random).start;
            drop(stream.splice(at..at, taken));
        }
        3 => {
            let foreign = other[frame(other, random)].to_vec();
            drop(stream.splice(chosen.start..chosen.start, foreign));
        }
        _ => {
            let altered = inside(&stream[chosen.clone()], other, random);
            drop(stream.splice(chosen, altered));
        }
    }
}

/// Where one of the frames stands, delimiter included.
fn frame(stream: &[u8], random: &mut Random) -> std::ops::Range<usize> {
    let at = random.below(stream.len());
    let before = stream[..at].iter().rposition(|byte| *byte == DELIMITER);
    let after = stream[at..].iter().position(|byte| *byte == DELIMITER);
    before.map_or(0, |before| before + 1)..after.map_or(stream.len(), |after| at + after + 1)
}

/// The same frame with something else inside; as it is when it is none.
fn inside(raw: &[u8], other: &[u8], random: &mut Random) -> Vec<u8> {
    let mut space = [0; MAX_FRAME];
    let Some(payload) = unpack(raw, &mut space) else { return raw.to_vec() };
    let (mut of_kind, mut version, mut body) =
        (payload.kind, payload.version, payload.body.to_vec());
    match random.below(24) {
        0 => of_kind = *random.one_of(&kind::KNOWN),
        1 => of_kind = random.bits() as u8,
        2 => version = random.bits() as u8,
        _ => {
            let mut space = [0; MAX_FRAME];
            let of_other = unpack(&other[frame(other, random)], &mut space);
            bytes::alter(&mut body, of_other.map_or(&[][..], |payload| payload.body), random);
        }
    }
    body.truncate(MAX_BODY);
    let mut out = vec![0; MAX_FRAME];
    // It fits: the body is no longer than a frame carries.
    let len = encode(of_kind, version, &body, &mut out).unwrap_or_default();
    out.truncate(len);
    out
}
