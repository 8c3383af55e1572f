//! Stores: a flash that holds anything, and a run of changes with power cuts against a model.

use std::collections::BTreeMap;

use embassy_futures::block_on;
use rillmark_firmware::store::Store;
use rillmark_proto::identity::RecordId;
use rillmark_proto::reading::evaluate;
use rillmark_proto::record::fitted::{Equipment, Serial};
use rillmark_proto::record::{CalibrationRecord, Quantity, codec};
use rillmark_proto::wire::message::Refusal;

use super::records::is_finite_or_nothing;
use crate::store::strict_flash::{PAGE, StrictFlash, WORD};
use crate::store::{equipment, generations, mount, records};

/// Says that patches of a real store follow; else changes do.
const PATCHES: u8 = 1;
/// The most changes of a run: one takes some microseconds.
const MOST_CHANGES: usize = 40;

pub(super) fn seeds() -> Vec<Vec<u8>> {
    // Every change there is, with and without cuts; see `change`.
    let plain: Vec<u8> = [0].into_iter().chain((0..24).flat_map(|n| [n, 0])).collect();
    let cut: Vec<u8> = [0].into_iter().chain((0..24).flat_map(|n| [n, 3 * n + 1])).collect();
    let many: Vec<u8> = [0].into_iter().chain((0..40).flat_map(|n| [n * 5 + 1, 0])).collect();
    // A patch: store, place in units of 16, the bytes.
    let patch = |store, place: u16| {
        let [low, high] = place.to_le_bytes();
        vec![PATCHES, store, low, high, 4, 0, 0, 0, 0]
    };
    vec![plain, cut, many, patch(0, 0), patch(1, 512), patch(2, 300), patch(3, 700)]
}

/// True when the store could be used in the end.
pub(super) fn check(bytes: &[u8]) -> bool {
    match bytes {
        [PATCHES, store, patches @ ..] => patched(*store, patches),
        [_, changes @ ..] => changed(changes),
        [] => false,
    }
}

thread_local! {
    /// The stores that are patched.
    static STORES: Vec<StrictFlash> =
        generations().into_iter().map(|store| store.into_flash()).collect();
}

/// Overwrites parts of a real store with anything and uses what is there: never a panic, never a write over
/// what is not blank (the flash panics at one).
fn patched(store: u8, mut patches: &[u8]) -> bool {
    let mut flash = STORES.with(|stores| stores[usize::from(store) % stores.len()].clone());
    while let [low, high, len, rest @ ..] = patches {
        let at = usize::from(u16::from_le_bytes([*low, *high])) * 16 % flash.bytes.len();
        let len = usize::from(*len).min(rest.len()).min(flash.bytes.len() - at);
        let (patch, left) = rest.split_at(len);
        flash.bytes[at..at + len].copy_from_slice(patch);
        let words = at / WORD..(at + len).div_ceil(WORD);
        for word in words {
            let is_erased = flash.bytes[word * WORD..][..WORD].iter().all(|byte| *byte == 0xff);
            flash.is_programmed[word] &= !is_erased;
        }
        patches = left;
    }
    let mut store = mount(&mut flash);
    is_sound(&mut store);
    let is_usable = block_on(store.equip(equipment())).is_ok();
    let [_, ph, _] = records(9);
    let _ = block_on(store.keep(&codec::encode(&ph.into()).expect("short")));
    is_sound(&mut store);
    is_sound(&mut mount(&mut flash));
    is_usable
}

/// What a store says of itself agrees with itself.
fn is_sound(store: &mut Store<&mut StrictFlash>) {
    let listed = store.listed().unwrap_or_default();
    for listed in &listed {
        let handed_out = block_on(store.record(listed.id));
        assert_eq!(handed_out.is_ok(), listed.whole, "listed as what it is");
        if let Ok(bytes) = handed_out {
            assert_eq!(codec::identity(&bytes), listed.id, "no other record");
        }
    }
    let raw = rillmark_proto::reading::Raw {
        potential_nv: Some(-20_500_000),
        conductance: None,
        thermometer_milliohm: Some(1_077_000),
    };
    is_finite_or_nothing(&evaluate(&raw, store.coefficients()));
    let used = [store.used().ph, store.used().conductivity, store.used().temperature];
    for short in used.into_iter().flatten() {
        assert!(listed.iter().any(|listed| listed.id.short() == short), "in force and not listed");
    }
}

/// What is in force of each sensor.
#[derive(Clone, Debug, Default, PartialEq)]
struct Model {
    fitted: Option<Equipment>,
    in_force: BTreeMap<(u8, Serial), RecordId>,
}

/// One change.
#[derive(Clone, Debug)]
enum Change {
    Equip(Equipment),
    Keep(Box<CalibrationRecord>),
    Start,
}

/// The change that a byte says: what is fitted, a record of what is fitted, or a start.
fn change(byte: u8, nth: usize, model: &Model) -> Change {
    let electrode = ["a", "b", "c", "d"][usize::from(byte / 8 % 4)];
    match byte % 8 {
        0 | 1 => {
            let mut equipment = equipment();
            equipment.fitted.electrode = Some(Serial::try_from(electrode).expect("short"));
            equipment.utc_ms = nth as i64;
            Change::Equip(equipment)
        }
        2 => Change::Start,
        kind => {
            let [temperature, ph, cell] = records(1 + nth as i64);
            let mut record = match kind % 3 {
                0 => temperature,
                1 => ph,
                _ => cell,
            };
            if let Some(fitted) = &model.fitted {
                record.fitted = fitted.fitted.clone();
            }
            Change::Keep(Box::new(record))
        }
    }
}

/// Does changes one after another, the power cut in the middle of some, and compares with the model after each
/// start.
fn changed(bytes: &[u8]) -> bool {
    let mut flash = StrictFlash::new(5);
    let mut model = Model::default();
    let mut boot = 0;
    for (nth, pair) in bytes.chunks_exact(2).take(MOST_CHANGES).enumerate() {
        let [byte, cut] = pair else { continue };
        let change = change(*byte, nth, &model);
        let next = model.after(&change);
        // Few operations and many: a page turn has hundreds.
        flash.left =
            (*cut > 0).then(|| if *cut < 200 { usize::from(*cut) } else { usize::from(*cut) * 7 });
        let outcome = {
            let mut store = mount(&mut flash);
            match &change {
                Change::Equip(equipment) => block_on(store.equip(equipment.clone())),
                Change::Keep(record) => {
                    let bytes = codec::encode(&(**record).clone().into()).expect("short");
                    block_on(store.keep(&bytes)).map(|_| ())
                }
                Change::Start => Ok(()),
            }
        };
        let was_cut = flash.left == Some(0);
        flash.left = None;
        let mut store = mount(&mut flash);
        assert!(!store.has_fault(), "no fault without damage");
        assert!(store.boot() >= boot, "the boot count goes on");
        boot = store.boot();
        is_sound(&mut store);
        model = match outcome {
            Ok(()) if model.takes(&change) => next,
            Ok(()) => panic!("kept for what is not fitted: {change:?}"),
            // Of a change that was not confirmed either state is right.
            Err(_) if was_cut && next.is_of(&store) => next,
            Err(_) if was_cut => model,
            // There is room for two of each sensor that a run can name.
            Err(Refusal::NotFitted) if !model.takes(&change) => model,
            Err(refusal) => panic!("refused without a reason: {refusal:?}"),
        };
        let is = (store.equipment(), store.used());
        assert!(model.is_of(&store), "{is:?} is not what the model is: {model:?} after {change:?}");
    }
    flash.bytes.len() > PAGE && !model.in_force.is_empty()
}

impl Model {
    /// A record is taken of what is fitted alone.
    fn takes(&self, change: &Change) -> bool {
        let Change::Keep(record) = change else { return true };
        self.fitted.as_ref().is_some_and(|it| it.fitted == record.fitted)
    }

    fn after(&self, change: &Change) -> Self {
        let mut next = self.clone();
        match change {
            Change::Equip(equipment) => next.fitted = Some(equipment.clone()),
            Change::Keep(record) => {
                let bytes = codec::encode(&(**record).clone().into()).expect("short");
                let serial = record.fitted.serial_for(record.quantity());
                if let Some(serial) = serial.filter(|_| self.takes(change)) {
                    let of = (record.quantity() as u8, serial.clone());
                    next.in_force.insert(of, codec::identity(&bytes));
                }
            }
            Change::Start => {}
        }
        next
    }

    /// What is fitted, and what readings are computed with.
    fn is_of(&self, store: &Store<&mut StrictFlash>) -> bool {
        let used = store.used();
        let same = |quantity: Quantity, used: Option<_>| {
            let serial = self.fitted.as_ref().and_then(|of| of.fitted.serial_for(quantity));
            let id = serial.and_then(|serial| self.in_force.get(&(quantity as u8, serial.clone())));
            id.map(|id| id.short()) == used
        };
        store.equipment() == Ok(self.fitted.clone())
            && same(Quantity::Ph, used.ph)
            && same(Quantity::Conductivity, used.conductivity)
            && same(Quantity::Temperature, used.temperature)
    }
}
