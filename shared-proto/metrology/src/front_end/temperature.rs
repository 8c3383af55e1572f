//! Of the temperature of a resistance thermometer, in K.

use super::taps::Taps;
use super::{BoardLimits, Budget, Cause, Contribution};
use crate::front_end::surroundings;
use rillmark_proto::circuit::{chips, parts};

/// What is connected to the thermometer's input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thermometer {
    /// Its resistance in Ω.
    pub ohm: f64,
    /// Change of the resistance in Ω for each kelvin, of either sign; 3.85 for a Pt1000 near 25 °C.
    pub ohm_per_k: f64,
    /// Standard uncertainty of its leads' resistance in Ω.
    pub leads_ohm: f64,
}

impl Thermometer {
    /// A thermometer at the end of its cable.
    pub const fn in_water(ohm: f64, ohm_per_k: f64) -> Self {
        Self { ohm, ohm_per_k, leads_ohm: surroundings::LEADS_OHM }
    }
}

/// The budget in K of one reading.
pub fn budget(thermometer: &Thermometer) -> Budget<10> {
    budget_on(&BoardLimits::ANY, thermometer)
}

/// The same on a board of which more is known.
pub fn budget_on(board: &BoardLimits, thermometer: &Thermometer) -> Budget<10> {
    let &Thermometer { ohm, ohm_per_k, leads_ohm } = thermometer;
    let reference = parts::THERMOMETER_REFERENCE;
    // What a fraction of the resistance is in K.
    let by_fraction = libm::fabs(ohm / ohm_per_k);
    // The thermometer returns to mid without a switch.
    let back_ohm = parts::THERMOMETER_RETURN.value;
    let taps = Taps::of(board.drive_v, reference.value, ohm, back_ohm);
    let scaled = |one: Contribution| Contribution {
        built: one.built * by_fraction,
        calibrated: one.calibrated * by_fraction,
        ..one
    };
    // The square wave flows all the time.
    let current = board.drive_v / (chips::SWITCH_ON_OHM + reference.value + ohm + back_ohm);
    let heated_k = current * current * ohm / surroundings::DISSIPATION_W_PER_K;
    let leads_k = leads_ohm / libm::fabs(ohm_per_k);
    let drift = reference.drift_per_k * surroundings::BOARD_K;
    let contributions = [
        scaled(Contribution::constant_line(Cause::Resistor, board.resistor(&reference))),
        scaled(Contribution::constant(Cause::Soldering, surroundings::SOLDERING)),
        scaled(Contribution::lasting(Cause::ResistorDrift, drift)),
        scaled(Contribution::lasting(Cause::Ageing, surroundings::AGEING)),
        // The leads are copper, as warm as water and air happen to be.
        Contribution {
            cause: Cause::Leads,
            built: leads_k,
            calibrated: leads_k * surroundings::COPPER_PER_K * surroundings::BOARD_K,
        },
        scaled(taps.linearity()),
        scaled(taps.noise()),
        scaled(taps.settling()),
        scaled(taps.drift()),
        Contribution::lasting(Cause::SelfHeating, heated_k),
    ];
    Budget { contributions }
}

/// Standard uncertainty in K of the temperature that a front end just built indicates for a resistor in
/// Ω at the thermometer's terminals, which stands for a thermometer that changes by so many Ω for
/// each kelvin.
pub fn resistor(ohm: f64, ohm_per_k: f64) -> f64 {
    resistor_on(&BoardLimits::ANY, ohm, ohm_per_k)
}

/// The same on a board of which more is known.
pub fn resistor_on(board: &BoardLimits, ohm: f64, ohm_per_k: f64) -> f64 {
    budget_on(board, &Thermometer { ohm, ohm_per_k, leads_ohm: 0.0 }).built()
}
