//! Mid's amplifier with cables at it: how far it overshoots, and what the drive's current does to it.

use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{network, parts};

use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// Gain-bandwidth of amplifiers that fit, in Hz: the least that is asked for, and two examples' (recalled,
/// not checked).
pub const BANDWIDTHS_HZ: [f64; 3] = [1e6, 1.5e6, 2.5e6];
/// On-resistance of a switch at its best, in Ω: nothing between amplifier and cable may rely on it.
const LEAST_ON_OHM: f64 = 20.0;
/// When the divider has stepped by this, in s and V.
const STEP: (f64, f64) = (10e-6, 10e-3);
/// When the return's current begins, in s, and for how long it flows.
const RETURN_S: (f64, f64) = (60e-6, 50e-6);

/// What hangs at mid.
#[derive(Clone, Copy, Debug)]
pub struct Load {
    /// What it is.
    pub what: &'static str,
    /// Capacitance at J3's bottom, and the resistor before it.
    pub j3: (f64, f64),
    /// The same at J2.
    pub j2: (f64, f64),
}

/// What an amplifier makes of it.
#[derive(Clone, Copy, Debug)]
pub struct Behaviour {
    /// How far it overshoots a small step, as a fraction of it.
    pub overshoot: f64,
    /// How far the current of the most conducting cell moves it at the most, in mV.
    pub moved_mv: f64,
    /// What is left of that in the centre half of a half period at the highest frequency, in mV.
    pub left_mv: f64,
}

impl Load {
    /// Simulates it.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn run(&self, hz: f64) -> Result<Behaviour, SpiceError> {
        let waves = Deck::new("mid")
            .with("hz", hz)
            .with("on", LEAST_ON_OHM)
            .with("cable_j3", self.j3.0)
            .with("apart_j3", self.j3.1)
            .with("cable_j2", self.j2.0)
            .with("apart_j2", self.j2.1)
            .with("current", network::DRIVE_V / (parts::RANGE_1K.value + 20.0))
            .run()?;
        let between = |from: f64, to: f64| waves.between(0, from, to);
        let (from, to) = (STEP.0, RETURN_S.0);
        let before = waves.at(0, from - 1e-6);
        let settled = waves.at(0, to - 1e-6);
        let away = |(least, most): (f64, f64)| (most - settled).max(settled - least);
        let quarter = RETURN_S.1 / 4.0;
        Ok(Behaviour {
            overshoot: (between(from, to - 1e-6).1 - settled) / (settled - before),
            moved_mv: 1e3 * away(between(to, to + RETURN_S.1)),
            left_mv: 1e3 * away(between(to + quarter, to + 3.0 * quarter)),
        })
    }
}

const NONE: (f64, f64) = (1e-12, 1e-3);
const CABLE_F: f64 = surroundings::CELL_CABLE_F;

/// No cable; the longest ones without and with their resistors.
pub const LOADS: [Load; 7] = [
    Load { what: "no cable", j3: NONE, j2: NONE },
    Load { what: "10 m at J3, nothing before it", j3: (CABLE_F, 1e-3), j2: NONE },
    Load { what: "the same behind R29", j3: (CABLE_F, parts::THERMOMETER_RETURN.value), j2: NONE },
    Load { what: "10 m at J2, C5 alone before it", j3: NONE, j2: (CABLE_F, 1e-3) },
    Load { what: "the same with R30", j3: NONE, j2: (CABLE_F, parts::CELL_RETURN.value) },
    Load { what: "10 m at both, nothing before them", j3: (CABLE_F, 1e-3), j2: (CABLE_F, 1e-3) },
    Load {
        what: "**the same behind R29 and R30**",
        j3: (CABLE_F, parts::THERMOMETER_RETURN.value),
        j2: (CABLE_F, parts::CELL_RETURN.value),
    },
];

/// A load, with what each of [`BANDWIDTHS_HZ`] makes of it.
pub type Case = (Load, [Behaviour; 3]);

/// Simulates all.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Case>, SpiceError> {
    let cases: Vec<_> = LOADS.iter().flat_map(|load| BANDWIDTHS_HZ.map(|hz| (*load, hz))).collect();
    let found = two_at_a_time::map(&cases, |(load, hz)| load.run(*hz))?;
    Ok(LOADS.into_iter().zip(found.chunks(3)).map(|(load, f)| (load, [f[0], f[1], f[2]])).collect())
}
