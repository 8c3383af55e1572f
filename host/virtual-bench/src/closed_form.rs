//! What the bench has in place of a circuit: closed forms of the drive, and how large and how lasting
//! the disturbances of the electrode are. The circuit simulations are compared with them.

use rillmark_proto::circuit::chips::{MID_V, SWITCH_ON_OHM};
use rillmark_proto::circuit::network::{self, BLOCKING_F, DRIVE_V};
use rillmark_proto::circuit::parts::{ELECTRODE_FILTER, ELECTRODE_FILTER_CAPACITOR};

/// Gain of the tap buffer, the same for every tap.
pub const BUFFER_GAIN: f64 = 0.9993;
/// After a start, a range or a frequency change the current is this fraction too large …
pub const UNSETTLED: f64 = 0.02;
/// … and settles with this time constant, in s.
pub const UNSETTLED_S: f64 = 0.008;
/// What a drive at the closed cell does to the electrode, in mV.
pub const DRIVE_SHIFT_MV: f64 = -12.0;
/// What a parked drive does at the closed cell: it holds the solution at mid's leakage, in mV.
pub const PARKED_SHIFT_MV: f64 = -5.0;
/// What a closed cell switch alone does, in mV.
pub const CLOSED_SHIFT_MV: f64 = -1.0;
/// What a drive that isn't floating does with the cell switch open (leakage), in mV.
pub const LEAK_SHIFT_MV: f64 = -0.5;
/// Where a power-up leaves the electrode's input, in mV: its capacitors are empty, and mid has come up.
pub const POWER_UP_MV: f64 = -1e3 * MID_V;
/// The filters before the converter follow with this, in s, however fast the input is: 1 kΩ · 10 µF.
const FILTER_S: f64 = ELECTRODE_FILTER.value * ELECTRODE_FILTER_CAPACITOR.value;

/// Time constant with which the electrode's input forgets any of these, in s, behind this many Ω.
pub fn disturbed_s(membrane_ohm: f64) -> f64 {
    libm::fmax(network::input_s(membrane_ohm), FILTER_S)
}

/// Taps h, a and b of a range resistor and its load in Ω, driven at a frequency with a way back of
/// this many Ω: positive less negative half period, in V, each the mean over its centre half.
pub fn taps_v(resistor_ohm: f64, load_ohm: f64, back_ohm: f64, hz: f64) -> [f64; 3] {
    // Drive switch, range resistor, load, return switch.
    let total = SWITCH_ON_OHM + resistor_ohm + load_ohm + back_ohm;
    // On the symmetric orbit the current falls exponentially over the half period h from
    // (1 + tanh(h/2τ))·V/R; its mean over the centre half follows.
    let half = 0.5 / hz;
    let tau = total * BLOCKING_F;
    let x = half / tau;
    let start = 1.0 + libm::tanh(0.5 * x);
    let mean = start * 2.0 / x * (libm::exp(-0.25 * x) - libm::exp(-0.75 * x));
    // Below 1e-6 of a time constant the exponentials cancel; the limit is 1 + x²/96.
    let mean = if x < 1e-6 { 1.0 } else { mean };
    let current = DRIVE_V / total * mean;
    let above = total - SWITCH_ON_OHM;
    [above, above - resistor_ohm, above - resistor_ohm - load_ohm]
        .map(|ohm| 2.0 * current * ohm * BUFFER_GAIN)
}
