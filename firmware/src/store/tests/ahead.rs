//! Pages turned ahead of the next change.

use super::*;

fn make_ready(store: &mut Store<&mut StrictFlash>) -> usize {
    let mut steps = 0;
    while !store.is_ready() {
        let erased =
            |store: &mut Store<&mut StrictFlash>| -> usize { chip(store).erasures.iter().sum() };
        let before = erased(store);
        block_on(store.make_ready());
        assert!(erased(store) <= before + 1, "a step erases one page at the most");
        steps += 1;
    }
    steps
}

#[test]
fn a_change_that_was_made_ready_for_erases_nothing() {
    let mut flash = StrictFlash::new(16);
    let (mut erased_ahead, mut boot) = (0, 0);
    for number in 0..200 {
        let erasures = flash.erasures.clone();
        let mut store = mount(&mut flash);
        make_ready(&mut store);
        boot += 1;
        assert_eq!((store.boot(), store.has_fault()), (boot, false));
        let ahead = chip(&mut store).erasures.clone();
        erased_ahead += usize::from(ahead != erasures);
        change(&mut store, number).unwrap();
        assert_eq!(flash.erasures, ahead, "change {number}");
    }
    assert!(erased_ahead > 10, "{erased_ahead} page turns ahead");
}

#[test]
fn a_power_cut_while_making_ready_changes_nothing() {
    let (mut flash, mut cuts) = (StrictFlash::new(7), 0);
    for number in 0..20 {
        let old = see(&mut mount(&mut flash.clone()));
        let mut after = flash.clone();
        after.done = 0;
        let steps = make_ready(&mut mount(&mut after));
        let step = if after.erasures == flash.erasures { 397 } else { 37 };
        for left in (1 + number as usize % step..after.done).step_by(step) {
            let mut cut = flash.clone();
            cut.left = Some(left);
            let mut store = mount(&mut cut);
            // As many steps as without the cut: with the power gone none of them says no.
            for _ in 0..steps {
                block_on(store.make_ready());
            }
            cut.left = None;
            let mut store = mount(&mut cut);
            assert_eq!(see(&mut store), old, "change {number} cut after {left}");
            assert!(!store.has_fault(), "change {number} cut after {left}");
            make_ready(&mut store);
            assert_eq!(see(&mut store), old);
            cuts += 1;
        }
        change(&mut mount(&mut after), number as i64).unwrap();
        flash = after;
    }
    assert!(cuts > 40, "{cuts} cuts");
}

#[test]
fn a_store_without_room_is_not_turned_without_end() {
    let mut flash = StrictFlash::new(4);
    let mut store = mount(&mut flash);
    for number in 0..5 {
        let _ = change(&mut store, number);
    }
    make_ready(&mut store);
    assert!(store.is_ready());
    let turns: usize = flash.erasures.iter().sum();
    assert!(turns <= 40, "{turns} pages erased");
}
