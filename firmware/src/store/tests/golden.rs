//! Stores as the board's image left them in the emulator (`tests/emulator/on_image/versions.test.js`
//! writes them): whatever firmware comes later has to go on reading these bytes.

use super::*;
use crate::constants::STORE_MAX_PAGES;

/// A flash of as many pages as the board's store has, which begins so.
fn flash(image: &[u8]) -> StrictFlash {
    let mut flash = StrictFlash::new(STORE_MAX_PAGES);
    flash.bytes[..image.len()].copy_from_slice(image);
    for (word, is_programmed) in flash.bytes.chunks(WORD).zip(&mut flash.is_programmed) {
        *is_programmed = word != [0xff; WORD];
    }
    flash
}

/// Whether each record is in force, and whether this release reads it.
fn records(store: &mut Store<&mut StrictFlash>) -> List<(bool, bool)> {
    let listed = store.listed().unwrap();
    let records = listed.iter().map(|listed| {
        let bytes = block_on(store.record(listed.id)).unwrap();
        (listed.in_force, codec::decode(&bytes).is_ok())
    });
    records.collect()
}

#[test]
fn a_store_of_version_1_is_read() {
    let mut flash = flash(include_bytes!("../../../../tests/emulator/golden/store-v1.flash"));
    let mut store = mount(&mut flash);
    assert!(store.boot() > 1 && !store.has_fault());
    let fitted = store.equipment().unwrap().unwrap().fitted;
    assert_eq!((fitted.electrode, fitted.cell), (serial("E-1"), serial("K-1")));
    assert_eq!(records(&mut store), [(true, true)]);
    assert!(store.coefficients().ph.is_some() && store.used().ph.is_some());
}

#[test]
fn a_record_of_a_later_version_is_kept_unread_and_nothing_takes_its_place() {
    let image =
        include_bytes!("../../../../tests/emulator/golden/store-v1-with-a-newer-record.flash");
    let mut flash = flash(image);
    let mut store = mount(&mut flash);
    assert!(!store.has_fault(), "it is not lost");
    assert_eq!(records(&mut store), [(false, true), (true, false)]);
    assert_eq!((store.coefficients().ph, store.used().ph), (None, None));
    let newer = store.listed().unwrap()[1].id;
    let bytes = block_on(store.record(newer)).unwrap();
    assert_eq!((bytes[0], codec::identity(&bytes)), (2, newer));
    // Another change leaves it where it is.
    block_on(store.equip(equipment("E-1"))).unwrap();
    assert_eq!(block_on(mount(&mut flash).record(newer)), Ok(bytes));
}
