//! Electrode and cell in one beaker: what a full reading's drive leaves on the pH, and the direct
//! current through the cell.

use rillmark_firmware::constants::{
    AVERAGE_US, FREQUENCIES_1K_HZ, FREQUENCY_10K_HZ, FREQUENCY_100K_HZ, WAIT_CELL_US, WAIT_PH_US,
};
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, network};
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
    /// Whether R17 leads to mid itself instead of to U5's X0, which is open while the cell is closed.
    pub is_direct: bool,
    /// Whether C1 leads to mid instead of to the reference electrode's socket.
    pub is_c1_at_mid: bool,
    /// The glass stands at this, in V.
    pub potential_v: f64,
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
            is_direct: false,
            is_c1_at_mid: false,
            potential_v: POTENTIAL_V,
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
            .with("step", (period / 10.0).min(100e-6))
            .with("close", CLOSE_S)
            .with("begin", begin)
            .with("stop", stop)
            .with("open", if self.opens { open } else { 1e3 })
            .with("end", next + self.watched_s)
            .range(self.range)
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
            .with("direct", joint(self.is_direct))
            .with("c1_to_shell", joint(!self.is_c1_at_mid))
            .with("c1_to_mid", joint(self.is_c1_at_mid))
            .with("potential", self.potential_v)
            .run()?;
        let before = waves.mean(0, CLOSE_S - average, CLOSE_S);
        let last = 20.0 * period;
        let mv = |v: f64| 1e3 * (v - before);
        let (least, most) = waves.between(3, CLOSE_S, open);
        Ok(Disturbance {
            driven_mv: mv(waves.mean(0, stop - last, stop)),
            opened_mv: mv(waves.mean(0, open, open + average)),
            next_mv: mv(waves.mean(0, next, next + average)),
            closed_mv: mv(waves.mean(0, begin - 0.01, begin)),
            to_rail_v: least.min(chips::SUPPLY_V - most),
            cell_a: waves.mean(2, stop - last, stop) / self.water_ohm,
            waves,
            open,
            before,
        })
    }
}

/// A joint of the deck, made or open, in Ω.
fn joint(is_made: bool) -> f64 {
    if is_made { 1e-3 } else { 1e13 }
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
    /// How near the electrometer's input comes to ground or supply, in V.
    pub to_rail_v: f64,
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

/// What is expected of a beaker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Circuit and firmware are as they should be.
    Sound,
    /// To compare with: sound but for what it says, or a membrane that the waits are not for.
    Compared,
    /// What keeps the pH apart is missing.
    Broken,
}

/// A beaker and what happens in it.
#[derive(Clone, Debug)]
pub struct Case {
    /// What is peculiar about it.
    pub what: &'static str,
    /// What is expected of it.
    pub kind: Kind,
    /// The beaker.
    pub beaker: Beaker,
    /// What happens.
    pub disturbance: Disturbance,
}

/// The cell's metal is where its capacitors expect it.
pub const RESTED: &str = "blocking capacitors charged before";
/// The circuit before U5 opened the reference.
pub const DIRECT: &str = "R17 and C1 at mid";
/// The same with C1 at mid alone.
pub const C1_AT_MID: &str = "C1 at mid";
/// The drive's direct current has a way through the cell.
pub const UNBLOCKED: &str = "R17 at mid, return without its capacitor";
/// What keeps the pH apart is missing.
pub const CLOSED: &str = "cell never opened";
/// The electrometer's input is as far away as it may get.
pub const FAR: &str = "pH 14, metal 0.6 V away";
/// A membrane of 500 MΩ at 25 °C at 5 °C, in Ω: twice as much every 7.5 K (common practice).
pub const COLD_OHM: f64 = 3.2e9;

/// Sound beakers, then what is compared with them, then what the circuit is there to avoid.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Case>, SpiceError> {
    use Kind::{Broken, Compared, Sound};
    let usual = Beaker::usual(Range::Ohm1k, FREQUENCIES_1K_HZ[2], 707.0);
    let direct = Beaker { is_direct: true, is_c1_at_mid: true, ..usual };
    let cold = Beaker { membrane_ohm: COLD_OHM, ..usual };
    let beakers = [
        ("as usual", Sound, usual),
        ("membrane of 50 MΩ", Sound, Beaker { membrane_ohm: 50e6, ..usual }),
        ("water of 20 Ω", Sound, Beaker { water_ohm: 20.0, ..usual }),
        ("10 kΩ range", Sound, Beaker::usual(Range::Ohm10k, FREQUENCY_10K_HZ, 10e3)),
        ("100 kΩ range", Sound, Beaker::usual(Range::Ohm100k, FREQUENCY_100K_HZ, 50e3)),
        (RESTED, Sound, Beaker { blocked: 1.0, ..usual }),
        ("no rest at mid", Sound, Beaker { rest_s: 10e-6, ..usual }),
        (FAR, Sound, Beaker { potential_v: -0.414, galvanic_v: 0.6, ..usual }),
        (C1_AT_MID, Compared, Beaker { is_c1_at_mid: true, ..usual }),
        (DIRECT, Compared, direct),
        ("membrane of 3.2 GΩ", Compared, cold),
        ("the same, C1 at mid", Compared, Beaker { is_c1_at_mid: true, ..cold }),
        ("the same, R17 and C1 at mid", Compared, Beaker { membrane_ohm: COLD_OHM, ..direct }),
        (CLOSED, Broken, Beaker { opens: false, ..usual }),
        (
            "never opened, drive left low",
            Broken,
            Beaker { opens: false, parked_v: -network::DRIVE_V, ..usual },
        ),
        (UNBLOCKED, Broken, Beaker { bypass_ohm: 1e-3, blocked: 1.0, opens: false, ..direct }),
    ];
    let disturbances = two_at_a_time::map(&beakers, |(_, _, beaker)| beaker.run())?;
    let cases = beakers.into_iter().zip(disturbances);
    Ok(cases
        .map(|((what, kind, beaker), disturbance)| Case { what, kind, beaker, disturbance })
        .collect())
}
