//! One reading through the whole chain, tap after tap in the firmware's order, as the converter takes it.

use std::fmt::Write as _;

use rillmark_firmware::constants::{
    AVERAGE_US, CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE, FREQUENCIES_1K_HZ, FREQUENCY_10K_HZ,
    FREQUENCY_100K_HZ, WAIT_RANGE_US, WAIT_TAP_US,
};
use rillmark_firmware::front_end::cell::resistor_ohm;
use rillmark_firmware::front_end::{ORDER, Tap};
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, network};
use rillmark_proto::reading::Range;

use crate::cell::{LEAD_OHM, USUAL_CABLE_F};
use crate::electrode::Layer;
use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;
use crate::waves::Waves;

/// A chain, its cell and its faults.
#[derive(Clone, Copy, Debug)]
pub struct Chain {
    /// The range.
    pub range: Range,
    /// The drive's frequency in Hz.
    pub hz: u32,
    /// The water between the electrodes in Ω.
    pub water_ohm: f64,
    /// On-resistance of every switch in Ω.
    pub on_ohm: f64,
    /// Offset of the followers in V.
    pub offset_v: f64,
    /// Injection of the positive gate in F; the negative one injects nothing, the worst for a
    /// difference.
    pub injection_f: f64,
    /// Leakage of one hold in A.
    pub hold_leak_a: f64,
    /// Potential of both metals against the water in V.
    pub galvanic_v: f64,
    /// What the blocking capacitors hold of it from before, in V.
    pub blocked_v: f64,
    /// How long each tap is read in all, in s: as a part of an average what its slots are of one.
    pub read_s: f64,
}

impl Chain {
    /// A chain within what the table of chips allows, its followers at the end of their offset, in a
    /// cell that rests at its potential.
    pub fn usual(range: Range, hz: u32, water_ohm: f64) -> Self {
        let galvanic_v = 0.3;
        Self {
            range,
            hz,
            water_ohm,
            on_ohm: chips::SWITCH_ON_OHM,
            offset_v: chips::FOLLOWER_OFFSET_V,
            injection_f: chips::GATE_INJECTION_F,
            hold_leak_a: 1e-9,
            galvanic_v,
            blocked_v: -galvanic_v,
            // Two conversions in each half, or for the lowest frequency, which they would not average, all.
            read_s: if hz < 1_000 { AVERAGE_US as f64 * 1e-6 } else { 0.008 },
        }
    }

    /// Between the electrodes in Ω: water, and beside it the way past the reference.
    pub fn between_ohm(&self) -> f64 {
        let [top, bottom] = surroundings::TO_REFERENCE;
        self.water_ohm * (top + bottom) / (top + bottom + 1.0)
    }

    /// Simulates it.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn read(&self) -> Result<Reading, SpiceError> {
        let slots = self.slots();
        let waves = Deck::new("chain")
            .file("electrode.inc", Layer::Capacitor(20e-6).subcircuit())
            .file("taps.inc", gates(&slots))
            .with("period", 1.0 / f64::from(self.hz))
            .with("end", slots[slots.len() - 1].to)
            .range(self.range)
            .with("water", self.water_ohm)
            .with("cable", USUAL_CABLE_F)
            .with("lead", LEAD_OHM)
            .with("junction", surroundings::JUNCTION_OHM)
            .with("on", self.on_ohm)
            .with("offset", self.offset_v)
            .with("injected", self.injection_f)
            .with("hold_leak", self.hold_leak_a)
            .with("galvanic", self.galvanic_v)
            .with("blocked", self.blocked_v)
            .run()?;
        let period = 1.0 / f64::from(self.hz);
        Ok(Reading { resistor_ohm: resistor_ohm(self.range), slots, period, waves })
    }

    /// The taps in the firmware's order, with its waits.
    fn slots(&self) -> [Slot; ORDER.len()] {
        let [range_s, tap_s] = [WAIT_RANGE_US, WAIT_TAP_US].map(|us| us as f64 * 1e-6);
        let (mut begins, mut wait_s) = (0.0, range_s);
        ORDER.map(|(tap, conversions)| {
            let from = begins + wait_s;
            let part = f64::from(conversions) / f64::from(CONVERSIONS_PER_AVERAGE);
            let slot = Slot { tap, begins, from, to: from + part * self.read_s };
            (begins, wait_s) = (slot.to, tap_s);
            slot
        })
    }
}

/// What opens and closes the tap switch: a source for each tap.
fn gates(slots: &[Slot]) -> String {
    let mut text = String::new();
    for (name, tap) in [("h", Tap::H), ("a", Tap::A), ("b", Tap::B)] {
        let _ = write!(text, "V{name} g{name} 0 PWL(");
        for slot in slots {
            let level = if slot.tap == tap { "{supply}" } else { "0" };
            let _ = write!(text, " {:e} {level} {:e} {level}", slot.begins + EDGE_S, slot.to);
        }
        text += ")\n";
    }
    text
}

/// In which the tap switch goes over, in s.
const EDGE_S: f64 = 20e-9;

/// When a tap is connected and read.
#[derive(Clone, Copy, Debug)]
pub struct Slot {
    /// Which.
    pub tap: Tap,
    /// Connected from here, in s.
    pub begins: f64,
    /// Read from here.
    pub from: f64,
    /// To here.
    pub to: f64,
}

impl Slot {
    /// How long it waits before it is read, in s.
    pub fn wait_s(&self) -> f64 {
        self.from - self.begins
    }
}

/// What one reading gave.
#[derive(Clone, Debug)]
pub struct Reading {
    resistor_ohm: f64,
    period: f64,
    /// The taps in the order in which they are read.
    pub slots: [Slot; ORDER.len()],
    /// The difference of the holds.
    pub waves: Waves,
}

impl Reading {
    /// The mean over the conversions of a slot, in V.
    fn slot_v(&self, slot: &Slot) -> f64 {
        let period = CONVERSION_PERIOD_US as f64 * 1e-6;
        let conversion = 1.0 / 860.0;
        let count = ((slot.to - slot.from) / period).round() as u32;
        let one = |at: u32| {
            let from = slot.from + f64::from(at) * period;
            self.waves.mean(0, from, from + conversion)
        };
        (0..count).map(one).sum::<f64>() / f64::from(count)
    }

    /// The mean of a tap over its slots, which are of one length, in V.
    pub fn tap_v(&self, tap: Tap) -> f64 {
        let slots = self.slots.iter().filter(|slot| slot.tap == tap);
        let volts: Vec<f64> = slots.map(|slot| self.slot_v(slot)).collect();
        volts.iter().sum::<f64>() / volts.len() as f64
    }

    /// How far a tap is from where it ends this long after it was connected, in codes.
    pub fn left_codes(&self, slot: &Slot, after: f64) -> f64 {
        let mean = |from: f64| self.waves.mean(0, from, from + self.period);
        (mean(slot.begins + after) - mean(slot.to - self.period)).abs() / network::TAP_CODE_V
    }

    /// The time constant in s with which the holds follow from tap h to the next: from 5 to 10 ms after.
    pub fn hold_s(&self) -> f64 {
        let mut slots = self.slots.windows(2);
        let after_h = slots.find(|two| two[0].tap == Tap::H).map_or(&self.slots[0], |two| &two[1]);
        let [early, late] = [0.005, 0.010].map(|after| self.left_codes(after_h, after));
        0.005 / (early / late).ln()
    }

    /// The indicated resistance in Ω.
    pub fn ohm(&self) -> f64 {
        let [h, a, b] = [Tap::H, Tap::A, Tap::B].map(|tap| self.tap_v(tap));
        self.resistor_ohm * (a - b) / (h - a)
    }
}

/// A chain and what it reads.
#[derive(Clone, Debug)]
pub struct Case {
    /// What is peculiar about it.
    pub what: &'static str,
    /// The chain.
    pub chain: Chain,
    /// What it reads.
    pub reading: Reading,
}

/// The most conducting cell at the highest frequency: first as usual, then with one thing changed
/// each; then the other ranges.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Case>, SpiceError> {
    let usual = Chain::usual(Range::Ohm1k, FREQUENCIES_1K_HZ[0], 20.0);
    let low = Chain::usual(Range::Ohm100k, FREQUENCY_100K_HZ, 200e3);
    let chains = [
        (USUAL, usual),
        ("switches of 200 Ω", Chain { on_ohm: chips::SWITCH_ON_MAX_OHM, ..usual }),
        ("one gate injects nothing either", Chain { injection_f: 1e-15, ..usual }),
        ("followers without offset", Chain { offset_v: 0.0, ..usual }),
        ("a hold leaks 100 nA", Chain { hold_leak_a: 100e-9, ..usual }),
        ("blocking capacitors empty", Chain { blocked_v: 0.0, ..usual }),
        (USUAL, Chain::usual(Range::Ohm1k, FREQUENCIES_1K_HZ[2], 2e3)),
        (USUAL, Chain::usual(Range::Ohm10k, FREQUENCY_10K_HZ, 20e3)),
        (USUAL, low),
        ("blocking capacitors empty", Chain { blocked_v: 0.0, ..low }),
    ];
    let readings = two_at_a_time::map(&chains, |(_, chain)| chain.read())?;
    let cases = chains.into_iter().zip(readings);
    Ok(cases.map(|((what, chain), reading)| Case { what, chain, reading }).collect())
}

/// Nothing is peculiar.
pub const USUAL: &str = "as usual";
