//! What stands beside the parts and is no part: board, cables, insulation, mains.
//!
//! Nobody buys these by a data sheet: each is common practice without a source, unless said.

/// How far the board's temperature may be from the one it was calibrated at, in K either way.
pub const BOARD_K: f64 = 20.0;

/// Capacitance of the longest cable between the front end and the cell, in F: 10 m of 100 pF/m.
pub const CELL_CABLE_F: f64 = 1e-9;
/// Capacitance of the cable between glass and electrometer that the guard does not take away, in F.
pub const ELECTRODE_CABLE_F: f64 = 100e-12;
/// Resistance in Ω that the two leads of a cell or thermometer may have, as a standard uncertainty
/// about none: 3 m of two-core cable of 0.14 mm² is 0.7 Ω (copper, computed), half of it either way
/// and its contacts.
pub const LEADS_OHM: f64 = 0.5;
/// Change of copper's resistance as a fraction per K (recalled, not checked).
pub const COPPER_PER_K: f64 = 0.0039;

/// Least insulation in Ω between the electrometer's input and its guard, on a clean board.
pub const GUARD_INSULATION_OHM: f64 = 10e9;
/// Resistance of a usual glass membrane at 25 °C, in Ω; 50 to 500 MΩ occur.
pub const MEMBRANE_OHM: f64 = 200e6;
/// A glass membrane has twice the resistance when it is this much colder, in K: 7 to 8.
pub const MEMBRANE_DOUBLES_K: f64 = 7.5;
/// How many times the resistance of 25 °C a membrane has in °C.
pub fn membrane_times(celsius: f64) -> f64 {
    libm::exp2((25.0 - celsius) / MEMBRANE_DOUBLES_K)
}
/// Resistance in Ω of a reference electrode's junction, which leakage at the cell flows through.
pub const JUNCTION_OHM: f64 = 10e3;
/// Water from the cell's top and from its bottom to where the reference electrode stands, as multiples of
/// the water between them: a cell whose field reaches the reference (judgement).
pub const TO_REFERENCE: [f64; 2] = [4.0, 6.0];
/// Where a reference electrode may stand: the least and the most water from the nearer of the cell's two
/// electrodes to it, as multiples of the water between those, …
///
/// At 2.5 it stands in the mouth of an open cell; at 400 the cell hardly opens to it: a hole of 1 mm² through a
/// wall of 1 cm makes 100 for a cell of 1/cm (computed), and nobody builds a narrower one (judgement).
pub const REFERENCE_NEARER: [f64; 2] = [2.5, 400.0];
/// … and how many times as much there may be from the other one (judgement).
pub const REFERENCE_LOPSIDED: f64 = 24.0;
/// Capacitance of the reference electrode's cable, its screen, to what stands about it, in F: 2 m of 5 mm,
/// 5 cm from metal, are 30 pF (computed: 2πε/ln(2h/r)); with socket and open switch. It is counted as led by
/// itself, as `cables-and-coating.md` asks: …
pub const REFERENCE_CABLE_F: f64 = 50e-12;
/// … in a bundle with other cables it has three times as much, which no budget counts.
pub const REFERENCE_BUNDLE_F: f64 = 3.0 * REFERENCE_CABLE_F;
/// The most that a cell's electrodes polarise by, as a series resistance in Ω at 1 kHz: platinised ones have
/// 0.5 Ω (simulated), bare metal ten times that (judgement).
pub const POLARISATION_OHM: f64 = 5.0;
/// Capacitance in F of the electrometer's input to what does not move with the reference: amplifier and
/// board.
pub const INPUT_STRAY_F: f64 = 5e-12;

/// How far the 3.3 V, and with them the drive, wander either way, as a fraction, …
pub const SUPPLY_WANDER: f64 = 0.004;
/// … and how long they take to and fro, in s: 0.03 % in the 0.12 s between two taps (judgement).
pub const SUPPLY_WANDER_S: f64 = 10.0;

/// How often the same step by less than a reading notices, in s: once, at any time and by anything up to that. A
/// load that is switched on the same USB hub, a regulator that changes its mode (judgement). Had they steps that often
/// that are noticed too, up to two conductances in a thousand would be flagged (computed).
pub const SUPPLY_STEP_S: f64 = 10.0;

/// How far the 3.3 V may be from where they stood at the calibration, as a fraction: regulator, its load
/// and temperature, USB or a pack before it (judgement).
pub const SUPPLY_CHANGE: f64 = 0.02;

/// What soldering may shift a thin-film resistor by, as a fraction: the limit of its data sheet for 10 s in
/// a bath of 260 °C (recalled, not checked).
pub const SOLDERING: f64 = 1e-3;
/// What the same may age by between two calibrations, a year apart at the most, as a fraction: data sheets
/// promise 0.1 % for 1000 h at full power and 70 °C (recalled, not checked); with a thousandth of the power
/// a fifth of that (judgement).
pub const AGEING: f64 = 2e-4;

/// Greatest amplitude of mains hum at the converter's electrode input, in V.
pub const HUM_V: f64 = 3e-3;
/// How far a grid may be from its frequency, as a fraction: 0.1 Hz of 50 Hz.
pub const MAINS_OFF: f64 = 0.002;

/// Power in W that warms a thermometer by 1 K in still water.
pub const DISSIPATION_W_PER_K: f64 = 2e-3;
