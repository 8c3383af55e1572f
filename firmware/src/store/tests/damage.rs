//! What is not ours or was damaged: refused, or missed and named, and never written over.

use super::*;
use crate::store::maps::WITNESS_PAGES;
use sequential_storage::cache::Cache;
use sequential_storage::map::{MapConfig, MapStorage};

#[test]
fn foreign_and_damaged_flash_is_reported_and_never_written() {
    let text = b"Somebody else's file. ".iter().copied().cycle();
    let mut state = 1_u32;
    let noise = core::iter::from_fn(|| {
        state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        Some((state >> 24) as u8)
    });
    let fillings: [List<u8>; 9] = [
        text.clone().take(4 * PAGE).collect(),
        text.clone().take(2 * PAGE).collect(),
        text.clone().skip(1).take(4 * PAGE).collect(),
        text.clone().skip(2).take(3 * PAGE - 1).collect(),
        text.clone().take(PAGE + 100).collect(),
        noise.take(4 * PAGE).collect(),
        vec![0; 4 * PAGE],
        [&[0; 4][..], &text.clone().take(300).collect::<List<u8>>()].concat(),
        // Page 0 is blank at its start, then somebody else's.
        vec![0xff; 100].into_iter().chain(text.clone().take(PAGE)).collect(),
    ];
    for (number, filling) in fillings.into_iter().enumerate() {
        let mut flash = StrictFlash::new(4);
        flash.bytes[..filling.len()].copy_from_slice(&filling);
        assert_refused(flash, number);
    }
}

fn assert_refused(mut flash: StrictFlash, number: usize) {
    let (before, done) = (flash.bytes.clone(), flash.done);
    let mut store = mount(&mut flash);
    assert!(store.has_fault(), "filling {number}");
    assert_eq!(store.boot(), 0);
    assert_eq!(store.equipment(), Err(Refusal::StoreCorrupt), "filling {number}");
    assert_eq!(store.listed(), Err(Refusal::StoreCorrupt));
    assert_eq!(block_on(store.equip(equipment("e"))), Err(Refusal::StoreCorrupt));
    let bytes = bytes(&record("e", 1, ph(1.0)));
    assert_eq!(block_on(store.keep(&bytes)), Err(Refusal::StoreCorrupt));
    assert!(flash.bytes == before && flash.done == done, "filling {number} was written");
}

/// A map over the whole region, without a witness, with the keys that it had: a store of images before this
/// layout.
#[test]
fn a_store_without_a_witness_is_refused_and_not_written() {
    for changes in [1, 40, 200, 400] {
        let mut flash = StrictFlash::new(7);
        let region = 0..flash.bytes.len() as u32;
        let config = MapConfig::<&mut StrictFlash>::try_new(region).unwrap();
        let mut map = MapStorage::new(&mut flash, config, Cache::new_uncached());
        let mut buffer = [0; 1024];
        let mut catalogue = Catalogue::default();
        for change in 1..=changes {
            catalogue = catalogue.equipped(equipment("e"));
            let (boot, catalogue) = (u32::to_le_bytes(change), catalogue.to_bytes().unwrap());
            for (key, value) in [(0_u8, &boot[..]), (3, &boot), (1, &catalogue), (2, &catalogue)] {
                block_on(map.store_item(&mut buffer, &key, &value)).unwrap();
            }
        }
        assert_refused(flash, changes as usize);
    }
}

#[test]
fn the_bytes_of_the_flash_are_handed_out_also_of_a_store_that_is_refused() {
    let mut flash = StrictFlash::new(5);
    let mut store = mount(&mut flash);
    block_on(store.equip(equipment("e"))).unwrap();
    let whole = flash.clone();
    flash.bytes.fill(0x55);
    for mut flash in [whole, flash] {
        let mut store = mount(&mut flash);
        let mut bytes = List::new();
        loop {
            let piece = block_on(store.piece(bytes.len() as u32)).unwrap();
            assert_eq!(piece.size as usize, 5 * PAGE);
            if piece.bytes.is_empty() {
                break;
            }
            bytes.extend(piece.bytes);
        }
        assert_eq!(block_on(store.piece(u32::MAX)).unwrap().bytes.len(), 0);
        assert!(bytes == flash.bytes);
    }
}

#[test]
fn one_damaged_item_is_noticed_and_the_rest_still_serves() {
    let mut flash = StrictFlash::new(4);
    let mut store = mount(&mut flash);
    let kept = bytes(&record("e", 1, ph(1.0)));
    block_on(store.equip(equipment("e"))).unwrap();
    block_on(store.keep(&kept)).unwrap();
    let whole = flash.clone();
    let at = |flash: &StrictFlash, what: &[u8]| {
        flash.bytes.windows(what.len()).rposition(|window| window == what).unwrap()
    };
    // A bit of the length of the very first item, the first copy of the boot count.
    flash.bytes[WITNESS_PAGES * PAGE + 4 + 4] ^= 0x10;
    let store = mount(&mut flash);
    assert_eq!((store.has_fault(), store.boot(), offset(&store)), (true, 2, Some(1.0)));
    let store = mount(&mut flash);
    assert_eq!((store.has_fault(), store.boot()), (false, 3));
    // A bit of the record.
    let mut flash = whole.clone();
    let position = at(&flash, &kept);
    flash.bytes[position + 20] ^= 1;
    let mut store = mount(&mut flash);
    assert!(store.has_fault());
    assert_eq!((offset(&store), store.equipment()), (None, Ok(Some(equipment("e")))));
    let id = codec::identity(&kept);
    assert_eq!(block_on(store.record(id)), Err(Refusal::RecordDamaged { id }));
    let listed = store.listed().unwrap();
    assert_eq!((listed[0].id, listed[0].in_force, listed[0].whole), (id, true, false));
    // Keeping it again mends it.
    assert_eq!(block_on(store.keep(&kept)), Ok(id));
    assert!(!store.has_fault() && store.listed().unwrap()[0].whole && offset(&store) == Some(1.0));
    let again = mount(&mut flash);
    assert_eq!((again.has_fault(), offset(&again)), (false, Some(1.0)));
    // A bit of the first copy of the newest catalogue: the second copy serves, and mends it.
    let mut flash = whole;
    let second = at(&flash, &id.0);
    let first = at(&StrictFlash { bytes: flash.bytes[..second].to_vec(), ..flash.clone() }, &id.0);
    flash.bytes[first] ^= 1;
    let store = mount(&mut flash);
    assert_eq!((store.has_fault(), offset(&store)), (true, Some(1.0)));
    let again = mount(&mut flash);
    assert_eq!((again.has_fault(), offset(&again)), (false, Some(1.0)));
}
