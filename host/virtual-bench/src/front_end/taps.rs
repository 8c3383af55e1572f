//! What the taps of the driven range resistor and its load stand at.

use rillmark_metrology::front_end::surroundings::JUNCTION_OHM;
use rillmark_proto::circuit::chips::{GATE_INJECTION_F, SUPPLY_V, SWITCH_ON_OHM};
use rillmark_proto::circuit::network::{CELL_BACK_OHM, GATE_DUTY};
use rillmark_proto::circuit::parts::{HOLD_PLUS, REFERENCE_PROTECTION, THERMOMETER_RETURN};
use rillmark_proto::reading::Range;

use super::{Drive, FrontEnd, Pin};
use crate::build::{self, BuildFault, GAP_OHM, OPEN_OHM};
use crate::closed_form::{self, Field, Shunt};

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

    /// The resistance that the taps tell of the closed cell on a range at a frequency, in Ω, with a range resistor
    /// that is as it is called.
    pub(crate) fn indicated_ohm(&self, now_ns: u64, range: Range, hz: f64) -> f64 {
        let is = self.truth.resistors[range as usize];
        let shunt = self.shunt(now_ns, hz, true);
        let [h, a, b] =
            closed_form::taps_v(is, self.cell_ohm(now_ns, hz), CELL_BACK_OHM, shunt, hz);
        range.resistor().value * (a - b) / (h - a)
    }

    /// What the reference electrode takes of the drive in the cell's water: next to nothing where the switch of a
    /// closed cell opens it, and then what its cable's screen does.
    fn shunt(&self, now_ns: u64, hz: f64, closed: bool) -> Shunt {
        let truth = &self.truth;
        let is_direct = self.has(BuildFault::ReferenceAtMid);
        let opens = closed && truth.opens_reference && !is_direct;
        let leak_ohm = SUPPLY_V / libm::fabs(truth.switch_leakage_a);
        if let Some(loads) = self.loads {
            if !loads.is_joined || self.has(BuildFault::ReferenceOpen) {
                return Shunt::default();
            }
            let behind_ohm = match (opens, is_direct) {
                (true, _) => leak_ohm,
                (false, true) => 0.0,
                (false, false) => SWITCH_ON_OHM,
            };
            let top_s = 1.0 / (REFERENCE_PROTECTION.value + behind_ohm);
            return Shunt { top_s, ..Shunt::default() };
        }
        let siemens = self.sensors.conductance_s(now_ns, truth);
        if self.faults.cell_open || siemens <= 0.0 {
            return Shunt::default();
        }
        let field = Field::of(1.0 / siemens, truth.to_reference);
        let to_shell_ohm = JUNCTION_OHM + REFERENCE_PROTECTION.value;
        let joined_s = if opens {
            let screen_s = field.screen_s(truth.reference_screen_f, JUNCTION_OHM, hz);
            1.0 / (to_shell_ohm + leak_ohm) + screen_s
        } else {
            1.0 / (to_shell_ohm + SWITCH_ON_OHM)
        };
        field.shunt(joined_s)
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
        let closed = self.high(Pin::Cell);
        let loaded = self.loaded_ohm(now_ns, hz);
        let resistor = build::resistor(&self.truth.resistors, self.range(), self.faults.build);
        let back = match closed {
            // The thermometer returns to mid without a switch.
            _ if thermometer => THERMOMETER_RETURN.value,
            true if self.has(BuildFault::ReturnOpen) => GAP_OHM,
            true => CELL_BACK_OHM,
            false => OPEN_OHM,
        };
        let shunt = if thermometer { Shunt::default() } else { self.shunt(now_ns, hz, closed) };
        let taps = closed_form::taps_v(resistor, loaded, back, shunt, hz);
        // The tap switch's unused position lies at mid.
        let tap = taps.get(self.tap()).copied().unwrap_or(0.0);
        // One gate injects, the other not at all: more can the difference not be.
        let injected = GATE_INJECTION_F * SUPPLY_V * hz * HOLD_PLUS.value / GATE_DUTY;
        tap + injected
    }
}
