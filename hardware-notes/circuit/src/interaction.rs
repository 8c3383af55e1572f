//! Electrode and cell in one beaker: what a full reading's drive leaves on the pH, and the direct
//! current through the cell.

use rillmark_firmware::constants::{
    AVERAGE_US, FREQUENCIES_1K_HZ, FREQUENCY_10K_HZ, FREQUENCY_100K_HZ, WAIT_CELL_US, WAIT_PH_US,
};
use rillmark_firmware::front_end::cell::resistor_ohm;
use rillmark_proto::circuit::{chips, network, surroundings};
use rillmark_proto::reading::Range;

use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;
use crate::waves::Waves;

/// Insulation of a ceramic capacitor of tens of µF, in Ω·F (recalled, not checked: 500 for X7R at 25
/// °C).
const INSULATION_S: f64 = 500.0;
/// When the cell is closed, in s: before, the pH is read for comparison.
const CLOSE_S: f64 = 1.2;
/// Drive of the simulation, in s: as long as one frequency takes.
const DRIVE_S: f64 = 0.39;
/// The electrode stands at this, in V.
const POTENTIAL_V: f64 = 0.2;

/// A beaker and what is wrong in it.
#[derive(Clone, Copy, Debug)]
pub struct Beaker {
    /// The range.
    pub range: Range,
    /// The drive's frequency in Hz.
    pub hz: u32,
    /// Water between the cell's electrodes in Ω.
    pub water_ohm: f64,
    /// Membrane in Ω.
    pub membrane_ohm: f64,
    /// Junction in Ω.
    pub junction_ohm: f64,
    /// Leakage at the cell in A.
    pub leakage_a: f64,
    /// Potential of the cell's metal against the water in V; the two electrodes differ by 20 mV.
    pub galvanic_v: f64,
    /// Where the drive rests, in V from mid.
    pub parked_v: f64,
    /// What lies beside the return's blocking capacitor, in Ω.
    pub bypass_ohm: f64,
    /// What the blocking capacitors hold of the metal's potential from before, as a fraction.
    pub blocked: f64,
    /// How long the closed cell rests at mid before and after the drive, in s.
    pub rest_s: f64,
    /// Whether the cell is opened at all after the drive.
    pub opens: bool,
    /// How long the pH is watched after its wait, in s.
    pub watched_s: f64,
}

impl Beaker {
    /// A sound circuit at the end of what chips and membranes may do, its capacitors uncharged and its
    /// cell's metal 0.3 V from the water (judgement).
    pub fn usual(range: Range, hz: u32, water_ohm: f64) -> Self {
        Self {
            range,
            hz,
            water_ohm,
            membrane_ohm: 500e6,
            junction_ohm: surroundings::JUNCTION_OHM,
            leakage_a: chips::SWITCH_LEAKAGE_A,
            galvanic_v: 0.3,
            parked_v: 0.0,
            bypass_ohm: 1e12,
            blocked: 0.0,
            rest_s: WAIT_CELL_US as f64 * 1e-6,
            opens: true,
            watched_s: AVERAGE_US as f64 * 1e-6,
        }
    }

    /// Simulates one full reading between two pH.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn run(&self) -> Result<Disturbance, SpiceError> {
        let period = 1.0 / f64::from(self.hz);
        let begin = CLOSE_S + self.rest_s;
        let stop = begin + (DRIVE_S / period).floor() * period;
        let open = stop + self.rest_s;
        let next = open + WAIT_PH_US as f64 * 1e-6;
        let average = AVERAGE_US as f64 * 1e-6;
        let waves = Deck::new("interaction")
            .with("period", period)
            .with("step", (period / 20.0).min(100e-6))
            .with("close", CLOSE_S)
            .with("begin", begin)
            .with("stop", stop)
            .with("open", if self.opens { open } else { 1e3 })
            .with("end", next + self.watched_s)
            .with("resistor", resistor_ohm(self.range))
            .with("water", self.water_ohm)
            .with("membrane", self.membrane_ohm)
            .with("junction", self.junction_ohm)
            .with("leakage", self.leakage_a)
            .with("galvanic", self.galvanic_v)
            .with("difference", 0.02)
            .with("blocked", self.blocked)
            .with("parked", self.parked_v)
            .with("bypass", self.bypass_ohm)
            .with("insulation", INSULATION_S)
            .with("potential", POTENTIAL_V)
            .run()?;
        let before = waves.mean(0, CLOSE_S - average, CLOSE_S);
        let last = 20.0 * period;
        let mv = |v: f64| 1e3 * (v - before);
        Ok(Disturbance {
            driven_mv: mv(waves.mean(0, stop - last, stop)),
            opened_mv: mv(waves.mean(0, open, open + average)),
            next_mv: mv(waves.mean(0, next, next + average)),
            closed_mv: mv(waves.mean(0, begin - 0.01, begin)),
            cell_a: waves.mean(2, stop - last, stop) / self.water_ohm,
            waves,
            open,
            before,
        })
    }
}

/// What a reading of the cell did.
#[derive(Clone, Debug)]
pub struct Disturbance {
    /// Away from the pH before, at the end of the drive, in mV.
    pub driven_mv: f64,
    /// At the end of the closed cell's rest at mid, before the drive.
    pub closed_mv: f64,
    /// In an average that begins when the cell is opened.
    pub opened_mv: f64,
    /// In an average that begins `WAIT_PH_US` later.
    pub next_mv: f64,
    /// Mean current through the water at the end of the drive, in A.
    pub cell_a: f64,
    waves: Waves,
    open: f64,
    before: f64,
}

impl Disturbance {
    /// How far away the pH is in mV, so many s after the opening and for so long.
    pub fn left_mv(&self, after_s: f64, long_s: f64) -> f64 {
        let from = self.open + after_s;
        1e3 * (self.waves.mean(0, from, from + long_s) - self.before)
    }

    /// How long after the opening the pH stays farther away than this, in s.
    pub fn lasts_s(&self, mv: f64) -> f64 {
        (self.waves.last_beyond(0, self.before, mv * 1e-3) - self.open).max(0.0)
    }
}

/// A beaker and what happens in it.
#[derive(Clone, Debug)]
pub struct Case {
    /// What is peculiar about it.
    pub what: &'static str,
    /// Whether circuit and firmware are as they should be.
    pub is_sound: bool,
    /// The beaker.
    pub beaker: Beaker,
    /// What happens.
    pub disturbance: Disturbance,
}

/// The cell's metal is where its capacitors expect it.
pub const RESTED: &str = "blocking capacitors charged before";
/// The drive's direct current has a way through the cell.
pub const UNBLOCKED: &str = "return without its capacitor";
/// What keeps the pH apart is missing.
pub const CLOSED: &str = "cell never opened";

/// Sound beakers, then what the circuit is there to avoid.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Case>, SpiceError> {
    let usual = Beaker::usual(Range::Ohm1k, FREQUENCIES_1K_HZ[2], 707.0);
    let beakers = [
        ("as usual", true, usual),
        ("membrane of 50 MΩ", true, Beaker { membrane_ohm: 50e6, ..usual }),
        ("water of 20 Ω", true, Beaker { water_ohm: 20.0, ..usual }),
        ("10 kΩ range", true, Beaker::usual(Range::Ohm10k, FREQUENCY_10K_HZ, 10e3)),
        ("100 kΩ range", true, Beaker::usual(Range::Ohm100k, FREQUENCY_100K_HZ, 50e3)),
        (RESTED, true, Beaker { blocked: 1.0, ..usual }),
        ("no rest at mid", true, Beaker { rest_s: 10e-6, ..usual }),
        (CLOSED, false, Beaker { opens: false, ..usual }),
        (
            "never opened, drive left low",
            false,
            Beaker { opens: false, parked_v: -network::DRIVE_V, ..usual },
        ),
        (UNBLOCKED, false, Beaker { bypass_ohm: 1e-3, blocked: 1.0, opens: false, ..usual }),
    ];
    let disturbances = two_at_a_time::map(&beakers, |(_, _, beaker)| beaker.run())?;
    let cases = beakers.into_iter().zip(disturbances);
    Ok(cases
        .map(|((what, is_sound, beaker), disturbance)| Case { what, is_sound, beaker, disturbance })
        .collect())
}
