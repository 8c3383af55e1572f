//! Direct current over several full readings: what passes the reference electrode and the cell, and what
//! becomes of the blocking capacitors' charge.

use rillmark_firmware::constants::{
    AVERAGE_US, FREQUENCIES_1K_HZ, FULL_PH_AVERAGES, TAPS_US, WAIT_CELL_US,
};
use rillmark_metrology::front_end::surroundings;

use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// From one reading to the next, in s.
const EVERY_S: f64 = 10.0;
/// Readings of a simulation.
pub const READINGS: usize = 6;
/// Water between the electrodes in Ω.
const WATER_OHM: f64 = 707.0;
/// Potential of the cell's metal against the water, and how far its two electrodes differ, in V (judgement).
const GALVANIC_V: [f64; 2] = [0.3, 0.02];

/// A front end.
#[derive(Clone, Copy, Debug)]
pub struct Board {
    /// What is peculiar about it.
    pub what: &'static str,
    /// Whether R17 leads to mid itself instead of to U5's X0.
    pub is_direct: bool,
    /// Whether the thermometer's branch has a blocking capacitor of its own.
    pub has_own: bool,
}

/// What passes in one reading, from its begin to the begin of the next, in µC, whichever way.
#[derive(Clone, Copy, Debug)]
pub struct Passed {
    /// Through the reference electrode.
    pub reference_uc: f64,
    /// Through the cell.
    pub cell_uc: f64,
    /// What C4 holds when the cell is about to be closed, in mV.
    pub drive_mv: f64,
    /// What C5 holds then.
    pub return_mv: f64,
}

impl Board {
    /// Simulates some readings.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn run(&self) -> Result<Vec<Passed>, SpiceError> {
        let s = |us: u64| us as f64 * 1e-6;
        let taps_s = s(TAPS_US);
        // pH, thermometer, cell.
        let close = f64::from(FULL_PH_AVERAGES) * s(AVERAGE_US) + taps_s;
        let open = close + 2.0 * s(WAIT_CELL_US) + FREQUENCIES_1K_HZ.len() as f64 * taps_s;
        let waves = Deck::new("charge")
            .with("every", EVERY_S)
            .with("end", EVERY_S * READINGS as f64)
            .with("close", close)
            .with("open", open)
            .with("water", WATER_OHM)
            .with("galvanic", GALVANIC_V[0])
            .with("difference", GALVANIC_V[1])
            .with("junction", surroundings::JUNCTION_OHM)
            .with("direct", if self.is_direct { 1e-3 } else { 1e13 })
            .with("apart", if self.has_own { 1e13 } else { 1e-3 })
            .run()?;
        let passed = |at: usize| {
            let from = at as f64 * EVERY_S;
            let over = |column: usize| waves.at(column, from + EVERY_S) - waves.at(column, from);
            let held = |column: usize| 1e3 * waves.at(column, from + close);
            Passed {
                reference_uc: over(0),
                cell_uc: over(1),
                drive_mv: held(2),
                return_mv: held(3),
            }
        };
        Ok((0..READINGS).map(passed).collect())
    }
}

/// As it was, and what mends it.
pub const BOARDS: [Board; 4] = [
    Board { what: "R17 at mid", is_direct: true, has_own: false },
    Board { what: "the same, a capacitor before the thermometer", is_direct: true, has_own: true },
    Board { what: "**U5 opens the reference**", is_direct: false, has_own: false },
    Board { what: "the same, a capacitor before the thermometer", is_direct: false, has_own: true },
];

/// A board and what passes in each reading.
pub type Case = (Board, Vec<Passed>);

/// Simulates all.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Case>, SpiceError> {
    let passed = two_at_a_time::map(&BOARDS, Board::run)?;
    Ok(BOARDS.into_iter().zip(passed).collect())
}
