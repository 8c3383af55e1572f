//! Consistent-overhead byte stuffing (Cheshire and Baker, IEEE/ACM Transactions on Networking
//! 7(2), 1999): a segment without zeros stands for bytes with zeros.
//!
//! A code byte n says that n − 1 bytes follow as they are and then a zero, which is left out
//! after n = 255 and at the very end.

use super::{CHECKSUM, CRC_OF_WHOLE, PAYLOAD_OVERHEAD, kind};

/// The code that no zero follows.
pub(super) const LONGEST_RUN_CODE: u8 = 0xFF;

/// True when the whole segment (without its delimiter) is one stuffed payload with a right CRC.
pub(super) fn is_whole(segment: &[u8]) -> bool {
    let mut digest = CHECKSUM.digest();
    let mut rest = segment;
    let mut payload_len = 0;
    while let Some((&code, after)) = rest.split_first() {
        let Some((run, next)) = after.split_at_checked(usize::from(code).wrapping_sub(1)) else {
            return false;
        };
        digest.update(run);
        payload_len += run.len();
        if code != LONGEST_RUN_CODE && !next.is_empty() {
            digest.update(&[0]);
            payload_len += 1;
        }
        rest = next;
    }
    payload_len >= PAYLOAD_OVERHEAD && digest.finalize() == CRC_OF_WHOLE
}

/// Where in the segment a whole frame begins that reaches to the segment's end.
///
/// Begins at 0 for an undamaged segment. Otherwise every suffix is tried, so that a frame is
/// found though undelimited garbage stands directly before it. A suffix must begin like a frame
/// of a known kind (a code byte that covers kind and version, then the kind) before its CRC is
/// worked out; that leaves about one offset in fifty of random garbage.
pub(super) fn find_whole(segment: &[u8]) -> Option<usize> {
    if is_whole(segment) {
        return Some(0);
    }
    (1..segment.len()).find(|&start| {
        let suffix = &segment[start..];
        matches!(suffix, [code, first, ..] if *code >= 3 && kind::KNOWN.contains(first))
            && is_whole(suffix)
    })
}

/// Turns a segment that [`is_whole`] into its payload in place; returns the payload's length.
pub(super) fn unstuff(segment: &mut [u8]) -> usize {
    let (mut from, mut to) = (0, 0);
    while let Some(&code) = segment.get(from) {
        let end = (from + usize::from(code).max(1)).min(segment.len());
        let run = end - (from + 1);
        segment.copy_within(from + 1..end, to);
        to += run;
        if code != LONGEST_RUN_CODE && end < segment.len() {
            segment[to] = 0;
            to += 1;
        }
        from = end;
    }
    to
}
