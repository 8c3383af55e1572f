//! Of a conductance between the cell's terminals, as a fraction of it.

use super::limits::warm;
use super::taps::Taps;
use super::{BoardLimits, Budget, Cause, Contribution, rectangular};
use crate::front_end::surroundings;
use rillmark_proto::circuit::parts;
use rillmark_proto::circuit::parts::Part;
use rillmark_proto::circuit::{chips, network, timing};

/// The range resistor for a cell of this resistance in Ω: 1 kΩ up to 2 kΩ, 10 kΩ up to 20 kΩ, else
/// 100 kΩ.
pub fn range_for(cell_ohm: f64) -> &'static Part {
    match cell_ohm {
        ohm if ohm <= 2.0 * parts::RANGE_1K.value => &parts::RANGE_1K,
        ohm if ohm <= 2.0 * parts::RANGE_10K.value => &parts::RANGE_10K,
        _ => &parts::RANGE_100K,
    }
}

/// The same as [`budget`], extrapolated to infinite frequency from three, with the steps of the
/// resistance from octave to octave in this ratio: see [`extrapolation`].
pub fn extrapolated(range: &Part, cell_ohm: f64, ratio: f64) -> Budget<13> {
    extrapolated_on(&BoardLimits::ANY, range, cell_ohm, ratio)
}

/// The same on a board of which more is known.
pub fn extrapolated_on(board: &BoardLimits, range: &Part, cell_ohm: f64, ratio: f64) -> Budget<13> {
    let mut budget = budget_on(board, range, cell_ohm);
    for each in &mut budget.contributions {
        match each.cause {
            Cause::Noise | Cause::SupplyDrift | Cause::SupplyStep => {
                each.built *= extrapolation(ratio);
            }
            Cause::Reference => {
                each.built = rectangular(extrapolated_reference(range, cell_ohm, ratio));
            }
            _ => continue,
        }
        each.calibrated = each.built;
    }
    budget
}

/// The budget of one reading of a cell on a range, at one frequency, with a reference electrode in the same
/// water.
pub fn budget(range: &Part, cell_ohm: f64) -> Budget<13> {
    budget_on(&BoardLimits::ANY, range, cell_ohm)
}

/// The same on a board of which more is known.
pub fn budget_on(board: &BoardLimits, range: &Part, cell_ohm: f64) -> Budget<13> {
    let taps = Taps::of(board.drive_v, range.value, cell_ohm, network::CELL_BACK_OHM);
    // The switches' in all: also of the one that opens the reference. As a conductance beside the cell.
    let [leak, clamps] = board.leakages().map(|line| line.times(cell_ohm / board.supply_v));
    let screen = reference(range, cell_ohm, surroundings::REFERENCE_CABLE_F);
    let contributions = [
        Contribution::constant_line(Cause::Resistor, board.resistor(range)),
        Contribution::constant(Cause::Soldering, surroundings::SOLDERING),
        Contribution::lasting(Cause::ResistorDrift, range.drift_per_k * surroundings::BOARD_K),
        Contribution::lasting(Cause::Ageing, surroundings::AGEING),
        // It doubles every 10 K, so that no zero takes it up.
        Contribution::lasting_line(Cause::SwitchLeakage, leak),
        Contribution::lasting_line(Cause::ClampLeakage, clamps),
        taps.linearity(),
        taps.noise(),
        taps.settling(),
        taps.drift(),
        taps.step(),
        Contribution::lasting(Cause::Cable, cable(range.value, cell_ohm)),
        Contribution::lasting(Cause::Reference, screen),
    ];
    Budget { contributions }
}

/// The same budget where no reference electrode is in the water.
pub fn alone(mut budget: Budget<13>) -> Budget<13> {
    for each in &mut budget.contributions {
        if each.cause == Cause::Reference {
            (each.built, each.calibrated) = (0.0, 0.0);
        }
    }
    budget
}

/// Standard uncertainty, as a fraction, of the conductance that a front end just built indicates for a
/// resistor of this value in Ω at the cell's terminals.
pub fn resistor(ohm: f64) -> f64 {
    resistor_on(&BoardLimits::ANY, ohm)
}

/// The same on a board of which more is known.
pub fn resistor_on(board: &BoardLimits, ohm: f64) -> f64 {
    checked(budget_on(board, range_for(ohm), ohm)).built()
}

/// The same budget where a board is checked: resistors stand for a cell, no reference electrode is in a water, and
/// the board is as warm as a room, its leaks with it.
pub fn checked(budget: Budget<13>) -> Budget<13> {
    let mut budget = alone(budget);
    for each in &mut budget.contributions {
        if matches!(each.cause, Cause::SwitchLeakage | Cause::ClampLeakage) {
            (each.built, each.calibrated) = (each.built / warm(), each.calibrated / warm());
        }
    }
    budget
}

/// Standard uncertainty, as a fraction, of one range against another: two resistors, each within its
/// tolerance and shifted by soldering.
pub fn between_ranges() -> f64 {
    between_ranges_on(&BoardLimits::ANY, &parts::RANGE_1K, &parts::RANGE_10K)
}

/// The same of one range against another on a board of which more is known.
pub fn between_ranges_on(board: &BoardLimits, range: &Part, other: &Part) -> f64 {
    let [one, other] = [range, other].map(|part| board.resistor(part));
    let limits = libm::hypot(rectangular(one.limit), rectangular(other.limit));
    let soldering = rectangular(surroundings::SOLDERING) * core::f64::consts::SQRT_2;
    libm::hypot(libm::hypot(one.deviation - other.deviation, limits), soldering)
}

/// Ratio of the steps from octave to octave of an electrode whose polarisation falls with f^−0.6,
/// in the middle of what electrodes do (common practice, no source): 2^0.6.
pub const USUAL_RATIO: f64 = 1.515_716_566_510_398;

/// What extrapolating to infinite frequency makes of the noise of one resistance, as a factor, where
/// the resistance falls from octave to octave with steps of this ratio: by the derivatives of
/// R₈ − (R₄ − R₈)² / (R₂ − 2·R₄ + R₈), which are r², −2·r and 1 over (r − 1)².
///
/// 15 for an electrode whose polarisation falls with f^−0.6 ([`USUAL_RATIO`]). Bending and settling are
/// the same at the three, whose taps lie within some codes of each other, and are not made larger; a drive
/// that bends or steps is not the same, and counts as noise does.
pub fn extrapolation(ratio: f64) -> f64 {
    let square = ratio * ratio;
    libm::sqrt(square * square + 4.0 * square + 1.0) / ((ratio - 1.0) * (ratio - 1.0))
}

/// Error as a fraction that the longest cable leaves in the mean over the centre half of a half period:
/// the cell's voltage starts each from the other side and approaches with τ.
fn cable(resistor_ohm: f64, cell_ohm: f64) -> f64 {
    let feeding = feeding_ohm(resistor_ohm);
    let tau_s = cable_s(resistor_ohm, cell_ohm);
    let x = half_s(resistor_ohm) / tau_s;
    // Mean of 2·exp(−t/τ) from a quarter to three quarters of the half period.
    let missing = 4.0 / x * (libm::exp(-0.25 * x) - libm::exp(-0.75 * x));
    // The cell's voltage lacks it, and the resistor's has it more.
    missing * (1.0 + cell_ohm / feeding)
}

/// From the drive to the cell and from there to mid, in Ω.
fn feeding_ohm(resistor_ohm: f64) -> f64 {
    resistor_ohm + chips::SWITCH_ON_OHM + network::CELL_BACK_OHM
}

/// Time constant in s with which the cell's voltage follows the drive behind the longest cable.
fn cable_s(resistor_ohm: f64, cell_ohm: f64) -> f64 {
    let feeding = feeding_ohm(resistor_ohm);
    surroundings::CELL_CABLE_F * feeding * cell_ohm / (feeding + cell_ohm)
}

/// Half a period of the drive in s: the shortest of the range.
fn half_s(resistor_ohm: f64) -> f64 {
    let hz = match resistor_ohm {
        ohm if ohm == parts::RANGE_1K.value => timing::FREQUENCIES_1K_HZ[0],
        ohm if ohm == parts::RANGE_10K.value => timing::FREQUENCY_10K_HZ,
        _ => timing::FREQUENCY_100K_HZ,
    };
    0.5 / f64::from(hz)
}

/// Error as a fraction that the reference electrode leaves at most although it is open, wherever in the field
/// of [`REFERENCE_NEARER`](surroundings::REFERENCE_NEARER) it stands, with a cable of so many F.
///
/// The cable's screen follows the water's voltage through the water between (resistance W) and the junction,
/// and takes current meanwhile. For a cell of R with t·R from its top and b·R from its bottom to the reference,
/// and p the bottom's part b / (t + b): the voltage is that of the cell times p + Rb/R, with Rb from the cell's
/// bottom to mid, and p of the current comes by the range resistor. On a square wave with half periods h the mean
/// over their centre half is p·(p + Rb/R)·R·C/h · 4·(u − u³)/(1 + u⁴), with u = exp(−h/4CW).
///
/// It rises with p: the worst reference is as much nearer to the top as it may be. Over the distance it is
/// greatest at u² = 2 − √3, where 4·(u − u³)/(1 + u⁴) is √2, if W may be as much. The cell's own cable
/// delays all by its time constant, as if h were four times that shorter. The deck `shunt` and an
/// integration of the network stay below it with a usual cable; with 10 m of it the worst places reach 1.05 times it,
/// and the mean square over all places is a fraction of it.
pub fn reference(range: &Part, cell_ohm: f64, screen_f: f64) -> f64 {
    let part = surroundings::REFERENCE_LOPSIDED / (1.0 + surroundings::REFERENCE_LOPSIDED);
    let [_, farthest] = surroundings::REFERENCE_NEARER;
    // Range resistor and return are beside the cell: at the most the cell's own resistance more.
    let most_ohm = cell_ohm * (farthest * part + 1.0) + surroundings::JUNCTION_OHM;
    let left_s = half_s(range.value) - 4.0 * cable_s(range.value, cell_ohm);
    let worst_x = 2.0 * libm::log(2.0 + libm::sqrt(3.0));
    let x = libm::fmax(left_s / (screen_f * most_ohm), worst_x);
    let [u, cube, fourth] = [0.25, 0.75, 1.0].map(|part| libm::exp(-part * x));
    let voltage = part + network::CELL_BACK_OHM / cell_ohm;
    part * voltage * cell_ohm * screen_f / left_s * 4.0 * (u - cube) / (1.0 + fourth)
}

/// The same of the resistance that is extrapolated from three, for electrodes that polarise by up to
/// [`POLARISATION_OHM`](surroundings::POLARISATION_OHM) so that it falls from octave to octave with steps of this
/// ratio r.
///
/// What is on the highest frequency alone makes the highest step larger and r smaller. At r = m,
/// [`LEAST_TREND_RATIO`](timing::LEAST_TREND_RATIO), below which nothing is extrapolated, it is (r − 1)(r − m)/m of
/// the polarisation at that frequency, of which r(r − 1)/(m(m − 1)) is taken off instead of 1; smaller against the
/// polarisation it does less, and larger it is an error of one frequency again. Electrodes whose steps shrink by less
/// than 2^0.4 from octave to octave are left out: where the reference brings their ratio below m, nothing is taken off.
fn extrapolated_reference(range: &Part, cell_ohm: f64, ratio: f64) -> f64 {
    const LEAST: f64 = timing::LEAST_TREND_RATIO;
    let highest = reference(range, cell_ohm, surroundings::REFERENCE_CABLE_F);
    if ratio <= LEAST {
        return highest;
    }
    let part = (ratio - 1.0) * (ratio - LEAST) / LEAST;
    let taken = ratio * (ratio - 1.0) / (LEAST * (LEAST - 1.0));
    // Three octaves above 1 kHz.
    let polarised = surroundings::POLARISATION_OHM / (ratio * ratio * ratio * cell_ohm);
    libm::fmax(highest, libm::fmin(highest / part, polarised) * (taken - 1.0 + part))
}
