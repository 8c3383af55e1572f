//! Files with what damage leaves of them, a letter for each frame, and with whose copy each reading counts.

use super::*;
use crate::link::fake::reading_frame;
use crate::session::entry::EndReason;
use crate::session::reader::items;
use crate::session::replay::open;
use crate::session::sample;

/// `H` is a header that begins, `B` one of another board, `C` one that names the next start, `E` an end, `a`
/// and `b` copies, `r` a reading, `n` the first one of the next start, `0` one whose number goes back, `x`
/// damage. Of each reading with which copy it counts, `-` for none; and how many are unclear.
fn counted(frames: &str) -> (String, u64) {
    let at = sample::host_time(9_000);
    let frame = |entry: &Entry| entry.frame().expect("it fits");
    let (mut boot, mut running) = (3, 10);
    let header = |board: u8, boot: u32, reason: HeaderReason| {
        let mut header = sample::header(&[]);
        (header.board.0[0], header.boot, header.reason) = (board, boot, reason);
        frame(&Entry::Header(header))
    };
    let (mut bytes, mut read) = (frame(&Entry::opening()), 0);
    for letter in frames.chars() {
        bytes.extend(match letter {
            'H' => header(1, boot, HeaderReason::Began),
            'B' => header(9, boot, HeaderReason::Began),
            'C' => header(1, boot + 1, HeaderReason::Changed),
            'E' => {
                let (reason, headers, line_damaged_bytes) = (EndReason::Done, 1, 0);
                frame(&Entry::End { reason, at, headers, readings: read, line_damaged_bytes })
            }
            'a' | 'b' => {
                let file = letter.to_string();
                frame(&Entry::Measured { at, file, lines: "as measured".into() })
            }
            'x' => vec![1, 2, 3, 0],
            reading => {
                match reading {
                    'n' => boot += 1,
                    '0' => running = 0,
                    _ => {}
                }
                (running, read) = (running + 1, read + 1);
                let mut reading = sample::reading(running);
                reading.time.boot = boot;
                reading_frame(reading)
            }
        });
    }
    let mut session = open(&bytes[..]).expect("a session");
    for kept in &mut session.measured {
        let mut limits = BoardLimits::ANY;
        limits.bias_a.deviation = if kept.file == "a" { 1e-11 } else { 2e-11 };
        kept.limits = Some((sample::header(&[]).board, limits));
    }
    let (mut place, mut counted, mut said) = (Place::default(), Counted::default(), String::new());
    for item in items(&bytes[..]) {
        let item = item.expect("in memory").1;
        place.follow(&item);
        if let Item::Reading(_) = item {
            let deviation = counted.limits(&session, &place).bias_a.deviation;
            said.push(match deviation {
                1e-11 => 'a',
                2e-11 => 'b',
                _ => '-',
            });
        }
    }
    (said, counted.unclear)
}

#[test]
fn a_copy_reaches_over_its_run_and_no_farther() {
    for (frames, said, unclear) in [
        // Whole runs, and whole ones that were cut short.
        ("HarraEHbrrbEHrrE", "aabb--", 0),
        ("HarrHbrrbE", "aabb", 0),
        ("HarrHrrE", "aa--", 0),
        // Either copy is enough, one that is damaged too, and so are both over damage and starts between.
        ("HarrE", "aa", 0),
        ("HrraE", "aa", 0),
        ("HxrraE", "aa", 0),
        ("HarrxE", "aa", 0),
        ("HarxrxraE", "aaa", 0),
        ("HarnrnraE", "aaaaa", 0),
        ("HarCnrE", "aaa", 0),
        // Two copies that differ.
        ("HarrbE", "--", 2),
        // The first run was cut short and the second one's header is gone: each copy is its own run's.
        ("HarrxbrrbE", "aabb", 0),
        ("HarrbrrbE", "aabb", 0),
        ("HarrxbrrE", "aabb", 0),
        ("HrrxbrrbE", "--bb", 2),
        ("HrrbrrbE", "--bb", 2),
        // The second kept nothing, or nothing that is left.
        ("HarrxrrE", "aa--", 2),
        ("HarnrE", "a--", 2),
        ("Harr0rE", "aa--", 2),
        ("Hr0raE", "-aa", 1),
        ("HarraxrrE", "aa--", 2),
        // Its end and the other's header are gone.
        ("HarrarrE", "aa--", 2),
        ("HarraExrrE", "aa--", 0),
        // A reading between two copies of which neither begins or ends a run that it is surely of.
        ("HrarE", "--", 2),
        // A copy of board 1 in a run of board 9, where board 1 is in the file too; a run without a header.
        ("HarraEBarraE", "aa--", 0),
        ("HrrExarraE", "--aa", 0),
        ("xarraE", "--", 0),
    ] {
        assert_eq!(counted(frames), (said.to_owned(), unclear), "{frames}");
    }
}
