//! How long a start or a change takes on a chip at its slowest, which a watchdog has to wait for.

use super::*;
use crate::constants::{STORE_ERASE_US, STORE_LONGEST_US, STORE_MAX_PAGES, STORE_PROGRAM_US};
use rillmark_proto::record::{Override, Reason};

/// A record as long as one can be in words that a person writes.
fn long_record(electrode: &str, number: i64) -> RecordBytes {
    let mut record = record(electrode, number, ph(number as f64));
    record.points = full_points();
    record.operator = "a name of many letters".try_into().unwrap();
    let reason = Reason::try_from("of forty-eight letters, as long as one may be").unwrap();
    record.overrides =
        (0..4).map(|judgement| Override { judgement, reason: reason.clone() }).collect();
    bytes(&record)
}

/// Time of everything that was ever done to the flash, in µs.
fn spent_us(store: &mut Store<&mut StrictFlash>) -> u64 {
    let flash = chip(store);
    let erasures = flash.erasures.iter().sum::<usize>() as u64;
    erasures * STORE_ERASE_US + flash.programs as u64 * STORE_PROGRAM_US
}

#[test]
fn no_start_and_no_change_takes_longer_than_a_watchdog_is_told_to_wait() {
    let mut flash = StrictFlash::new(STORE_MAX_PAGES);
    let (mut longest, mut turns, mut spent) = (0, 0, 0);
    let mut note = |store: &mut Store<&mut StrictFlash>| {
        let took = spent_us(store) - spent;
        spent += took;
        longest = longest.max(took);
        turns += usize::from(took >= STORE_ERASE_US);
    };
    for round in 0..40 {
        let mut store = mount(&mut flash);
        note(&mut store);
        for number in 16 * round..16 * (round + 1) {
            let electrode = format!("electrode {}", number % 16);
            block_on(store.equip(equipment(&electrode))).unwrap();
            note(&mut store);
            // Sixteen long records come to lie side by side, and then in the way of all that follows.
            if round == 0 || number % 50 == 0 {
                block_on(store.keep(&long_record(&electrode, number))).unwrap();
                note(&mut store);
            }
        }
    }
    assert!(turns > 50, "{turns} changes turned pages");
    assert!(
        longest <= STORE_LONGEST_US,
        "{turns} changes turned pages, the longest took {longest} µs"
    );
}
