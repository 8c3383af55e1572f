//! The switched supply as it rises through the transistor of the sensor power.

use rillmark_proto::circuit::chips;

use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// When the pin goes low, in s, and how long is simulated.
const BEGIN_S: f64 = 1e-3;
const END_S: f64 = 20e-3;
/// The switched supply is up when it is this near to where it ends, in V: what the first check allows.
const UP_V: f64 = 0.05;

/// A transistor within what the bill of materials asks for.
#[derive(Clone, Copy, Debug)]
pub struct Transistor {
    /// Threshold in V, without its sign.
    pub threshold_v: f64,
    /// Resistance in Ω with 3 V at its gate.
    pub at_3v_ohm: f64,
}

/// The most reluctant that may be taken, one in the middle, and the most eager.
pub const TRANSISTORS: [Transistor; 3] = [
    Transistor { threshold_v: 2.0, at_3v_ohm: 30.0 },
    Transistor { threshold_v: 1.3, at_3v_ohm: 8.0 },
    Transistor { threshold_v: 0.6, at_3v_ohm: 0.5 },
];

/// What it makes of the supplies.
#[derive(Clone, Copy, Debug)]
pub struct Rise {
    /// The transistor.
    pub transistor: Transistor,
    /// From the pin until the switched supply is up, in ms.
    pub up_ms: f64,
    /// How far the filtered supply falls meanwhile, in mV.
    pub dip_mv: f64,
    /// The most that is taken from 3.3 V, in mA.
    pub inrush_ma: f64,
    /// What the transistor leaves between the two supplies in the end, in mV.
    pub left_mv: f64,
    /// How far the switched supply ever stands above the filtered one, in mV: where it did, a chip would be fed
    /// backwards.
    pub above_mv: f64,
}

/// Simulates all.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Rise>, SpiceError> {
    two_at_a_time::map(&TRANSISTORS, |transistor| rise(*transistor))
}

fn rise(transistor: Transistor) -> Result<Rise, SpiceError> {
    let waves = Deck::new("rise")
        .with("threshold", transistor.threshold_v)
        .with("at_3v_ohm", transistor.at_3v_ohm)
        .with("amplifiers", chips::ELECTROMETER_SUPPLY_A + chips::FOLLOWERS_SUPPLY_A)
        .with("begin", BEGIN_S)
        .with("end", END_S)
        .run()?;
    let [switched, filtered, supply] = [0, 1, 3];
    let (ends, before) = (waves.at(switched, END_S), waves.at(filtered, BEGIN_S - 1e-6));
    let above = |step: f64| waves.at(switched, step) - waves.at(filtered, step);
    let steps = (0..2_000).map(|at| BEGIN_S + f64::from(at) * (END_S - BEGIN_S) / 2_000.0);
    Ok(Rise {
        transistor,
        up_ms: 1e3 * (waves.last_beyond(switched, ends, UP_V) - BEGIN_S),
        dip_mv: 1e3 * (before - waves.between(filtered, BEGIN_S, END_S).0),
        // What a source gives counts as negative.
        inrush_ma: -1e3 * waves.between(supply, BEGIN_S, END_S).0,
        left_mv: 1e3 * (waves.at(filtered, END_S) - ends),
        above_mv: 1e3 * steps.map(above).fold(f64::NEG_INFINITY, f64::max),
    })
}
