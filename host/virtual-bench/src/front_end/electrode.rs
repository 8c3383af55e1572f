//! What the electrometer makes of the electrode's potential.

use core::f64::consts::TAU;

use rillmark_metrology::front_end::surroundings::JUNCTION_OHM;
use rillmark_proto::circuit::parts::{INPUT_PROTECTION, REFERENCE_PROTECTION};

use super::{Drive, Fading, FrontEnd};
use crate::build::{self, BuildFault};
use crate::water::wear;

/// Where the electrode's input drifts when nothing is connected, above mid, in V.
pub(super) const RAIL_V: f64 = 1.6;

impl FrontEnd {
    /// What reaches the converter in V above mid; `None` when nothing is connected.
    pub(super) fn electrode_v(&mut self, now_ns: u64, beside_mv: f64) -> Option<f64> {
        let mv = match self.loads {
            Some(loads) => {
                let truth = &self.truth;
                let (mv, ohm, bias_a) =
                    build::input(loads.electrode, truth.bias_a, self.faults.build)?;
                let bias_mv = 1e3 * bias_a * (ohm + INPUT_PROTECTION.value);
                let seen = mv + bias_mv + truth.electrometer_offset_mv + self.disturbed.at(now_ns);
                seen * (1.0 - truth.electrode_load)
            }
            None if self.no_contact(now_ns) || self.has(BuildFault::ReferenceOpen) => {
                return None;
            }
            None => self.electrode_mv(now_ns, beside_mv),
        };
        // An amplifier goes no farther than its rails.
        Some((mv * 1e-3).clamp(-RAIL_V, RAIL_V))
    }

    /// True while the electrode's lead is broken or its plug has no contact.
    pub(crate) fn no_contact(&self, now_ns: u64) -> bool {
        self.faults.electrode_open || self.sensors.contact_lost(now_ns)
    }

    /// What an earth loop has done to the reference, in mV: all of it while something is driven, and less
    /// and less afterwards.
    pub(crate) fn earth_loop_mv(&self, now_ns: u64) -> f64 {
        let part = match self.drive {
            Drive::Running { .. } => 1.0,
            Drive::Parked | Drive::Floating => self.driven.at(now_ns),
        };
        part * wear::earth_loop_mv(&self.faults.ailments)
    }

    /// Something was driven until now.
    pub(crate) fn was_driven(&mut self, now_ns: u64) {
        self.driven = Fading { size: 1.0, since_ns: now_ns, tau_s: wear::EARTH_LOOP_S };
    }

    /// The potential that reaches the converter, in mV above mid: the electrode's with what stands
    /// beside it, moved by bias and leakage through its resistances and by the electrometer's offset,
    /// less what the converter's input takes.
    pub(crate) fn electrode_mv(&mut self, now_ns: u64, beside_mv: f64) -> f64 {
        let electrode = self.sensors.potential_mv(now_ns, &self.truth);
        let membrane_ohm = 1e6 * self.sensors.membrane_mohm(now_ns, &self.truth);
        let truth = &self.truth;
        let bias_mv = 1e3 * truth.bias_a * (membrane_ohm + INPUT_PROTECTION.value);
        let reference_ohm = JUNCTION_OHM + REFERENCE_PROTECTION.value;
        let leakage_mv = 1e3 * truth.switch_leakage_a * reference_ohm;
        let seen = electrode + beside_mv + bias_mv + leakage_mv + truth.electrometer_offset_mv;
        seen * (1.0 - truth.electrode_load)
    }

    /// Mean of the hum over a window, in mV.
    pub(super) fn hum_mv(&self, from_ns: u64, to_ns: u64) -> f64 {
        let omega = TAU * self.truth.mains_hz;
        let phase = |ns: u64| omega * (ns as f64 * 1e-9) + self.truth.hum_phase;
        let (from, to) = (phase(from_ns), phase(to_ns));
        if to <= from {
            return 0.0;
        }
        self.truth.hum_mv * (libm::cos(from) - libm::cos(to)) / (to - from)
    }
}
