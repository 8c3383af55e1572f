//! Bytes: flipped, cut, inserted, repeated, spliced, numbers at their limits.

use crate::random::Random;

/// The most bytes that one step inserts or repeats.
const MOST: usize = 64;

/// One alteration.
pub(super) fn alter(bytes: &mut Vec<u8>, other: &[u8], random: &mut Random) {
    let at = random.below(bytes.len());
    let some = 1 + random.below(MOST).min(random.below(MOST));
    let end = (at + some).min(bytes.len());
    match random.below(12) {
        0..3 => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte ^= 1 << random.below(8);
            }
        }
        3 => {
            if let Some(byte) = bytes.get_mut(at) {
                *byte = *random.one_of(&[0x00, 0x01, 0x02, 0x7f, 0x80, 0xff]);
            }
        }
        4 => {
            let limit = number(random);
            let end = (at + limit.len()).min(bytes.len());
            bytes[at..end].copy_from_slice(&limit[..end - at]);
        }
        5 => drop(bytes.drain(at..end)),
        6 => bytes.truncate(at),
        7 => drop(bytes.splice(at..at, (0..some).map(|_| random.bits() as u8).collect::<Vec<_>>())),
        8 => {
            let again = bytes[at..end].to_vec();
            drop(bytes.splice(at..at, again));
        }
        9 => {
            bytes.truncate(at);
            bytes.extend_from_slice(&other[random.below(other.len())..]);
        }
        10 => {
            let (from, most) = (random.below(other.len()), some.min(other.len()));
            let end = (from + most).min(other.len());
            drop(bytes.splice(at..at, other[from..end].iter().copied()));
        }
        _ => {
            let filling = *random.one_of(&[0x00, 0xff]);
            bytes[at..end].fill(filling);
        }
    }
}

/// A number at a limit, in one of the ways in which numbers stand in bytes here: little-endian, or seven
/// bits a byte.
fn number(random: &mut Random) -> Vec<u8> {
    const FLOATS: [f64; 12] = [
        0.0,
        -0.0,
        1.0,
        -1.0,
        f64::MAX,
        f64::MIN,
        f64::MIN_POSITIVE,
        5e-324,
        f64::INFINITY,
        f64::NEG_INFINITY,
        f64::NAN,
        1e-9,
    ];
    const WHOLE: [u64; 10] = [
        0,
        1,
        127,
        128,
        u16::MAX as u64,
        i32::MAX as u64,
        u32::MAX as u64,
        i64::MAX as u64,
        i64::MAX as u64 + 1,
        u64::MAX,
    ];
    match random.below(4) {
        0 => random.one_of(&FLOATS).to_le_bytes().to_vec(),
        1 => (*random.one_of(&FLOATS) as f32).to_le_bytes().to_vec(),
        2 => random.one_of(&WHOLE).to_le_bytes()[..1 << random.below(4)].to_vec(),
        _ => {
            let (mut left, mut bytes) = (*random.one_of(&WHOLE), Vec::new());
            while left > 127 {
                bytes.push(left as u8 | 0x80);
                left >>= 7;
            }
            bytes.push(left as u8);
            bytes
        }
    }
}
