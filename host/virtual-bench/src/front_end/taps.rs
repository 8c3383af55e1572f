//! What the taps of the driven range resistor and its load stand at.

use rillmark_proto::circuit::chips::{GATE_INJECTION_F, SUPPLY_V, SWITCH_ON_OHM};
use rillmark_proto::circuit::network::{BLOCKING_F, DRIVE_V, GATE_DUTY};
use rillmark_proto::circuit::parts::HOLD_PLUS;

use super::{Drive, FrontEnd, Pin};
use crate::build::{self, BuildFault, GAP_OHM, OPEN_OHM};

/// Gain of the tap buffer, the same for every tap.
const BUFFER_GAIN: f64 = 0.9993;

impl FrontEnd {
    /// Resistance between taps a and b, in Ω.
    fn loaded_ohm(&self, now_ns: u64, hz: f64) -> f64 {
        if self.range() == 3 { self.thermometer_ohm(now_ns) } else { self.cell_ohm(now_ns, hz) }
    }

    /// Resistance of the thermometer with its leads, in Ω.
    pub(crate) fn thermometer_ohm(&self, now_ns: u64) -> f64 {
        let truth = &self.truth;
        if let Some(loads) = self.loads {
            return loads.thermometer_ohm.unwrap_or(OPEN_OHM);
        }
        if self.sensors.thermometer_open(now_ns) {
            return OPEN_OHM;
        }
        if self.sensors.thermometer_short(now_ns) {
            return truth.lead_ohm;
        }
        let celsius = self.sensors.shown_c(now_ns, truth);
        // A beaker is between −2 and 60 °C, well inside the table.
        truth.thermometer_ohm(celsius).unwrap_or(OPEN_OHM)
    }

    /// Resistance of the cell with its leads at a frequency, in Ω.
    pub(crate) fn cell_ohm(&self, now_ns: u64, hz: f64) -> f64 {
        let truth = &self.truth;
        if let Some(loads) = self.loads {
            return build::cell_ohm(loads.cell_ohm, self.faults.build);
        }
        let leak = truth.leak_us * 1e-6;
        let siemens = self.sensors.conductance_s(now_ns, truth);
        if self.faults.cell_open {
            return OPEN_OHM;
        }
        let polarised = truth.polarisation_ohm * libm::pow(hz / 1e3, -truth.polarisation_power);
        let wet = if siemens > 0.0 { 1.0 / (1.0 / siemens + polarised) } else { 0.0 };
        libm::fmin(1.0 / (wet + leak) + truth.lead_ohm, OPEN_OHM)
    }

    /// The difference of the holds when all has settled, in V.
    pub(super) fn steady_v(&self, now_ns: u64) -> f64 {
        let Drive::Running { hz } = self.drive else {
            return 0.0;
        };
        if !self.powered() || self.has(BuildFault::DriveOpen) {
            return 0.0;
        }
        let thermometer = self.range() == 3;
        let closed = thermometer || self.high(Pin::Cell);
        let loaded = self.loaded_ohm(now_ns, hz);
        let resistor = build::resistor(&self.truth.resistors, self.range(), self.faults.build);
        let back = match closed {
            true if !thermometer && self.has(BuildFault::ReturnOpen) => GAP_OHM,
            true => SWITCH_ON_OHM,
            false => OPEN_OHM,
        };
        // Drive switch, range resistor, load, return switch.
        let total = SWITCH_ON_OHM + resistor + loaded + back;
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
        let above = match self.tap() {
            0 => total - SWITCH_ON_OHM,
            1 => total - SWITCH_ON_OHM - resistor,
            2 => total - SWITCH_ON_OHM - resistor - loaded,
            _ => 0.0, // the tap switch's unused position lies at mid
        };
        // One gate injects, the other not at all: more can the difference not be.
        let injected = GATE_INJECTION_F * SUPPLY_V * hz * HOLD_PLUS.value / GATE_DUTY;
        2.0 * current * above * BUFFER_GAIN + injected
    }
}
