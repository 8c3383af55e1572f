//! Replays of sessions that are whole, cut short, damaged, altered or something else.

use proptest::prelude::*;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult};
use rillmark_proto::wire::frame::{encode, kind};

use super::*;
use crate::link::fake::{UTC_AT_ZERO, reading_frame};
use crate::session::sample::{
    self, computed_reading, frames, kept, mark, ph_record, reading, record_entry,
};

fn run(bytes: &[u8]) -> (Session, Summary, Vec<Replayed>) {
    let session = open(bytes).expect("a session");
    let mut all = Vec::new();
    let summary = replay(bytes, &session, &[], |replayed| all.push(replayed)).expect("in memory");
    (session, summary, all)
}

fn whole() -> Vec<u8> {
    frames().concat()
}

#[test]
fn an_undamaged_session_matches_to_the_bit() {
    let (session, summary, all) = run(&whole());
    let tally = summary.tally.clone();
    let end = Some(EndReason::Done);
    assert_eq!(summary, Summary { readings: 6, parts: 1, end, tally, ..Summary::default() });
    assert!(summary.verified());
    assert_eq!(session.headers.len(), 1);
    for (running, replayed) in all.iter().enumerate() {
        assert_eq!(replayed.reading, reading(running as u32));
        assert!(replayed.assessment.computed.ph.is_some());
        assert!(replayed.assessment.computed.specific_conductance_us_cm.is_some());
        assert_eq!(replayed.matches, Match::Same);
        let ms = 10_000 + running as i64 * 5_000 + 20;
        assert_eq!(replayed.utc_ms, Some(UTC_AT_ZERO + ms));
    }
}

#[test]
fn cut_anywhere_every_whole_frame_is_replayed() {
    let (frames, bytes) = (frames(), whole());
    let mut ends = vec![0];
    for frame in &frames {
        ends.push(ends.last().expect("begun with one") + frame.len());
    }
    let readings_from = frames.len() - 7;
    for len in 1..bytes.len() {
        let cut = &bytes[..len];
        let whole_frames = ends.iter().filter(|end| **end <= len).count() - 1;
        if whole_frames == 0 {
            assert!(matches!(open(cut), Err(NotASession::Foreign)));
            continue;
        }
        let (_, summary, _) = run(cut);
        let readings = whole_frames.saturating_sub(readings_from).min(6);
        assert_eq!(summary.readings, readings as u64, "cut at {len}");
        assert_eq!((summary.mismatches, summary.unresolved, summary.gaps), (0, 0, 0));
        assert_eq!(summary.torn_bytes, (len - ends[whole_frames]) as u64, "cut at {len}");
        assert_eq!((summary.damaged_bytes, summary.end), (0, None));
    }
}

#[test]
fn a_run_whose_beginning_is_lost_is_not_one_that_was_cut_short() {
    let header = Header { reason: HeaderReason::Changed, ..sample::header(&[]) };
    let bytes =
        [Entry::Header(header).frame().expect("it fits"), reading_frame(reading(0))].concat();
    let (_, summary, _) = run(&bytes);
    assert_eq!((summary.parts, summary.cut_short, summary.end), (0, 0, None));
}

#[test]
fn any_flipped_bit_is_damage_and_never_another_value() {
    let bytes = whole();
    let original: Vec<_> = (0..6).map(reading).collect();
    for at in 0..bytes.len() {
        for bit in 0..8 {
            let mut flipped = bytes.clone();
            flipped[at] ^= 1 << bit;
            let (_, summary, all) = run(&flipped);
            assert_eq!(summary.mismatches, 0, "byte {at} bit {bit}");
            assert_eq!(summary.altered_records, 0, "byte {at} bit {bit}");
            let lost = summary.damaged_bytes + summary.torn_bytes;
            assert!(lost > 0, "byte {at} bit {bit} went unnoticed");
            assert!(summary.readings >= 4, "at most two frames are hit");
            assert!(all.iter().all(|replayed| original.contains(&replayed.reading)));
        }
    }
}

#[test]
fn every_flipped_bit_of_the_coefficients_is_caught() {
    let record = ph_record(0.98);
    let (listed, canonical) = kept(&record, true);
    let CalibrationResult::Ph(calibration) = record.result else { panic!("a pH record") };
    let place = |value: f64| {
        let pattern = value.to_le_bytes();
        canonical.windows(8).position(|window| window == pattern).expect("it is in there")
    };
    for at in [place(calibration.slope_fraction), place(calibration.offset_mv)] {
        for bit in 0..64 {
            let mut bytes = canonical.to_vec();
            bytes[at + bit / 8] ^= 1 << (bit % 8);
            let mut frames = frames();
            // Written as a whole frame, so only the content can tell.
            frames[2] = Entry::Record { id: listed.id, bytes }.frame().expect("it fits");
            let (_, summary, _) = run(&frames.concat());
            assert_eq!(summary.altered_records, 1, "bit {bit}");
            assert!(!summary.verified());
            // f32 keeps 23 bits of f64's 52, so from here on the values themselves change too.
            if bit >= 45 {
                assert!(summary.mismatches + summary.unresolved > 0, "bit {bit}");
            }
        }
    }
}

#[test]
fn one_flipped_bit_of_a_recorded_value_is_a_mismatch() {
    let mut altered = reading(3);
    altered.computed.ph = altered.computed.ph.map(|ph| f32::from_bits(ph.to_bits() ^ 1));
    let mut frames = frames();
    let place = frames.len() - 1 - 3;
    assert_eq!(frames[place], reading_frame(reading(3)));
    frames[place] = reading_frame(altered);
    let (_, summary, all) = run(&frames.concat());
    assert_eq!((summary.readings, summary.mismatches), (6, 1));
    assert_eq!(all[3].matches, Match::Different);
    assert_eq!(all[3].assessment.computed, reading(3).computed);
}

#[test]
fn a_missing_record_is_said_and_the_rest_is_still_compared() {
    let mut frames = frames();
    frames.remove(2);
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.readings, summary.unresolved, summary.mismatches), (6, 6, 0));
    assert_eq!(summary.later_release, 0);
    assert!(!summary.verified() && !summary.holds_but_for_later_releases(), "nothing was checked");
    let mut altered = reading(5);
    altered.computed.temperature_c = Some(1.0);
    let place = frames.len() - 2;
    frames[place] = reading_frame(altered);
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.unresolved, summary.mismatches), (5, 1));
}

#[test]
fn short_forms_are_resolved_in_the_session_alone() {
    // A record of the same short form, but for a cell, does not stand in for an electrode's.
    let mut frames = frames();
    let id = kept(&ph_record(0.98), true).0.id;
    let Entry::Record { bytes, .. } = record_entry(&sample::cell_record()) else {
        panic!("made as one")
    };
    frames[2] = Entry::Record { id, bytes }.frame().expect("it fits");
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.unresolved, summary.altered_records), (6, 1));
}

/// Of no release that there is.
const LATER: u8 = 9;

#[test]
fn readings_under_a_record_of_a_later_release_are_told_apart_from_ones_whose_record_is_missing() {
    let mut bytes = kept(&ph_record(0.98), true).1.to_vec();
    bytes[0] = LATER;
    let id = codec::identity(&bytes);
    let mut frames = frames();
    frames[2] = Entry::Record { id, bytes }.frame().expect("it fits");
    let first = frames.len() - 7;
    for running in 0..6 {
        let mut reading = reading(running);
        reading.calibrations.ph = Some(id.short());
        frames[first + running as usize] = reading_frame(reading);
    }
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.unresolved, summary.later_release), (6, 6));
    assert!(!summary.verified() && summary.holds_but_for_later_releases());
    // The cell's is missing besides.
    frames.remove(3);
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.unresolved, summary.later_release), (6, 0));
    assert!(!summary.holds_but_for_later_releases());
}

/// Two calibrations with one short form, found by trying times.
fn alike() -> [Entry; 2] {
    const ALIKE: [i64; 2] = [65_065, 73_174];
    let at = |utc_ms| record_entry(&CalibrationRecord { utc_ms, ..ph_record(0.98) });
    ALIKE.map(at)
}

#[test]
fn of_records_with_one_short_form_none_is_used_and_both_are_told() {
    let [one, other] = alike();
    let id = |entry: &Entry| match entry {
        Entry::Record { id, .. } => *id,
        _ => unreachable!("made as one"),
    };
    let short = id(&one).short();
    assert!(short == id(&other).short() && id(&one) != id(&other));
    let session = |records: &[&Entry], named: &Entry| {
        let mut frames = frames();
        let mut header = sample::header(&[]);
        header.in_force = vec![id(named)];
        let first = frames.len() - 7;
        for running in 0..6 {
            let mut reading = reading(running);
            reading.calibrations.ph = Some(short);
            frames[first + running as usize] = reading_frame(reading);
        }
        frames[1] = Entry::Header(header).frame().expect("it fits");
        let records = records.iter().map(|it| it.frame().expect("it fits"));
        frames.splice(2..3, records.collect::<Vec<_>>());
        run(&frames.concat())
    };
    for records in [[&one, &other], [&other, &one]] {
        let (found, summary, _) = session(&records, &one);
        assert_eq!((summary.ambiguous_records, summary.altered_records), (2, 0));
        assert_eq!((summary.unresolved, summary.mismatches), (6, 0), "no reading is blamed");
        assert!(!summary.holds_but_for_later_releases());
        assert_eq!(found.all().filter(|held| held.id.short() == short).count(), 2);
    }
    // The other one alone, where the header names this one whole.
    let (_, summary, _) = session(&[&other], &one);
    assert_eq!((summary.ambiguous_records, summary.unresolved), (1, 6));
    // Once more the same is the same.
    let (_, summary, _) = session(&[&one, &one], &one);
    assert_eq!((summary.ambiguous_records, summary.unresolved), (0, 0));
}

#[test]
fn an_altered_record_beside_the_true_one_is_counted_and_not_used() {
    let id = kept(&ph_record(0.98), true).0.id;
    let altered = kept(&ph_record(0.90), true).1.to_vec();
    let altered = Entry::Record { id, bytes: altered }.frame().expect("it fits");
    for place in [2, 3] {
        let mut frames = frames();
        frames.insert(place, altered.clone());
        let (_, summary, _) = run(&frames.concat());
        assert_eq!((summary.altered_records, summary.ambiguous_records), (1, 0), "at {place}");
        assert_eq!((summary.mismatches, summary.unresolved), (0, 0), "at {place}");
        assert!(!summary.verified());
    }
}

#[test]
fn missing_readings_and_restarts_are_gaps() {
    let mut frames = frames();
    let end = frames.pop().expect("it has an end");
    frames.remove(frames.len() - 2);
    frames.remove(frames.len() - 2);
    let mut restarted = reading(0);
    restarted.time.boot = 4;
    frames.push(reading_frame(restarted));
    frames.push(end);
    let (_, summary, all) = run(&frames.concat());
    assert_eq!((summary.readings, summary.gaps, summary.missing_readings), (5, 2, 2));
    assert_eq!(summary.restarts, 1);
    let [first, second] = &summary.gap_list[..] else { panic!("two: {:?}", summary.gap_list) };
    let utc_ms = |ms: i64| Some(UTC_AT_ZERO + ms + 20);
    let gap = Gap { boot: 3, running: 5, before_utc_ms: utc_ms(20_000), utc_ms: utc_ms(35_000) };
    assert_eq!(*first, gap);
    assert_eq!((second.boot, second.before_utc_ms, second.utc_ms), (4, utc_ms(35_000), None));
    assert_eq!(all[4].utc_ms, None, "no mark of that start");
}

#[test]
fn garbage_between_frames_is_counted_and_nothing_else_is_lost() {
    let mut frames = frames();
    frames.insert(8, vec![0xab; 300]);
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.readings, summary.damaged_bytes, summary.gaps), (6, 300, 0));
}

#[test]
fn readings_that_are_gone_before_a_clean_end_are_lost() {
    let frames = frames();
    let first = frames.len() - 7;
    // Cut out, at the beginning, within and at the end.
    for gone in [first..first + 2, first + 2..first + 4, first + 3..first + 6, first..first + 6] {
        let mut frames = frames.clone();
        let count = frames.drain(gone).count() as u64;
        let (_, summary, _) = run(&frames.concat());
        assert_eq!((summary.readings, summary.lost_readings), (6 - count, count));
        assert_eq!(summary.end, Some(EndReason::Done));
    }
    // Zeros are no frames, however many.
    let mut bytes = frames.concat();
    let begin: usize = frames[..first + 3].iter().map(Vec::len).sum();
    let len: usize = frames[first + 3..first + 6].iter().map(Vec::len).sum();
    bytes[begin..begin + len].fill(0);
    let (_, summary, _) = run(&bytes);
    assert_eq!((summary.readings, summary.lost_readings), (3, 3));
    assert_eq!((summary.damaged_bytes, summary.torn_bytes), (len as u64, 0));
    let mut bytes = frames.concat();
    bytes.extend([0; 9]);
    let (_, summary, _) = run(&bytes);
    assert_eq!((summary.damaged_bytes, summary.torn_bytes), (0, 9));
}

#[test]
fn only_another_beginning_follows_an_end() {
    let whole = frames();
    let mut more = whole.clone();
    more.extend([reading_frame(reading(6)), reading_frame(reading(7))]);
    let (_, summary, _) = run(&more.concat());
    assert_eq!((summary.readings, summary.behind_end, summary.without_header), (8, 2, 2));
    assert_eq!(summary.end, None);
    assert!(!summary.verified());

    // Two runs, the first of them cut short.
    let mut two = whole[..whole.len() - 2].to_vec();
    two.push(Entry::Header(sample::header(&[])).frame().expect("it fits"));
    two.extend([mark(&reading(7)).frame().expect("it fits"), reading_frame(reading(7))]);
    let at = sample::host_time(50_000);
    let end = |readings| Entry::End {
        reason: EndReason::Done,
        at,
        headers: 1,
        readings,
        line_damaged_bytes: 0,
    };
    two.push(end(1).frame().expect("it fits"));
    let (_, summary, _) = run(&two.concat());
    assert_eq!((summary.readings, summary.parts, summary.cut_short), (6, 2, 1));
    assert_eq!((summary.lost_readings, summary.uncounted_readings, summary.gaps), (0, 0, 1));
    assert!(summary.verified());
    *two.last_mut().expect("an end") = end(0).frame().expect("it fits");
    let (_, summary, _) = run(&two.concat());
    assert_eq!((summary.lost_readings, summary.uncounted_readings), (0, 1));
}

#[test]
fn a_verification_that_is_gone_is_missed_and_so_is_a_header() {
    let record = ph_record(0.98);
    let verification = sample::verification_record(&record).into();
    let (listed, bytes) = sample::kept_record(&verification, false);
    let mut header = sample::header(&[&record]);
    header.verifications = vec![listed.id];
    header.junction_ph = Some(0.3);
    let mut frames = frames();
    frames[1] = Entry::Header(header).frame().expect("it fits");
    frames.insert(
        2,
        Entry::Record { id: listed.id, bytes: bytes.to_vec() }.frame().expect("it fits"),
    );
    let u = |all: &[Replayed]| all[0].assessment.uncertainty.ph.expect("a pH");
    let (_, summary, with) = run(&frames.concat());
    assert!(summary.verified() && summary.missing_verifications.is_empty());
    assert!(u(&with) >= 0.3, "the junction is in it");

    let mut without = frames.clone();
    without.remove(2);
    let (_, summary, all) = run(&without.concat());
    assert!(u(&all) < u(&with), "{} {}", u(&all), u(&with));
    assert_eq!(summary.missing_verifications.into_iter().collect::<Vec<_>>(), [listed.id]);

    frames.remove(1);
    let (_, summary, all) = run(&frames.concat());
    assert!(u(&all) < u(&with));
    assert_eq!(summary.without_header, 6);
    assert!(!summary.verified());
}

#[test]
fn a_frame_that_stands_twice_in_the_file_counts_once() {
    let mut frames = frames();
    let place = frames.len() - 3;
    frames.insert(place, frames[place].clone());
    let (_, summary, all) = run(&frames.concat());
    assert_eq!((summary.readings, summary.duplicates, all.len()), (6, 1, 6));
    assert_eq!((summary.gaps, summary.lost_readings, summary.uncounted_readings), (0, 0, 0));
    let whole = whole();
    let (_, summary, _) = run(&[whole.clone(), whole].concat());
    assert_eq!((summary.readings, summary.duplicates, summary.parts), (6, 6, 2));
    assert_eq!((summary.lost_readings, summary.uncounted_readings), (0, 0));
    assert_eq!(summary.repeated_runs, 1);
}

fn frame(entry: &Entry) -> Vec<u8> {
    entry.frame().expect("it fits")
}

fn end(readings: u64) -> Vec<u8> {
    let (reason, at) = (EndReason::Done, sample::host_time(90_000));
    frame(&Entry::End { reason, at, headers: 1, readings, line_damaged_bytes: 0 })
}

/// A run of the log with so many readings of the start and board, begun at a time.
fn log_of(board: u8, begun_ms: u64, readings: u32) -> Vec<Vec<u8>> {
    let mut header = sample::header(&[&ph_record(0.98), &sample::cell_record()]);
    (header.board.0[0], header.at) = (board, sample::host_time(begun_ms));
    let first = reading(0).time;
    let at = sample::host_time(begun_ms + 1_000);
    let mut frames = vec![
        frame(&Entry::Header(header)),
        frame(&record_entry(&ph_record(0.98))),
        frame(&record_entry(&sample::cell_record())),
        frame(&Entry::Mark(Mark { boot: first.boot, probe_ms: first.ms, at, headers: 1 })),
    ];
    frames.extend((0..readings).map(|running| reading_frame(reading(running))));
    frames.push(end(readings.into()));
    frames
}

#[test]
fn a_file_put_behind_itself_counts_once_and_two_runs_count_twice() {
    let opening = vec![frame(&Entry::opening())];
    let file = [opening.clone(), log_of(1, 0, 300), log_of(1, 3_600_000, 300)].concat().concat();
    // The second run's numbers begin anew, as those of a probe whose store was erased.
    let (_, summary, all) = run(&file);
    assert_eq!((summary.readings, summary.duplicates, summary.contradictions), (600, 0, 0));
    assert_eq!((summary.repeated_runs, summary.restarts, all.len()), (0, 0, 600));
    assert_eq!(summary.clock_sets.count(), 0, "{:?}", summary.clock_sets);
    let (_, twice, _) = run(&[&file[..], &file].concat());
    assert_eq!((twice.readings, twice.duplicates, twice.contradictions), (600, 600, 0));
    assert_eq!((twice.repeated_runs, twice.parts), (2, 4));
    assert_eq!((twice.lost_readings, twice.uncounted_readings, twice.gaps), (0, 0, summary.gaps));

    // An earlier copy, cut short, in front of the whole file: what is new in that is kept.
    let early = [opening.clone(), log_of(1, 0, 300)[..104].to_vec()].concat().concat();
    let (_, summary, all) = run(&[&early[..], &file].concat());
    assert_eq!((summary.readings, summary.duplicates, all.len()), (600, 100, 600));
    assert_eq!((summary.repeated_runs, summary.cut_short, summary.lost_readings), (1, 1, 0));
}

#[test]
fn readings_doubled_in_a_block_or_late_count_once_and_nothing_is_missing() {
    let mut frames = log_of(1, 0, 300);
    let block = frames[4..304].to_vec();
    frames.splice(304..304, block);
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.readings, summary.duplicates, summary.contradictions), (300, 300, 0));
    assert_eq!((summary.missing_readings, summary.uncounted_readings), (0, 0));

    let mut frames = log_of(1, 0, 301);
    let mut late = reading(3);
    late.flags = Flags(64);
    frames.insert(304, reading_frame(late));
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.contradictions, summary.missing_readings, summary.gaps), (1, 0, 1));
    assert_eq!(summary.uncounted_readings, 1);
}

#[test]
fn a_duplicate_hides_no_reading_that_is_lost() {
    let mut frames = frames();
    let last = frames.len() - 2;
    frames[last] = frames[last - 3].clone();
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.readings, summary.duplicates, summary.lost_readings), (5, 1, 1));
}

#[test]
fn another_board_in_the_file_is_told_and_dated_by_its_own_marks() {
    let (a, mut b) = (log_of(1, 0, 3), log_of(2, 86_400_000, 3));
    let opening = [frame(&Entry::opening())];
    let both = |b: &[Vec<u8>]| [&opening[..], &a, &opening, b].concat().concat();
    let (_, summary, all) = run(&both(&b));
    assert_eq!((summary.readings, summary.other_board, summary.duplicates), (6, 3, 0));
    assert!(!summary.verified());
    assert_eq!(all[3].utc_ms, Some(UTC_AT_ZERO + 86_401_000));
    // Without its mark nothing dates it, and without its header nothing is known of it.
    b.remove(3);
    let (_, summary, all) = run(&both(&b));
    assert_eq!((summary.other_board, all[3].utc_ms), (3, None));
    b.remove(0);
    let (_, summary, all) = run(&both(&b));
    assert_eq!((summary.without_header, summary.behind_end, all[3].utc_ms), (3, 0, None));

    // In the middle of a run.
    let mut one = a.clone();
    let mut other = Header { reason: HeaderReason::Changed, ..sample::header(&[]) };
    other.board.0[0] = 2;
    one.insert(5, frame(&Entry::Header(other)));
    let (_, summary, all) = run(&one.concat());
    assert_eq!((summary.readings, summary.other_board), (3, 2));
    assert_eq!((all[1].utc_ms, summary.verified()), (None, false));
}

#[test]
fn an_opening_ends_what_stands_above_it() {
    // The header behind it is lost.
    let opening = frame(&Entry::opening());
    let readings: Vec<_> = (3..6).map(|running| reading_frame(reading(running))).collect();
    let mut frames = log_of(1, 0, 3);
    frames.pop();
    frames.push(opening);
    frames.extend(readings);
    let (_, summary, all) = run(&frames.concat());
    assert_eq!((summary.readings, summary.without_header, summary.cut_short), (6, 3, 1));
    assert_eq!((all[3].utc_ms, summary.end), (None, None));
}

#[test]
fn a_record_that_nothing_has_in_force_or_that_is_of_something_else_is_told() {
    let (ph, cell) = (ph_record(0.98), sample::cell_record());
    let mut later = frames();
    let record = later.remove(2);
    later[1] = frame(&Entry::Header(sample::header(&[&cell])));
    let last = later.len() - 1;
    later.insert(last, record);
    let (_, summary, _) = run(&later.concat());
    assert_eq!((summary.not_in_force, summary.other_sensor, summary.mismatches), (6, 0, 0));

    for is_board in [true, false] {
        let mut header = sample::header(&[&ph, &cell]);
        match (is_board, &mut header.equipment) {
            (false, Some(it)) => it.fitted.cell = it.fitted.electrode.clone(),
            _ => header.board.0[0] = 99,
        }
        let mut frames = frames();
        frames[1] = frame(&Entry::Header(header));
        let (_, summary, _) = run(&frames.concat());
        assert_eq!((summary.other_sensor, summary.not_in_force), (6, 0));
    }
}

#[test]
fn what_is_no_session_is_told_apart() {
    assert!(matches!(open(&[][..]), Err(NotASession::Empty)));
    assert!(matches!(open(&b"running,ph\n1,7\n"[..]), Err(NotASession::Foreign)));
    assert!(matches!(open(&[0; 100][..]), Err(NotASession::Foreign)));
    let mut frame = [0; 64];
    let len = encode(kind::SESSION, 9, &[1, 2, 3], &mut frame).expect("it fits");
    assert!(matches!(open(&frame[..len]), Err(NotASession::Newer { found: 9 })));
}

#[test]
fn another_calibration_replaces_its_values_and_leaves_the_comparison() {
    let bytes = whole();
    let session = open(&bytes[..]).expect("a session");
    let other = ph_record(0.9);
    let mut running = 0;
    let summary =
        replay(&bytes[..], &session, &[(RecordId([3; 16]), other.clone().into())], |replayed| {
            let under = replayed.assessment.recalibrated.expect("another was given");
            assert_eq!(under, computed_reading(running, &other).computed);
            assert_ne!(under.ph, replayed.reading.computed.ph);
            running += 1;
        })
        .expect("in memory");
    assert_eq!((summary.readings, summary.mismatches), (6, 0));
}

#[test]
fn a_reading_of_an_earlier_time_than_the_first_mark_is_dated_from_it() {
    let mut frames = frames();
    frames[5] = mark(&reading(4)).frame().expect("it fits");
    let (_, _, all) = run(&frames.concat());
    assert_eq!(all[0].utc_ms, Some(UTC_AT_ZERO + 10_020));
}

#[test]
fn where_damage_may_have_taken_a_mark_the_dates_are_in_doubt_up_to_the_next() {
    let set = |running: u32| {
        let time = reading(running).time;
        let mut at = sample::host_time(time.ms);
        at.utc_ms = UTC_AT_ZERO + 86_400_000;
        frame(&Entry::Mark(Mark { boot: time.boot, probe_ms: time.ms, at, headers: 1 }))
    };
    let header = frame(&Entry::Header(sample::header(&[])));
    let mut frames = vec![header, frame(&mark(&reading(0)))];
    frames.extend((0..2).map(|running| reading_frame(reading(running))));
    frames.push(set(2));
    frames.extend((2..4).map(|running| reading_frame(reading(running))));
    frames.push(frame(&mark(&reading(4))));
    frames.push(reading_frame(reading(4)));
    let (_, summary, all) = run(&frames.concat());
    assert_eq!((summary.doubtful_dates, summary.clock_sets.len()), (0, 2));
    assert_eq!(all[2].utc_ms, Some(UTC_AT_ZERO + 86_400_000));

    frames[4][7] ^= 1;
    let (_, summary, all) = run(&frames.concat());
    assert_eq!(all[2].utc_ms, Some(UTC_AT_ZERO + 20_020), "by the mark before");
    assert_eq!((summary.doubtful_dates, summary.readings), (2, 5));
    let doubtful: Vec<_> = all.iter().map(|it| it.is_utc_doubtful).collect();
    assert_eq!(doubtful, [false, false, true, true, false]);

    // A mark behind the reading that it was written for is not where it was.
    frames[4][7] ^= 1;
    frames.swap(4, 5);
    let (_, summary, _) = run(&frames.concat());
    assert_eq!((summary.doubtful_dates, summary.damaged_bytes), (1, 0));

    // It is gone with its reading, at the very borders of their frames.
    frames.swap(4, 5);
    frames.drain(4..6);
    let (_, summary, all) = run(&frames.concat());
    let doubtful: Vec<_> = all.iter().map(|it| it.is_utc_doubtful).collect();
    assert_eq!((doubtful, summary.damaged_bytes), (vec![false, false, true, false], 0));
}

/// However many headers there are, what one in their midst says is not overseen.
#[test]
fn of_many_headers_every_one_counts() {
    let of = |board: u8, electrode: &str, verification: u8| {
        let mut header = sample::header(&[]);
        header.board = BoardId([board; 8]);
        let equipment = header.equipment.as_mut().expect("the sample's");
        equipment.fitted.electrode = Some(electrode.try_into().expect("it fits"));
        header.verifications = vec![RecordId([verification; 16])];
        Entry::Header(header).frame().expect("it fits")
    };
    let mut frames = vec![of(1, "E-1", 1); 600];
    frames[300] = of(2, "E-2", 2);
    let (session, summary, _) = run(&frames.concat());
    assert_eq!((session.headers.len(), session.headers.count()), (100, 600));
    assert_eq!(session.boards, [BoardId([1; 8]), BoardId([2; 8])]);
    let electrode = |it: &Fitted| it.electrode.clone().expect("named").to_string();
    assert_eq!(session.fitted.iter().map(electrode).collect::<Vec<_>>(), ["E-1", "E-2"]);
    let last = session.equipment.expect("named").fitted;
    assert_eq!(electrode(&last), "E-1");
    assert_eq!(summary.missing_verifications.len(), 2);
}

#[test]
fn a_file_of_more_records_than_a_log_writes_is_refused() {
    let naming = |more: u32| {
        let id = |number: u32| {
            let mut id = [0; 16];
            id[..4].copy_from_slice(&number.to_le_bytes());
            RecordId(id)
        };
        let header = |number: u32| {
            let verifications = vec![id(number)];
            let header = Header { verifications, ..sample::header(&[]) };
            Entry::Header(header).frame().expect("it fits")
        };
        (0..MOST_RECORDS as u32 + more).map(header).collect::<Vec<_>>().concat()
    };
    assert!(open(&naming(0)[..]).is_ok());
    assert!(matches!(open(&naming(1)[..]), Err(NotASession::Crowded)));
}

/// Two runs with a junction, a gap in which a verification came, and a clock that was set.
fn eventful() -> Vec<Vec<u8>> {
    let (ph, cell) = (ph_record(0.98), sample::cell_record());
    let verification = sample::verification_record(&ph).into();
    let (verified, bytes) = sample::kept_record(&verification, false);
    let first = Header { junction_ph: Some(0.2), ..sample::header(&[&ph, &cell]) };
    let reason = HeaderReason::Changed;
    let second = Header { reason, verifications: vec![verified.id], ..first.clone() };
    let at = sample::host_time(60_000);
    let end =
        Entry::End { reason: EndReason::Done, at, headers: 1, readings: 3, line_damaged_bytes: 0 };
    let set = |running: u32, headers| {
        let time = reading(running).time;
        let mut at = sample::host_time(time.ms);
        at.utc_ms += 86_400_000;
        Entry::Mark(Mark { boot: time.boot, probe_ms: time.ms, at, headers })
    };
    let entries = |entries: &[Entry]| -> Vec<Vec<u8>> {
        entries.iter().map(|entry| entry.frame().expect("it fits")).collect()
    };
    let readings = |from: u32| (from..from + 3).map(|running| reading_frame(reading(running)));
    let begin =
        [Entry::opening(), Entry::Header(first.clone()), record_entry(&ph), record_entry(&cell)];
    let gap = [end.clone(), Entry::Header(first), set(3, 1)];
    let verification = Entry::Record { id: verified.id, bytes: bytes.to_vec() };
    let after = [
        Entry::GapBegan { cause: super::super::entry::Cause::Silent, at },
        Entry::Header(second),
        verification,
        Entry::GapEnded { at },
        set(6, 2),
    ];
    let mut frames = entries(&begin);
    frames.extend(entries(&[mark(&reading(0))]));
    frames.extend(readings(0));
    frames.extend(entries(&gap));
    frames.extend(readings(3));
    frames.extend(entries(&after));
    frames.extend(readings(6));
    frames.extend(entries(&[Entry::End {
        reason: EndReason::Done,
        at,
        headers: 2,
        readings: 6,
        line_damaged_bytes: 0,
    }]));
    frames
}

/// Whether damage is told: a doubt that became smaller by the exit code, all else in the summary.
fn is_told(bytes: &[u8], whole: &(Summary, Vec<Replayed>)) -> Result<(), String> {
    let (session, summary) = match open(bytes) {
        Ok(session) => {
            let mut all = Vec::new();
            let keep = |replayed| all.push(replayed);
            let summary = replay(bytes, &session, &[], keep).expect("in memory");
            (all, summary)
        }
        Err(_) => return Ok(()),
    };
    let lost = summary.damaged_bytes + summary.torn_bytes;
    let told = lost + summary.lost_readings + summary.missing_readings + summary.behind_end > 0;
    if summary == whole.0 && session == whole.1 {
        return Ok(());
    }
    for found in &session {
        let before = whole.1.iter().find(|it| it.reading.running == found.reading.running);
        let Some(before) = before.filter(|it| it.reading == found.reading) else {
            return Err(format!("reading {} was made up", found.reading.running));
        };
        let u = |replayed: &Replayed| replayed.assessment.uncertainty.ph;
        // A little less may be known of the lag; nothing else makes it smaller.
        if u(found) < u(before).map(|u| 0.9 * u) && summary.verified() && summary.unresolved == 0 {
            return Err(format!(
                "{:?} became {:?} in {}",
                u(before),
                u(found),
                found.reading.running
            ));
        }
        if found.utc_ms != before.utc_ms && !told {
            return Err(format!("reading {} was dated otherwise", found.reading.running));
        }
    }
    let is_cut = summary.end.is_none() || summary.cut_short > 0;
    let fewer = session.len() < whole.1.len();
    (told || is_cut || !fewer).then_some(()).ok_or_else(|| "readings are missing".to_owned())
}

#[test]
fn any_damage_to_an_eventful_session_is_told() {
    let frames = eventful();
    let bytes = frames.concat();
    let (_, summary, all) = run(&bytes);
    assert!(summary.verified());
    assert_eq!((summary.readings, summary.parts, summary.clock_sets.len()), (9, 2, 1));
    let whole = (summary, all);
    let mut silent = Vec::new();
    let mut tried = |bytes: &[u8], what: String| {
        if let Err(why) = is_told(bytes, &whole) {
            silent.push(format!("{what}: {why}"));
        }
    };
    for at in 0..bytes.len() {
        let mut flipped = bytes.clone();
        flipped[at] ^= 1 << (at % 8);
        tried(&flipped, format!("bit {} of byte {at}", at % 8));
        for (fill, len) in [(0, 1), (0, 16), (0, 256), (0xff, 7), (0xff, 64), (0xff, 256)] {
            let mut run = bytes.clone();
            let end = (at + len).min(run.len());
            run[at..end].fill(fill);
            tried(&run, format!("{len} bytes of {fill:02x} from {at}"));
        }
    }
    // A frame that is gone without a trace: readings and what the header lists are missed.
    for gone in 0..frames.len() {
        let mut frames = frames.clone();
        let frame = frames.remove(gone);
        let entry = sample::items(&frame).next();
        // Nothing counts the marks, and without its beginning a run is as if it went on.
        if !matches!(entry, Some(Item::Entry(entry)) if matches!(*entry, Entry::Mark(_))) {
            tried(&frames.concat(), format!("frame {gone} gone"));
        }
    }
    assert!(
        silent.is_empty(),
        "{} silent:\n{}",
        silent.len(),
        silent[..silent.len().min(20)].join("\n")
    );
}

proptest! {
    #[test]
    fn any_bytes_are_taken(bytes in proptest::collection::vec(any::<u8>(), 0..3000)) {
        if let Ok(session) = open(&bytes[..]) {
            let _ = replay(&bytes[..], &session, &[], |_| {});
        }
    }

    #[test]
    fn any_damage_leaves_the_other_frames(
        holes in proptest::collection::vec((any::<prop::sample::Index>(), 0usize..40), 1..5),
    ) {
        let mut bytes = whole();
        for (at, len) in holes {
            let at = at.index(bytes.len());
            let end = (at + len).min(bytes.len());
            bytes.drain(at..end);
        }
        if let Ok(session) = open(&bytes[..]) {
            let summary = replay(&bytes[..], &session, &[], |_| {})
                .expect("in memory");
            prop_assert_eq!(summary.mismatches, 0);
            prop_assert_eq!(summary.altered_records, 0);
        }
    }
}

/// Each run counts with what it kept, whichever of the two copies is left, and with nothing of another run's.
#[test]
fn a_run_counts_with_what_it_kept_of_the_board() {
    let (ph, cell) = (ph_record(0.98), sample::cell_record());
    let header = Entry::Header(sample::header(&[&ph, &cell]));
    let at = sample::host_time(60_000);
    let kept = |file: &str| Entry::Measured { at, file: file.into(), lines: "r8".into() };
    let (reason, line_damaged_bytes) = (EndReason::Done, 0);
    let end = Entry::End { reason, at, headers: 1, readings: 2, line_damaged_bytes };
    let mut frames: Vec<(bool, Vec<u8>)> = Vec::new();
    let mut entry = |entry: &Entry| {
        let is_kept = matches!(entry, Entry::Measured { .. });
        frames.push((is_kept, entry.frame().expect("it fits")));
    };
    [Entry::opening(), header.clone(), record_entry(&ph), record_entry(&cell)]
        .iter()
        .for_each(&mut entry);
    for (run, file) in [Some("a"), Some("b"), None].into_iter().enumerate() {
        let first = 2 * run as u32;
        if run > 0 {
            frames.push((false, header.frame().expect("it fits")));
        }
        let copy = file.map(|file| (true, kept(file).frame().expect("it fits")));
        frames.extend(copy.clone());
        frames.push((false, mark(&reading(first)).frame().expect("it fits")));
        frames.extend([first, first + 1].map(|running| (false, reading_frame(reading(running)))));
        frames.extend(copy);
        frames.push((false, end.frame().expect("it fits")));
    }
    let u = |frames: &[(bool, Vec<u8>)], given: Option<BoardLimits>| -> Vec<f64> {
        let bytes: Vec<u8> = frames.iter().flat_map(|(_, frame)| frame.clone()).collect();
        let mut session = open(&bytes[..]).expect("a session");
        session.board_limits = given;
        for kept in &mut session.measured {
            let bias_a = if kept.file == "a" { 1e-11 } else { 2e-11 };
            kept.limits = Some((sample::header(&[]).board, leaking(bias_a)));
        }
        let mut all = Vec::new();
        let keep = |replayed: Replayed| all.push(replayed.assessment.uncertainty.ph);
        let summary = replay(&bytes[..], &session, &[], keep).expect("in memory");
        assert_eq!((summary.unknown_frames, summary.parts, summary.behind_end), (0, 3, 0));
        all.into_iter().map(|u| u.expect("a pH")).collect()
    };
    let whole = u(&frames, None);
    // Beside the lag of a first reading, which each run has.
    assert!(whole[2] > whole[0] && whole[0] > whole[4], "{whole:?}");
    assert!(whole[3] > whole[1] && whole[1] > whole[5], "{whole:?}");
    for gone in (0..frames.len()).filter(|at| frames[*at].0) {
        let mut frames = frames.clone();
        frames.remove(gone);
        assert_eq!(u(&frames, None), whole, "without frame {gone}");
    }
    let given = u(&frames, Some(leaking(2e-11)));
    assert_eq!(given[2..4], whole[2..4]);
    assert!(given[0] > whole[0] && given[4] > whole[4], "{given:?} and {whole:?}");
}

/// A board whose input takes so much current.
fn leaking(bias_a: f64) -> BoardLimits {
    let mut limits = BoardLimits::ANY;
    limits.bias_a.deviation = bias_a;
    limits
}
