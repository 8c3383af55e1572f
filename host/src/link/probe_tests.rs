//! Conversations with a scripted probe.

use std::cell::RefCell;
use std::rc::Rc;

use rillmark_proto::record::codec::{self, RECORD_VERSION};
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{Quantity, RecordBytes, RecordKind};
use rillmark_proto::wire::message::{Listed, Refusal, Sampling};

use super::*;
use crate::exit::Exit;
use crate::link::LinkError;
use crate::link::fake::{FakeLink, World, empty_reading, reading_frame};

fn connect(world: &Rc<RefCell<World>>) -> Result<Probe, ProbeError> {
    Probe::connect(Box::new(FakeLink(Rc::clone(world))))
}

fn failure(world: &Rc<RefCell<World>>) -> Failure {
    match connect(world) {
        Ok(_) => panic!("this probe must not connect"),
        Err(error) => error.into(),
    }
}

#[test]
fn a_probe_says_who_it_is_and_answers_commands() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    assert_eq!(probe.answer(), world.borrow().answer);
    assert_eq!(probe.equipment().expect("it answers"), None);
    assert_eq!(probe.records().expect("it answers"), vec![]);
    probe.sample(Sampling::Ph).expect("it answers");
    assert_eq!(world.borrow().sampling, Sampling::Ph);
}

#[test]
fn a_lost_answer_is_asked_for_again_under_the_same_id() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    world.borrow_mut().lose_answers = 2;
    probe.sample(Sampling::Off).expect("the third is heard");
    probe.sample(Sampling::Off).expect("it answers");
    let ids: Vec<u32> = world.borrow().commands.iter().map(|command| command.id).collect();
    let [a, b, c, next] = ids[..] else { panic!("four commands, not {ids:?}") };
    assert!(a == b && b == c && next == c.wrapping_add(1), "{ids:?}");
    world.borrow_mut().lose_answers = 3;
    let error = probe.sample(Sampling::Off).expect_err("three are lost");
    assert!(matches!(error, ProbeError::NoAnswer { .. }));
    assert_eq!(Failure::from(error).exit, Exit::Probe);
}

#[test]
fn readings_that_come_meanwhile_wait_in_order_with_their_frames() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    let now = world.borrow().now;
    world.borrow_mut().reads(now, empty_reading(1));
    world.borrow_mut().reads(now, empty_reading(2));
    world.borrow_mut().reads(now + 50, empty_reading(3));
    probe.equipment().expect("it answers");
    for running in 1..=3 {
        let arrived = probe.next_reading(100).expect("open").expect("it waits");
        assert_eq!(arrived.reading, empty_reading(running));
        assert_eq!(arrived.frame, reading_frame(empty_reading(running)));
    }
    assert_eq!(probe.next_reading(100).expect("open"), None);
    assert_eq!(probe.damaged_bytes(), 0);
}

#[test]
fn a_storm_of_readings_takes_no_more_than_so_much_memory() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    let now = world.borrow().now;
    for running in 0..MOST_WAITING as u32 + 500 {
        world.borrow_mut().reads(now, empty_reading(running));
    }
    probe.sample(Sampling::Off).expect("its answer is found among them");
    for running in 0..MOST_WAITING as u32 {
        let arrived = probe.next_reading(0).expect("the line is there").expect("it waited");
        assert_eq!(arrived.reading.running, running);
    }
    assert!(probe.next_reading(0).expect("the line is there").is_none());
}

#[test]
fn damage_is_counted_and_the_next_frame_is_found() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    let now = world.borrow().now;
    world.borrow_mut().comes(now, &[7; 40]);
    world.borrow_mut().reads(now, empty_reading(1));
    world.borrow_mut().comes(now, &[9; 3]);
    world.borrow_mut().comes(now, &[0]);
    assert!(probe.next_reading(100).expect("open").is_some());
    assert_eq!(probe.next_reading(100).expect("open"), None);
    assert_eq!(probe.damaged_bytes(), 44);
    // Nothing but bytes without an end: memory stays bounded.
    world.borrow_mut().comes(now, &vec![5; 100_000]);
    assert_eq!(probe.next_reading(100).expect("open"), None);
    assert!(probe.damaged_bytes() > 90_000);
}

#[test]
fn deadlines_hold_whatever_arrives() {
    // Nothing that means anything, frames that mean nothing here, and readings beyond all measure.
    for bytes in [vec![0x5a, 0, 0xa5], vec![0], reading_frame(empty_reading(1))] {
        let world = World::new();
        let mut probe = connect(&world).expect("it answers");
        world.borrow_mut().answers = false;
        world.borrow_mut().flood = Some((0, bytes));
        let took = |world: &Rc<RefCell<World>>, from: u64| world.borrow().now - from;
        let from = world.borrow().now;
        assert!(matches!(probe.equipment(), Err(ProbeError::NoAnswer { .. })));
        let patience = u64::from(COMMANDS) * COMMAND_PATIENCE_MS;
        assert!(took(&world, from) <= patience + 10, "{}", took(&world, from));
        let from = world.borrow().now;
        assert!(probe.hello().is_err());
        assert!(took(&world, from) <= 5_010, "{}", took(&world, from));
        probe.forget_readings();
        let from = world.borrow().now;
        probe.next_reading(200).expect("open");
        assert!(took(&world, from) <= 202, "{}", took(&world, from));
    }
}

#[test]
fn who_does_not_answer_is_told_apart() {
    let silent = World::new();
    silent.borrow_mut().answers = false;
    let said = failure(&silent);
    assert_eq!(said.exit, Exit::Probe);
    assert!(said.sentence.contains("nothing answers"), "{said}");

    let foreign = World::new();
    foreign.borrow_mut().answers = false;
    foreign.borrow_mut().comes(10, b"login: \r\n");
    let said = failure(&foreign);
    assert_eq!(said.exit, Exit::Probe);
    assert!(said.sentence.contains("not a Rillmark probe"), "{said}");

    let deaf = World::new();
    deaf.borrow_mut().answers = false;
    deaf.borrow_mut().reads(10, empty_reading(1));
    assert!(failure(&deaf).sentence.contains("does not answer"));
}

#[test]
fn another_version_says_which_side_to_update() {
    let newer = World::new();
    (newer.borrow_mut().answer.wire_min, newer.borrow_mut().answer.wire_max) = (2, 3);
    assert!(failure(&newer).sentence.ends_with("Update rillmark."));
    let older = World::new();
    (older.borrow_mut().answer.wire_min, older.borrow_mut().answer.wire_max) = (0, 0);
    assert!(failure(&older).sentence.ends_with("Update the probe's firmware."));
    let wider = World::new();
    (wider.borrow_mut().answer.wire_min, wider.borrow_mut().answer.wire_max) = (0, 9);
    assert!(connect(&wider).is_ok());
}

#[test]
fn firmware_that_cannot_keep_our_records_is_told_before_the_work() {
    let world = World::new();
    for record_max in [RECORD_VERSION, RECORD_VERSION + 1] {
        world.borrow_mut().answer.record_max = record_max;
        assert!(connect(&world).expect("it answers").reads_our_records().is_ok());
    }
    world.borrow_mut().answer.record_max = RECORD_VERSION - 1;
    let old = connect(&world).expect("all that needs no new record still works");
    let failure = Failure::from(old.reads_our_records().expect_err("too old"));
    assert_eq!(failure.exit, Exit::Probe);
    assert!(failure.sentence.contains("Update the probe's firmware"), "{failure}");
}

#[test]
fn a_refusal_is_a_sentence_with_its_numbers() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    world.borrow_mut().refusal = Some(Refusal::StoreFull { needed: 412 });
    let failure = Failure::from(probe.equip(Equipment::default()).expect_err("it refuses"));
    assert_eq!(failure.exit, Exit::Refused);
    assert!(failure.sentence.contains("412"), "{failure}");
}

#[test]
fn a_record_that_is_not_the_one_asked_for_is_refused() {
    let bytes = |content: &[u8]| RecordBytes::from_slice(content).expect("it fits");
    let (world, record) = (World::new(), bytes(b"what was asked for"));
    let mut probe = connect(&world).expect("it answers");
    let id = codec::identity(&record);
    let (kind, quantity) = (RecordKind::Calibration, Quantity::Ph);
    let listed = Listed { id, kind, quantity, in_force: true, whole: true };
    world.borrow_mut().records = vec![(listed, record.clone())];
    assert_eq!(probe.record(id).expect("it is the one"), record);
    for other in [&b"another one"[..], b"what was asked foR", b""] {
        world.borrow_mut().records = vec![(listed, bytes(other))];
        let failure = Failure::from(probe.record(id).expect_err("another one"));
        assert_eq!(failure.exit, Exit::Probe);
        assert!(failure.sentence.contains(&id.short().to_string()), "{failure}");
    }
}

#[test]
fn a_store_comes_in_full_pieces_and_within_its_time() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    let store = world.borrow().store.clone();
    assert_eq!(probe.store().expect("it is told"), store);
    // Pieces that could be larger are a store that does not end in a lifetime.
    world.borrow_mut().piece = 1;
    let asked = world.borrow().commands.len();
    assert!(matches!(probe.store(), Err(ProbeError::UnknownAnswer { .. })));
    assert_eq!(world.borrow().commands.len(), asked + 1);
    // So are answers that each come just in time.
    let (piece, store) = (store.len(), vec![7; 4_000_000]);
    (world.borrow_mut().piece, world.borrow_mut().store) = (piece.min(1024), store);
    world.borrow_mut().answers_after = 4_900;
    let began = world.borrow().now;
    assert!(matches!(probe.store(), Err(ProbeError::NoAnswer { .. })));
    assert!(world.borrow().now - began < 200_000);
}

#[test]
fn a_pulled_cable_is_a_loss_and_only_the_same_board_reconnects() {
    let world = World::new();
    let mut probe = connect(&world).expect("it answers");
    let now = world.borrow().now;
    world.borrow_mut().pulls.push((now + 100, 1000));
    assert!(matches!(probe.next_reading(200), Err(ProbeError::Link(LinkError::Lost { .. }))));
    assert!(probe.reconnect().is_err());
    probe.link_mut().wait(1000);
    world.borrow_mut().answer.board = BoardId([9; 8]);
    assert!(matches!(probe.reconnect(), Err(ProbeError::OtherBoard { .. })));
    world.borrow_mut().answer.board = BoardId([1, 2, 3, 4, 5, 6, 7, 8]);
    world.borrow_mut().answer.boot = 4;
    assert_eq!(probe.reconnect().expect("the same board").boot, 4);
}
