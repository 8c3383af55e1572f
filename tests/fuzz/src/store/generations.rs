//! Stores with three generations of records, at several ages. All records are invented.

use embassy_futures::block_on;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration};
use rillmark_proto::record::fitted::{Equipment, Fitted, Serial};
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, codec};

use super::strict_flash::{PAGE, StrictFlash};
use super::verdict::Seen;
use super::{BOARD, Damage, mount};
use crate::random::Random;
use rillmark_proto::identity::RecordId;

/// A store and what is true of it.
#[derive(Clone)]
pub struct Generations {
    /// What its age is.
    pub name: &'static str,
    pub(super) flash: StrictFlash,
    pub(super) truth: Seen,
    /// The same store before the last generation was kept.
    older: StrictFlash,
    /// Where the identities of the records in force stand: in every copy of every catalogue that lists
    /// them.
    listed_at: Vec<Vec<usize>>,
}

impl Generations {
    fn new(name: &'static str, flash: StrictFlash, older: StrictFlash) -> Self {
        // The truth is what a start would see; the start itself is not part of the store.
        let truth = Seen::of(&mut mount(&mut flash.clone()));
        let listed_at = |id: RecordId| {
            let windows = flash.bytes.windows(id.0.len()).enumerate();
            windows.filter(|(_, window)| *window == id.0).map(|(at, _)| at).collect()
        };
        let listed_at = truth.in_force_ids().map(listed_at).collect();
        Self { name, flash, truth, older, listed_at }
    }

    /// One that lost the last generation, whole, and of which the same is true: a verdict has to see it.
    pub fn older(&self) -> Self {
        Self { flash: self.older.clone(), ..self.clone() }
    }

    /// The flash itself.
    pub(crate) fn into_flash(self) -> StrictFlash {
        self.flash
    }

    /// Bytes of the region.
    pub fn size(&self) -> usize {
        self.flash.bytes.len()
    }

    /// Pages that hold anything.
    pub fn used_pages(&self) -> Vec<usize> {
        let pages = self.flash.bytes.chunks(PAGE).enumerate();
        pages.filter(|(_, page)| page.iter().any(|byte| *byte != 0xff)).map(|(at, _)| at).collect()
    }

    /// A byte: anywhere, in a page in use, or near a catalogue.
    fn byte(&self, random: &mut Random) -> usize {
        match random.below(4) {
            0 => random.below(self.size()),
            1 => random.one_of(&self.used_pages()) * PAGE + random.below(PAGE),
            _ => {
                let copies = random.one_of(&self.listed_at);
                random.one_of(copies).saturating_sub(200) + random.below(400)
            }
        }
    }

    /// Two bits somewhere.
    pub fn pair(&self, random: &mut Random) -> Damage {
        let mut bit = || self.byte(random) * 8 + random.below(8);
        Damage::Pair { one: bit(), other: bit() }
    }

    /// The same two bits in every two copies of the newest catalogue, all over them.
    pub fn alike(&self) -> Vec<Damage> {
        // The record that was kept last is in no other catalogue.
        let Some(copies) = self.listed_at.last() else { return Vec::new() };
        let pairs = copies
            .iter()
            .enumerate()
            .flat_map(|(nth, first)| copies[nth + 1..].iter().map(move |second| (*first, *second)));
        let bit = |copy: usize, bit: usize| (copy * 8 + bit).saturating_sub(200 * 8);
        let damages = pairs.flat_map(|(first, second)| {
            (0..250 * 8).map(move |at| Damage::Pair { one: bit(first, at), other: bit(second, at) })
        });
        damages.collect()
    }

    /// Up to 256 bytes of zeros or ones somewhere.
    pub fn run(&self, random: &mut Random) -> Damage {
        let filling = *random.one_of(&[0x00, 0xff]);
        Damage::Run { at: self.byte(random), len: 1 + random.below(256), filling }
    }
}

/// Pages of the region: two of the witness, three of the main map.
const PAGES: usize = 5;

/// Every age.
pub fn all() -> Vec<Generations> {
    let mut all = Vec::new();

    let mut young = StrictFlash::new(PAGES);
    let mut older = young.clone();
    for generation in 1..=3 {
        older = young.clone();
        calibrate(&mut young, generation);
        mount(&mut young);
    }
    all.push(Generations::new(
        "young, started after each generation",
        young.clone(),
        older.clone(),
    ));

    let mut busy = StrictFlash::new(PAGES);
    calibrate_without_starts(&mut busy, 3);
    let mut before = StrictFlash::new(PAGES);
    calibrate_without_starts(&mut before, 2);
    all.push(Generations::new("calibrated three times without a start", busy, before));

    for _ in 0..300 {
        mount(&mut young);
    }
    all.push(Generations::new("300 starts later", young, older));

    let mut old = StrictFlash::new(PAGES);
    let mut before = old.clone();
    for generation in 1..60 {
        before = old.clone();
        calibrate(&mut old, generation);
    }
    all.push(Generations::new("pages turned often", old, before));
    all
}

fn calibrate(flash: &mut StrictFlash, generation: i64) {
    let mut store = mount(flash);
    block_on(async {
        if generation == 1 {
            store.equip(equipment()).await.expect("room");
        }
        for record in records(generation) {
            let bytes = codec::encode(&record.into()).expect("short");
            store.keep(&bytes).await.expect("room");
        }
    });
}

fn calibrate_without_starts(flash: &mut StrictFlash, generations: i64) {
    let mut store = mount(flash);
    block_on(async {
        store.equip(equipment()).await.expect("room");
        for record in (1..=generations).flat_map(records) {
            let bytes = codec::encode(&record.into()).expect("short");
            store.keep(&bytes).await.expect("room");
        }
    });
}

pub(crate) fn equipment() -> Equipment {
    let serial = |text| Some(Serial::try_from(text).expect("short"));
    let fitted =
        Fitted { electrode: serial("E-1"), cell: serial("K-1"), thermometer: serial("T-1") };
    Equipment { fitted, utc_ms: 1 }
}

/// One of each quantity, another number in each generation.
pub(crate) fn records(generation: i64) -> [CalibrationRecord; 3] {
    let number = generation as f64;
    let compensation = Compensation::Linear { per_kelvin: 0.0191 };
    let ph = PhCalibration::exact(0.99, number);
    let cell = ConductivityCalibration::exact(1.0 + number / 100.0, compensation);
    let results = [
        CalibrationResult::Temperature(TemperatureCalibration {
            offset_k: number / 10.0,
            ..TemperatureCalibration::exact(PT1000)
        }),
        CalibrationResult::Ph(ph),
        CalibrationResult::Conductivity(cell),
    ];
    results.map(|result| CalibrationRecord {
        board: BOARD,
        fitted: equipment().fitted,
        utc_ms: generation,
        due_utc_ms: None,
        operator: Default::default(),
        points: Default::default(),
        result,
        outcome: Outcome::Adjusted,
        incident: None,
        stored_days: None,
        drift: result.usual_drift(),
        previous: None,
        as_left: None,
        overrides: Default::default(),
    })
}

/// Their bytes.
pub(crate) fn record_bytes(generation: i64) -> impl Iterator<Item = Vec<u8>> {
    let bytes = |record: CalibrationRecord| codec::encode(&record.into()).expect("short").to_vec();
    records(generation).into_iter().map(bytes)
}
