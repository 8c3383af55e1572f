//! The store against the strict flash: refusals, damage, and power cuts compared with a model.

mod ahead;
mod damage;
mod duration;
mod golden;
mod records;

use self::records::*;
use super::strict_flash::{PAGE, StrictFlash, WORD};
use super::*;
use embassy_futures::block_on;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::{CalibrationRecord, RecordKind};
use std::vec::Vec as List;
use std::{format, vec};

const BOARD: BoardId = BoardId([7; 8]);

fn mount(flash: &mut StrictFlash) -> Store<&mut StrictFlash> {
    let region = 0..flash.bytes.len() as u32;
    block_on(Store::mount(flash, region, BOARD))
}

/// The flash under a store.
fn chip<'a>(store: &'a mut Store<&mut StrictFlash>) -> &'a mut StrictFlash {
    store.maps.as_mut().unwrap().flash().unwrap().flash_mut()
}

fn offset(store: &Store<&mut StrictFlash>) -> Option<f64> {
    store.coefficients().ph.map(|ph| ph.offset_mv)
}

#[test]
fn everything_comes_back_after_a_start() {
    let mut flash = StrictFlash::new(16);
    let (first, second) = (bytes(&record("e", 1, ph(1.5))), bytes(&record("e", 2, cell(0.9))));
    let mut store = mount(&mut flash);
    assert_eq!((store.boot(), store.has_fault(), store.equipment()), (1, false, Ok(None)));
    block_on(async {
        store.equip(equipment("e")).await.unwrap();
        let id = store.keep(&first).await.unwrap();
        assert_eq!(id, codec::identity(&first));
        assert_eq!(store.keep(&first).await, Ok(id));
        store.keep(&second).await.unwrap();
    });
    let used = store.used();
    let mut again = mount(&mut flash);
    assert_eq!((again.boot(), again.has_fault()), (2, false));
    assert_eq!(again.equipment(), Ok(Some(equipment("e"))));
    assert_eq!(again.used(), used);
    assert_eq!(offset(&again), Some(1.5));
    assert_eq!(again.coefficients().conductivity.map(|c| c.cell_constant_per_cm), Some(0.9));
    for expected in [&first, &second] {
        assert_eq!(block_on(again.record(codec::identity(expected))).as_ref(), Ok(expected));
    }
    let id = RecordId([1; 16]);
    assert_eq!(block_on(again.record(id)), Err(Refusal::NoSuchRecord { id }));
    assert_eq!(again.listed().unwrap().len(), 2);
}

#[test]
fn what_cannot_be_kept_is_refused_and_changes_nothing() {
    let mut flash = StrictFlash::new(16);
    let mut store = mount(&mut flash);
    let good = bytes(&record("e", 1, ph(1.0)));
    assert_eq!(block_on(store.keep(&good)), Err(Refusal::NotFitted));
    block_on(store.equip(equipment("e"))).unwrap();
    block_on(store.keep(&good)).unwrap();
    let other_board = CalibrationRecord { board: BoardId([8; 8]), ..record("e", 1, ph(2.0)) };
    let nameless = CalibrationRecord { fitted: Fitted::default(), ..record("e", 1, ph(2.0)) };
    let newer = [&[99][..], &good[1..]].concat();
    let cases: [(&[u8], Refusal); 6] = [
        (&bytes(&other_board), Refusal::OtherBoard { made_for: BoardId([8; 8]) }),
        (&bytes(&nameless), Refusal::NotFitted),
        (&bytes(&record("other", 1, ph(2.0))), Refusal::NotFitted),
        (&good[..good.len() - 1], Refusal::RecordUnreadable),
        (&[], Refusal::RecordUnreadable),
        (&newer, Refusal::RecordVersion { found: 99, newest: codec::RECORD_VERSION }),
    ];
    for (record, refusal) in cases {
        assert_eq!(block_on(store.keep(record)), Err(refusal));
        assert_eq!((offset(&store), store.listed().unwrap().len()), (Some(1.0), 1));
    }
}

#[test]
fn the_electrode_that_is_fitted_brings_its_calibration_back() {
    let mut flash = StrictFlash::new(16);
    let mut store = mount(&mut flash);
    block_on(async {
        for (electrode, mv) in [("a", 1.0), ("b", 2.0), ("a", 3.0), ("a", 4.0)] {
            store.equip(equipment(electrode)).await.unwrap();
            store.keep(&bytes(&record(electrode, 1, ph(mv)))).await.unwrap();
        }
        assert_eq!((offset(&store), store.listed().unwrap().len()), (Some(4.0), 3));
        for (electrode, mv) in [("b", Some(2.0)), ("new", None), ("a", Some(4.0))] {
            store.equip(equipment(electrode)).await.unwrap();
            assert_eq!(offset(&store), mv);
        }
        // The one before is kept and can be put in force again.
        store.keep(&bytes(&record("a", 1, ph(3.0)))).await.unwrap();
        assert_eq!(offset(&store), Some(3.0));
    });
    assert_eq!(offset(&mount(&mut flash)), Some(3.0));
}

#[test]
fn a_verification_is_kept_beside_the_calibration_and_puts_nothing_in_force() {
    let mut flash = StrictFlash::new(16);
    let mut store = mount(&mut flash);
    block_on(async {
        store.equip(equipment("e")).await.unwrap();
        store.keep(&bytes(&record("e", 1, ph(1.5)))).await.unwrap();
        assert_eq!(store.keep(&verification("other", 2)).await, Err(Refusal::NotFitted));
    });
    let used = store.used();
    let ids: List<_> =
        [2, 3, 4].map(|utc_ms| block_on(store.keep(&verification("e", utc_ms))).unwrap()).to_vec();
    // The same again changes nothing.
    assert_eq!(block_on(store.keep(&verification("e", 4))), Ok(ids[2]));
    let mut again = mount(&mut flash);
    assert_eq!((again.has_fault(), again.used(), offset(&again)), (false, used, Some(1.5)));
    let kept: List<_> = again.listed().unwrap().iter().map(|l| (l.kind, l.in_force)).collect();
    let verified = (RecordKind::Verification, false);
    assert_eq!(kept, [(RecordKind::Calibration, true), verified, verified]);
    assert_eq!(block_on(again.record(ids[2])), Ok(verification("e", 4)));
    assert_eq!(block_on(again.record(ids[0])), Err(Refusal::NoSuchRecord { id: ids[0] }));
}

#[test]
fn a_small_region_is_full_in_the_end_and_keeps_what_it_has() {
    let mut flash = StrictFlash::new(4);
    let mut store = mount(&mut flash);
    let mut kept = List::new();
    let refused = (0..16).find_map(|number| {
        let electrode = format!("electrode {number}");
        block_on(store.equip(equipment(&electrode))).err().or_else(|| {
            let mut record = record(&electrode, number, ph(number as f64));
            record.points = full_points();
            let bytes = bytes(&record);
            let refused = block_on(store.keep(&bytes)).err();
            if refused.is_none() {
                kept.push(bytes);
            }
            refused
        })
    });
    assert!(matches!(refused, Some(Refusal::StoreFull { needed: 1.. })), "{refused:?}");
    assert!(!kept.is_empty());
    let mut again = mount(&mut flash);
    assert_eq!(again.listed().unwrap().len(), kept.len());
    for bytes in kept {
        assert_eq!(block_on(again.record(codec::identity(&bytes))), Ok(bytes));
    }
}

#[test]
fn a_region_that_cannot_hold_a_store_is_a_fault() {
    for region in [0..0, 0..3 * PAGE as u32, 1..4 * PAGE as u32] {
        let mut flash = StrictFlash::new(4);
        let mut store = block_on(Store::mount(&mut flash, region, BOARD));
        assert_eq!((store.has_fault(), store.listed()), (true, Err(Refusal::StoreFault)));
        assert_eq!(block_on(store.equip(equipment("e"))), Err(Refusal::StoreFault));
    }
}

/// What can be seen of a store from outside.
#[derive(Clone, Debug, PartialEq)]
struct Seen {
    equipment: Option<Equipment>,
    records: List<RecordBytes>,
    offset_mv: Option<f64>,
}

fn see(store: &mut Store<&mut StrictFlash>) -> Seen {
    let listed = store.listed().unwrap();
    let records = listed.iter().map(|l| block_on(store.record(l.id)).unwrap()).collect();
    Seen { equipment: store.equipment().unwrap(), records, offset_mv: offset(store) }
}

/// One change, of a kind that its number says.
fn change(store: &mut Store<&mut StrictFlash>, number: i64) -> Result<(), Refusal> {
    let electrode = ["a", "b", "c"][(number / 5 % 3) as usize];
    if number % 5 == 0 {
        return block_on(store.equip(equipment(electrode)));
    }
    if number % 5 == 3 {
        return block_on(store.keep(&verification(electrode, number))).map(|_| ());
    }
    let mut record = record(electrode, number, ph(number as f64));
    record.points = full_points();
    block_on(store.keep(&bytes(&record))).map(|_| ())
}

#[test]
fn a_power_cut_at_any_operation_leaves_the_old_or_the_new_state() {
    let (mut flash, mut cuts, mut erasures) = (StrictFlash::new(7), 0, 0);
    for number in 0..60 {
        let old = see(&mut mount(&mut flash.clone()));
        let mut after = flash.clone();
        after.done = 0;
        let new = {
            let mut store = mount(&mut after);
            change(&mut store, number).unwrap();
            see(&mut store)
        };
        let boot = mount(&mut after.clone()).boot();
        // Many operations of the changes that turn pages, some of the others; with steps that are
        // prime to everything, the cuts fall elsewhere in each.
        let step = if after.erasures != flash.erasures { 11 } else { 97 };
        erasures += usize::from(step == 11);
        for left in (1 + number as usize % step..after.done).step_by(step) {
            let mut cut = flash.clone();
            cut.left = Some(left);
            let _ = change(&mut mount(&mut cut), number);
            cut.left = None;
            let mut store = mount(&mut cut);
            let seen = see(&mut store);
            assert!(seen == old || seen == new, "change {number} cut after {left}: {seen:?}");
            assert!(!store.has_fault(), "change {number} cut after {left}");
            assert!((boot - 2..=boot).contains(&store.boot()));
            // And it goes on working.
            change(&mut store, number).unwrap();
            assert_eq!(see(&mut store), new, "change {number} done after a cut at {left}");
            cuts += 1;
        }
        flash = after;
    }
    assert!(cuts > 250 && erasures > 5, "{cuts} cuts, {erasures} page turns");
}

#[test]
fn power_cuts_at_one_start_after_another_are_no_fault() {
    let starts = |flash: &StrictFlash, left: Option<usize>| {
        let mut flash = flash.clone();
        (flash.left, flash.done) = (left, 0);
        mount(&mut flash);
        flash.left = None;
        flash
    };
    let mut flash = StrictFlash::new(5);
    let (mut cuts, mut turns) = (0, 0);
    for number in 0..12 {
        change(&mut mount(&mut flash), number).unwrap();
        let old = see(&mut mount(&mut flash.clone()));
        // Programs alone; steps that are prime to everything where a page is turned.
        let started = starts(&flash, None);
        turns += usize::from(started.erasures != flash.erasures);
        let step = if started.done < 50 { 1 } else { 37 };
        for first in (1..started.done).step_by(step) {
            let once = starts(&flash, Some(first));
            for second in (1..starts(&once, None).done).step_by(step) {
                let mut twice = starts(&once, Some(second));
                let mut store = mount(&mut twice);
                assert!(
                    !store.has_fault(),
                    "change {number}, cut after {first}, then after {second}"
                );
                assert_eq!(see(&mut store), old);
                cuts += 1;
            }
        }
    }
    assert!(cuts > 1000 && turns > 0, "{cuts} cuts, {turns} page turns");
}

#[test]
fn no_change_reads_the_flash_more_than_a_watchdog_would_bear() {
    let mut flash = StrictFlash::new(16);
    let mut worst = 0;
    let mut erased = 0;
    for number in 0..60 {
        let mut store = mount(&mut flash);
        chip(&mut store).reads = 0;
        for number in 5 * number..5 * number + 5 {
            change(&mut store, number).unwrap();
            let flash = chip(&mut store);
            worst = worst.max(core::mem::take(&mut flash.reads));
            erased = flash.erasures.iter().sum();
        }
    }
    // Without the cache it is 200 000. At some 10 µs each (an estimate: no read was timed on a board)
    // 500 are 5 ms.
    assert!(erased > 15, "{erased} page turns");
    assert!(worst < 500, "{worst} reads in one change");
}
