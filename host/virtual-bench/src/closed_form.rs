//! What the bench has in place of a circuit: closed forms of the drive, and how large and how lasting
//! the disturbances of the electrode are. The circuit simulations are compared with them.

use rillmark_metrology::front_end;
use rillmark_proto::circuit::chips::{MID_V, SWITCH_ON_OHM};
use rillmark_proto::circuit::network::{BLOCKING_F, DRIVE_V};
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
    libm::fmax(front_end::input_s(membrane_ohm), FILTER_S)
}

/// What leads from a cell in water past its return: the reference electrode's way to mid.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shunt {
    /// From the cell's top to mid, in S.
    pub top_s: f64,
    /// From its bottom to mid, in S.
    pub bottom_s: f64,
    /// How much less passes from top to bottom than with the reference lifted out, in S.
    pub less_s: f64,
}

/// Water between a cell's electrodes and a reference electrode, in Ω.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Field {
    top_ohm: f64,
    bottom_ohm: f64,
}

impl Field {
    /// Of a cell with this much between its terminals in Ω, and so many times the water between its electrodes
    /// from its top and from its bottom to the reference: the way past the reference is a part of the first.
    pub fn of(cell_ohm: f64, [top, bottom]: [f64; 2]) -> Self {
        let water_ohm = cell_ohm * (1.0 + 1.0 / (top + bottom));
        Self { top_ohm: top * water_ohm, bottom_ohm: bottom * water_ohm }
    }

    /// With the reference joined to mid by a conductance in S: the star of the field's two ways and that
    /// conductance as a triangle.
    pub fn shunt(&self, joined_s: f64) -> Shunt {
        let (top_s, bottom_s) = (1.0 / self.top_ohm, 1.0 / self.bottom_ohm);
        let all_s = top_s + bottom_s + joined_s;
        Shunt {
            top_s: top_s * joined_s / all_s,
            bottom_s: bottom_s * joined_s / all_s,
            less_s: top_s * bottom_s * (1.0 / (top_s + bottom_s) - 1.0 / all_s),
        }
    }

    /// What a screen of so many F behind a junction in Ω joins to mid on a square wave, as a conductance in S:
    /// it is charged from one side to the other in every half period, and the mean counts over the centre half.
    pub fn screen_s(&self, screen_f: f64, junction_ohm: f64, hz: f64) -> f64 {
        let field_ohm = self.top_ohm * self.bottom_ohm / (self.top_ohm + self.bottom_ohm);
        let all_ohm = field_ohm + junction_ohm;
        // Half a period in time constants.
        let x = 0.5 / hz / (screen_f * all_ohm);
        if x > 1e3 {
            return 0.0;
        }
        // On the symmetric orbit it lacks 2 / (1 + exp(−x)) of where it goes, and less and less.
        let lacks = 4.0 / x * (libm::exp(-0.25 * x) - libm::exp(-0.75 * x)) / (1.0 + libm::exp(-x));
        lacks / (all_ohm - lacks * field_ohm)
    }
}

/// Taps h, a and b of a range resistor and its load in Ω, driven at a frequency with a way back of
/// this many Ω: positive less negative half period, in V, each the mean over its centre half.
pub fn taps_v(resistor_ohm: f64, load_ohm: f64, back_ohm: f64, shunt: Shunt, hz: f64) -> [f64; 3] {
    // Return beside its shunt, then with the load beside the top's.
    let bottom = 1.0 / (1.0 / back_ohm + shunt.bottom_s);
    let load = 1.0 / (1.0 / load_ohm - shunt.less_s);
    let top = 1.0 / (1.0 / (load + bottom) + shunt.top_s);
    // Drive switch, range resistor, what is below it.
    let total = SWITCH_ON_OHM + resistor_ohm + top;
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
    [total - SWITCH_ON_OHM, top, top * bottom / (load + bottom)]
        .map(|ohm| 2.0 * current * ohm * BUFFER_GAIN)
}
