//! Logs of a scripted probe.

use std::cell::RefCell;
use std::io;
use std::rc::Rc;

use rillmark_proto::wire::message;

use super::*;
use crate::link::fake::{FakeLink, UTC_AT_ZERO, World, reading_frame};
use crate::session::reader::Item;
use crate::session::replay::{Summary, open, replay};
use crate::session::sample::{
    self, Memory, cell_record, computed_reading, equipment, kept, ph_record, reading,
};
use crate::session::time::Why;
use crate::session::writer::Storage;

/// When the scripted readings begin to come; hello and questions are over by then.
const FIRST_MS: u64 = 1_000;

fn world() -> Rc<RefCell<World>> {
    let world = World::new();
    {
        let mut world = world.borrow_mut();
        world.equipment = Some(equipment());
        world.records = vec![kept(&ph_record(0.98), true), kept(&cell_record(), true)];
    }
    world
}

fn readings(world: &Rc<RefCell<World>>, from: u32, to: u32) {
    for running in from..to {
        let at = FIRST_MS + u64::from(running) * 5_000;
        world.borrow_mut().reads(at, reading(running));
    }
}

fn plan(count: u64) -> Plan {
    Plan {
        sampling: Sampling::Full { interval_ms: 5_000 },
        count: Some(count),
        for_ms: Some(3_600_000),
        note: None,
        junction_ph: None,
        measured: None,
    }
}

fn run(
    world: &Rc<RefCell<World>>,
    memory: &Memory,
    plan: &Plan,
    stop: &dyn Fn() -> bool,
) -> Result<Logged, Failure> {
    let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(world)))).expect("it answers");
    log(&mut probe, &mut memory.writer(), plan, stop, &mut |_| Ok(()))
}

fn never() -> bool {
    false
}

fn summary(memory: &Memory) -> Summary {
    let bytes = memory.content();
    let session = open(&bytes[..]).expect("a session");
    replay(&bytes[..], &session, &[], |_| {}).expect("in memory")
}

/// The readings' numbers and when they were taken.
fn dates(memory: &Memory) -> Vec<(u32, Option<i64>)> {
    let bytes = memory.content();
    let (session, mut dates) = (open(&bytes[..]).expect("a session"), Vec::new());
    replay(&bytes[..], &session, &[], |replayed| {
        dates.push((replayed.reading.running, replayed.utc_ms));
    })
    .expect("in memory");
    dates
}

fn entries(memory: &Memory) -> Vec<Entry> {
    sample::items(&memory.content())
        .filter_map(|item| match item {
            Item::Entry(entry) => Some(*entry),
            _ => None,
        })
        .collect()
}

fn headers(memory: &Memory) -> Vec<Header> {
    let only = |entry| match entry {
        Entry::Header(header) => Some(header),
        _ => None,
    };
    entries(memory).into_iter().filter_map(only).collect()
}

#[test]
fn a_log_holds_header_records_marks_readings_verbatim_and_an_end() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 30);
    let plan = Plan { note: Some("north shore".into()), ..plan(30) };
    let logged = run(&world, &memory, &plan, &never).expect("nothing goes wrong");
    let tally = summary(&memory).tally;
    assert_eq!(logged, Logged { readings: 30, tally, ..Logged::default() });
    assert_eq!(world.borrow().sampling, Sampling::Off, "left quiet");

    let bytes = memory.content();
    let opening = Entry::opening().frame().expect("it fits");
    assert!(bytes.starts_with(&opening));
    for running in 0..30 {
        let frame = reading_frame(reading(running));
        assert!(bytes.windows(frame.len()).any(|window| window == frame), "{running}");
    }
    let session = open(&bytes[..]).expect("a session");
    assert_eq!(session.records.len(), 2);
    assert_eq!(*session.notes, ["north shore"]);
    assert_eq!(session.headers.len(), 1);
    assert_eq!(session.headers[0].equipment, Some(equipment()));
    assert_eq!(session.headers[0].in_force.len(), 2);
    let marks = entries(&memory).iter().filter(|entry| matches!(entry, Entry::Mark(_))).count();
    assert_eq!(marks, 1, "150 s: the first reading");
    let (end, tally) = (Some(EndReason::Done), logged.tally);
    let expected = Summary { readings: 30, parts: 1, end, tally, ..Summary::default() };
    assert_eq!(summary(&memory), expected);
}

#[test]
fn every_frame_is_on_the_disk_within_ten_seconds() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 30);
    run(&world, &memory, &plan(30), &never).expect("nothing goes wrong");
    // 150 s of readings 5 s apart: every one is forced onto the disk 5 s later.
    assert!(*memory.syncs.borrow() >= 15, "{}", memory.syncs.borrow());
}

/// A disk with a clock: how long a frame was at most written and not yet forced onto it.
#[derive(Clone)]
struct Timed {
    world: Rc<RefCell<World>>,
    pending_since: Rc<RefCell<Option<u64>>>,
    longest_ms: Rc<RefCell<u64>>,
}

impl Storage for Timed {
    fn append(&mut self, _bytes: &[u8]) -> io::Result<()> {
        self.pending_since.borrow_mut().get_or_insert(self.world.borrow().now);
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        if let Some(since) = self.pending_since.borrow_mut().take() {
            let longest = &mut *self.longest_ms.borrow_mut();
            *longest = (*longest).max(self.world.borrow().now - since);
        }
        Ok(())
    }

    fn cut(&mut self, _len: u64) -> io::Result<()> {
        Ok(())
    }

    fn named_len(&self) -> io::Result<Option<u64>> {
        Ok(Some(u64::MAX))
    }

    fn remove(&mut self) -> io::Result<()> {
        Ok(())
    }
}

#[test]
fn a_probe_that_answers_nothing_more_keeps_no_frame_off_the_disk() {
    // Beside a sound one: one that goes dumb after three readings, the next of which names a record
    // that has to be asked for.
    for dumb in [false, true] {
        let world = world();
        readings(&world, 0, 4);
        let unknown = computed_reading(4, &ph_record(0.97));
        world.borrow_mut().reads(FIRST_MS + 4 * 5_000, unknown);
        readings(&world, 5, 12);
        let disk = Timed {
            world: Rc::clone(&world),
            pending_since: Rc::default(),
            longest_ms: Rc::default(),
        };
        let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
        let mut writer = Writer::begin(Box::new(disk.clone()), "timed".into()).expect("empty");
        let mut seen = 0;
        let mut watch = |event: Event<'_>| {
            seen += u32::from(matches!(event, Event::Reading { .. }));
            if seen == 3 && dumb {
                world.borrow_mut().answers = false;
            }
            Ok(())
        };
        let logged = log(&mut probe, &mut writer, &plan(10), &never, &mut watch).expect("logged");
        assert_eq!(logged.readings, 10);
        assert_eq!(*disk.pending_since.borrow(), None, "all is on the disk in the end");
        assert!(*disk.longest_ms.borrow() <= 10_000, "{dumb}: {} ms", disk.longest_ms.borrow());
    }
}

#[test]
fn a_probe_that_withholds_its_records_holds_up_the_log_once() {
    let (world, memory) = (world(), Memory::new());
    world.borrow_mut().withholds_records = true;
    readings(&world, 0, 20);
    let logged = run(&world, &memory, &plan(10), &never).expect("nothing goes wrong");
    assert_eq!(logged.readings, 10);
    let asked = |it: &&message::Command| matches!(it.order, message::Order::TellRecord(_));
    let questions = world.borrow().commands.iter().filter(asked).count();
    assert_eq!(questions, 3, "one question, said three times");
    let bytes = memory.content();
    let session = open(&bytes[..]).expect("a session");
    let said = session.notes.iter().filter(|note| note.contains("is not in this session"));
    assert_eq!(said.count(), 2, "{:?}", session.notes);
    assert_eq!(summary(&memory).unresolved, 10);
}

#[test]
fn a_disk_that_fails_once_ends_the_log_with_that() {
    let (world, mut memory) = (world(), Memory::new());
    memory.failing_sync = Some(4);
    readings(&world, 0, 30);
    let failure = run(&world, &memory, &plan(30), &never).expect_err("it failed");
    assert_eq!(failure.exit, Exit::Storage);
    assert_eq!(summary(&memory).end, None, "no clean end");
}

#[test]
fn a_computer_that_slept_goes_on_in_the_same_file_and_dates_what_follows() {
    let (world, memory) = (world(), Memory::new());
    const SLEPT_MS: u64 = 600_000;
    readings(&world, 0, 5);
    // Asleep after the fifth reading: the monotonic clock stands still, what the probe said
    // meanwhile is lost, and the line is as it was.
    world.borrow_mut().slept = Some((FIRST_MS + 22_000, SLEPT_MS));
    let first_after = 5 + (SLEPT_MS / 5_000) as u32;
    for running in first_after..first_after + 5 {
        let at = FIRST_MS + u64::from(running) * 5_000 - SLEPT_MS;
        world.borrow_mut().reads(at, reading(running));
    }
    let logged = run(&world, &memory, &plan(10), &never).expect("nothing goes wrong");
    let expected = Summary {
        readings: 10,
        gaps: 1,
        missing_readings: SLEPT_MS / 5_000,
        gap_list: summary(&memory).gap_list,
        parts: 1,
        end: Some(EndReason::Done),
        tally: logged.tally,
        ..Summary::default()
    };
    assert_eq!(summary(&memory), expected);
    for (running, utc_ms) in dates(&memory) {
        let came = UTC_AT_ZERO + FIRST_MS as i64 + i64::from(running) * 5_000;
        assert_eq!(utc_ms, Some(came), "{running}");
    }
}

#[test]
fn a_clock_that_is_set_midway_is_said_and_every_reading_is_dated_as_when_it_came() {
    for by in [365 * 86_400_000_i64, -7_200_000, 1_500] {
        let (world, memory) = (world(), Memory::new());
        readings(&world, 0, 10);
        world.borrow_mut().set = Some((FIRST_MS + 22_000, by));
        let (mut live, mut said) = (Vec::new(), Vec::new());
        let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
        let mut watch = |event: Event<'_>| {
            match event {
                Event::Reading { reading, utc_ms, .. } => live.push((reading.running, utc_ms)),
                Event::ClockSet(set) => said.push(*set),
                _ => {}
            }
            Ok(())
        };
        let logged = log(&mut probe, &mut memory.writer(), &plan(10), &never, &mut watch)
            .expect("nothing goes wrong");
        assert_eq!(live, dates(&memory), "live as replayed");
        for (running, utc_ms) in live {
            let came = UTC_AT_ZERO + FIRST_MS as i64 + i64::from(running) * 5_000;
            assert_eq!(utc_ms, Some(came + if running < 5 { 0 } else { by }), "{running}");
        }
        let utc_ms = UTC_AT_ZERO + FIRST_MS as i64 + 25_000 + by;
        let set = ClockSet { run: 1, boot: 3, running: 5, utc_ms, by_ms: by, why: Why::Set };
        assert_eq!(
            (&said[..], &logged.clock_sets[..], &summary(&memory).clock_sets[..]),
            (&[set][..], &[set][..], &[set][..])
        );
    }
}

#[test]
fn a_reading_that_comes_twice_is_written_once_and_one_that_differs_is_kept_and_said() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 6);
    // The line doubles frames, one of them late.
    readings(&world, 2, 4);
    world.borrow_mut().reads(FIRST_MS + 21_000, reading(1));
    world.borrow_mut().reads(FIRST_MS + 22_000, computed_reading(3, &ph_record(0.97)));
    let logged = run(&world, &memory, &plan(7), &never).expect("nothing goes wrong");
    assert_eq!((logged.readings, logged.duplicates, logged.contradictions), (7, 3, 1));
    let summary = summary(&memory);
    assert_eq!((summary.readings, summary.duplicates, summary.contradictions), (7, 0, 1));
    assert_eq!((summary.lost_readings, summary.uncounted_readings), (0, 0));
}

#[test]
fn a_pulled_cable_is_a_gap_in_the_same_file() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 20);
    // Out from 22 s to 52 s: the readings 5 to 10 go nowhere.
    world.borrow_mut().pulls.push((22_000, 30_000));
    let logged = run(&world, &memory, &plan(14), &never).expect("it comes back");
    assert_eq!(logged.gaps, 1);
    let entries = entries(&memory);
    let began = entries.iter().any(
        |entry| matches!(entry, Entry::GapBegan { cause: Cause::LineLost, at } if at.monotonic_ms == 22_000),
    );
    let ended = entries.iter().find_map(|entry| match entry {
        Entry::GapEnded { at } => Some(at.monotonic_ms),
        _ => None,
    });
    assert!(began && ended.is_some_and(|at| (52_000..53_000).contains(&at)), "{ended:?}");
    assert_eq!(headers(&memory).len(), 1, "nothing has changed");
    let expected = Summary {
        readings: 14,
        gaps: 1,
        missing_readings: 6,
        gap_list: summary(&memory).gap_list,
        parts: 1,
        end: Some(EndReason::Done),
        tally: logged.tally,
        ..Summary::default()
    };
    assert_eq!(summary(&memory), expected);
}

#[test]
fn what_changed_while_the_cable_was_out_is_told() {
    let (world, memory) = (world(), Memory::new());
    let new = ph_record(0.95);
    for running in 0..4 {
        world.borrow_mut().reads(FIRST_MS + u64::from(running) * 5_000, reading(running));
    }
    for running in 4..9 {
        let at = 40_000 + u64::from(running) * 5_000;
        world.borrow_mut().reads(at, computed_reading(running, &new));
    }
    world.borrow_mut().pulls.push((20_000, 5_000));
    let seen = Rc::clone(&world);
    let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
    let logged = log(&mut probe, &mut memory.writer(), &plan(9), &never, &mut |event| {
        let mut world = seen.borrow_mut();
        if matches!(event, Event::GapBegan(..)) && world.answer.boot == 3 {
            world.records[0].0.in_force = false;
            world.records.push(kept(&new, true));
            world.answer.boot = 4;
        }
        Ok(())
    })
    .expect("it comes back");
    assert_eq!(logged.readings, 9);
    let headers = headers(&memory);
    assert_eq!(headers.len(), 2);
    assert_eq!((headers[1].reason, headers[1].boot), (HeaderReason::Changed, 4));
    let summary = summary(&memory);
    assert_eq!((summary.mismatches, summary.unresolved), (0, 0));
    assert!(summary.gaps >= 1);
}

#[test]
fn a_calibration_that_comes_into_force_meanwhile_is_written_before_its_first_reading() {
    let (world, memory) = (world(), Memory::new());
    let new = ph_record(0.95);
    readings(&world, 0, 3);
    for running in 3..6 {
        let at = FIRST_MS + u64::from(running) * 5_000;
        world.borrow_mut().reads(at, computed_reading(running, &new));
    }
    world.borrow_mut().records.push(kept(&new, false));
    run(&world, &memory, &plan(6), &never).expect("nothing goes wrong");
    let short = kept(&new, true).0.id.short();
    let mut known = false;
    for item in sample::items(&memory.content()) {
        match item {
            Item::Entry(entry) => {
                known |= matches!(*entry, Entry::Record { id, .. } if id.short() == short);
            }
            Item::Reading(reading) if reading.calibrations.ph == Some(short) => assert!(known),
            _ => {}
        }
    }
    assert_eq!(summary(&memory).unresolved, 0);
}

#[test]
fn a_record_that_is_not_the_one_asked_for_is_not_written_and_that_is_said() {
    let (world, memory) = (world(), Memory::new());
    let (_, other) = kept(&ph_record(0.80), true);
    world.borrow_mut().records[0].1 = other;
    readings(&world, 0, 3);
    run(&world, &memory, &plan(3), &never).expect("the log goes on");
    let session = open(&memory.content()[..]).expect("a session");
    assert_eq!(session.records.len(), 1);
    assert!(
        session.notes.iter().any(|note| note.contains("another record")),
        "{:?}",
        session.notes
    );
    let summary = summary(&memory);
    assert_eq!((summary.altered_records, summary.unresolved), (0, 3));
}

#[test]
fn silence_is_asked_about_and_sampling_is_told_again() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 2);
    readings(&world, 20, 22);
    let logged = run(&world, &memory, &plan(4), &never).expect("it comes back");
    assert!(logged.gaps >= 1);
    let began = |entry: &Entry| matches!(entry, Entry::GapBegan { cause: Cause::Silent, .. });
    assert!(entries(&memory).iter().any(began));
    let told = world
        .borrow()
        .commands
        .iter()
        .filter(|command| {
            matches!(
                command.order,
                rillmark_proto::wire::message::Order::Sample(Sampling::Full { .. })
            )
        })
        .count();
    assert!(told >= 2, "{told}");
    assert_eq!(summary(&memory).missing_readings, 18);
}

#[test]
fn a_restart_is_noticed_long_before_the_next_reading_is_due() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 1);
    let mut restarted = reading(0);
    restarted.time = rillmark_proto::reading::ProbeTime { boot: 4, ms: 5_000 };
    world.borrow_mut().reads(40_000, restarted);
    let seen = Rc::clone(&world);
    // Without its power from the first reading on, though the line stays.
    let stop = move || {
        let mut world = seen.borrow_mut();
        if world.now > 2_000 {
            world.answer.boot = 4;
        }
        false
    };
    let plan = Plan { sampling: Sampling::Full { interval_ms: 3_600_000 }, ..plan(2) };
    let logged = run(&world, &memory, &plan, &stop).expect("it goes on");
    assert_eq!((logged.readings, logged.gaps), (2, 1));
    let headers = headers(&memory);
    assert_eq!(headers.iter().map(|header| header.boot).collect::<Vec<_>>(), [3, 4]);
    assert_eq!(logged.restarts, 1);
    let ended = entries(&memory).into_iter().find_map(|entry| match entry {
        Entry::GapEnded { at } => Some(at.monotonic_ms),
        _ => None,
    });
    assert!(ended.is_some_and(|ms| ms < 20_000), "{ended:?}");
    assert_eq!(summary(&memory).gaps, 1);
}

#[test]
fn an_interruption_ends_the_file_also_while_waiting() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 3);
    world.borrow_mut().pulls.push((20_000, 1_000_000));
    let seen = Rc::clone(&world);
    let stop = move || seen.borrow().now > 60_000;
    let logged = run(&world, &memory, &plan(100), &stop).expect("an end is no failure");
    assert!(logged.interrupted);
    let summary = summary(&memory);
    assert_eq!(summary.end, Some(EndReason::Interrupted));
    assert_eq!((summary.readings, summary.gaps), (3, 1));
}

#[test]
fn a_log_for_a_time_ends_in_time() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 100);
    let plan = Plan { count: None, for_ms: Some(60_000), ..plan(0) };
    let logged = run(&world, &memory, &plan, &never).expect("nothing goes wrong");
    assert_eq!(logged.readings, 12);
}

#[test]
fn a_full_disk_is_a_sentence_and_what_is_written_is_whole() {
    let whole = {
        let (world, memory) = (world(), Memory::new());
        readings(&world, 0, 30);
        run(&world, &memory, &plan(30), &never).expect("there is room");
        memory.content().len()
    };
    for room in (60..whole).step_by(37) {
        let (world, mut memory) = (world(), Memory::new());
        memory.room = room;
        readings(&world, 0, 30);
        let failure = run(&world, &memory, &plan(30), &never).expect_err("it is full");
        assert_eq!(failure.exit, Exit::Storage);
        assert!(failure.sentence.contains("full"), "{failure}");
        if memory.content().is_empty() {
            continue;
        }
        // Nothing is left of a log without a reading.
        let summary = summary(&memory);
        assert!(summary.readings > 0, "room {room}");
        assert_eq!((summary.damaged_bytes, summary.torn_bytes), (0, 0), "room {room}");
    }
}

#[test]
fn a_store_that_cannot_tell_is_noted_and_logged_all_the_same() {
    let (world, memory) = (world(), Memory::new());
    let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
    readings(&world, 0, 2);
    // Only questions about the store are refused.
    world.borrow_mut().store_refusal = Some(rillmark_proto::wire::message::Refusal::StoreCorrupt);
    log(&mut probe, &mut memory.writer(), &plan(2), &never, &mut |_| Ok(())).expect("it goes on");
    let session = open(&memory.content()[..]).expect("a session");
    assert_eq!(session.headers[0].equipment, None);
    assert!(session.notes[0].contains("damaged"), "{:?}", session.notes);
    let summary = summary(&memory);
    assert_eq!((summary.readings, summary.unresolved, summary.mismatches), (2, 2, 0));
}

#[test]
fn a_note_that_is_too_long_is_refused_before_anything_is_sampled() {
    let (world, memory) = (world(), Memory::new());
    let plan = Plan { note: Some("x".repeat(MAX_NOTE + 1)), ..plan(1) };
    let failure = run(&world, &memory, &plan, &never).expect_err("too long");
    assert_eq!(failure.exit, Exit::BadInput);
    assert!(world.borrow().commands.is_empty());
}

#[test]
fn a_flood_does_not_hold_up_the_end() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 3);
    world.borrow_mut().flood = Some((12_000, vec![0x5a, 0, 0xa5]));
    let plan = Plan { for_ms: Some(14_000), ..plan(100) };
    let logged = run(&world, &memory, &plan, &never).expect("the file is whole");
    assert_eq!(logged.readings, 3);
    assert!(logged.line_damaged_bytes > 1_000, "{}", logged.line_damaged_bytes);
    assert_eq!(summary(&memory).end, Some(EndReason::Done));
    // The command that ends the sampling gets no answer, three times five seconds long.
    assert!(world.borrow().now < 14_000 + 16_000, "{}", world.borrow().now);
}

#[test]
fn another_board_on_the_same_line_is_not_logged() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 3);
    // From 12 s on another one answers, and from 30 s on it speaks unasked, until the first is back.
    readings(&world, 6, 12);
    readings(&world, 16, 20);
    let seen = Rc::clone(&world);
    let board = world.borrow().answer.board;
    let stop = move || {
        let mut world = seen.borrow_mut();
        let is_other = (12_000..70_000).contains(&world.now);
        world.answer.board =
            if is_other { rillmark_proto::identity::BoardId([9; 8]) } else { board };
        false
    };
    // The other one's are computed otherwise.
    for running in 6..12 {
        let at = FIRST_MS + u64::from(running) * 5_000;
        let frame = reading_frame(computed_reading(running, &ph_record(0.9)));
        world.borrow_mut().coming.insert(at, frame);
    }
    let mut said = Vec::new();
    let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
    let logged = log(&mut probe, &mut memory.writer(), &plan(7), &stop, &mut |event| {
        if let Event::StillGone(error) = event {
            said.push(error.to_string());
        }
        Ok(())
    })
    .expect("it comes back");
    assert_eq!((logged.readings, logged.gaps), (7, 1));
    assert!(said.iter().any(|said| said.contains("0909090909090909")), "{said:?}");
    let numbers: Vec<_> = dates(&memory).into_iter().map(|(running, _)| running).collect();
    assert_eq!(numbers, [0, 1, 2, 16, 17, 18, 19]);
    assert!(headers(&memory).iter().all(|header| header.board == board));
    assert_eq!(summary(&memory).other_board, 0);
}

#[test]
fn a_line_that_held_readings_back_dates_them_all_the_same_and_the_replay_agrees() {
    let (world, memory) = (world(), Memory::new());
    readings(&world, 0, 4);
    // Silent for longer than it takes to ask, then all at once.
    for running in 4..9 {
        world.borrow_mut().reads(FIRST_MS + 40_000, reading(running));
    }
    readings(&world, 9, 12);
    let mut live = Vec::new();
    let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
    let logged = log(&mut probe, &mut memory.writer(), &plan(12), &never, &mut |event| {
        if let Event::Reading { reading, utc_ms, .. } = event {
            live.push((reading.running, utc_ms));
        }
        Ok(())
    })
    .expect("it goes on");
    assert_eq!((logged.gaps, logged.clock_sets.count()), (1, 0));
    assert_eq!(live, dates(&memory), "live as replayed");
    for (running, utc_ms) in live {
        let taken = UTC_AT_ZERO + FIRST_MS as i64 + i64::from(running) * 5_000;
        assert!(utc_ms.is_some_and(|utc_ms| (utc_ms - taken).abs() <= 20), "{running}");
    }
}
