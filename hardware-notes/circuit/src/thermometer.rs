//! The Pt1000 on the fourth position of the range switch.

use rillmark_firmware::constants::{FREQUENCY_THERMOMETER_HZ, THERMOMETER_REFERENCE_OHM};
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::chips;

use crate::gates::gated;
use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// Resistance of a Pt1000 at 25 °C in Ω and its change per kelvin (computed: IEC 60751,
/// 1 + 3.9083e-3·t − 5.775e-7·t²).
pub const PLATINUM_OHM: f64 = 1000.0 * (1.0 + 3.9083e-3 * 25.0 - 5.775e-7 * 625.0);
/// Change of the same in Ω per K at 25 °C.
pub const OHM_PER_K: f64 = 1000.0 * (3.9083e-3 - 2.0 * 5.775e-7 * 25.0);
/// Periods: ten times as long as the deck's platinum takes to warm up (20 ms).
const PERIODS: f64 = 406.0;

/// A thermometer in water.
#[derive(Clone, Copy, Debug)]
pub struct Thermometer {
    /// Power that warms it by one kelvin, in W.
    pub dissipation_w_per_k: f64,
    /// Either lead in Ω.
    pub lead_ohm: f64,
    /// On-resistance of the range switch in Ω.
    pub on_ohm: f64,
    /// Capacitance of its bottom core to the shield in F.
    pub cable_f: f64,
}

impl Thermometer {
    /// What is indicated above the true temperature, in mK.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn error_mk(&self) -> Result<f64, SpiceError> {
        let hz = f64::from(FREQUENCY_THERMOMETER_HZ);
        let waves = Deck::new("thermometer")
            .with("period", 1.0 / hz)
            .with("periods", PERIODS)
            .with("on", self.on_ohm)
            .with("lead", self.lead_ohm)
            .with("platinum", PLATINUM_OHM)
            .with("ohm_per_k", OHM_PER_K)
            .with("dissipation", self.dissipation_w_per_k)
            .with("bottom", self.cable_f)
            .run()?;
        let [h, a, b] = [0, 1, 2].map(|tap| gated(&waves, tap, hz, PERIODS));
        let ohm = THERMOMETER_REFERENCE_OHM * (a - b) / (h - a);
        Ok(1e3 * (ohm - PLATINUM_OHM) / OHM_PER_K)
    }
}

/// What is indicated above the true temperature, in mK.
#[derive(Clone, Copy, Debug)]
pub struct Errors {
    /// The chain alone: no leads, and a current that warms nothing.
    pub chain_mk: f64,
    /// The same with switches of the greatest on-resistance.
    pub switches_mk: f64,
    /// With the warmth of its current in still water.
    pub warmed_mk: f64,
    /// With two leads of [`surroundings::LEADS_OHM`] each, and no warmth.
    pub leads_mk: f64,
    /// With 10 m of cable at its bottom, that is at mid behind R29.
    pub cable_mk: f64,
}

/// Simulates all.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Errors, SpiceError> {
    let chain = Thermometer {
        dissipation_w_per_k: 1e3,
        lead_ohm: 1e-6,
        on_ohm: chips::SWITCH_ON_OHM,
        cable_f: 60e-12,
    };
    let thermometers = [
        chain,
        Thermometer { on_ohm: chips::SWITCH_ON_MAX_OHM, ..chain },
        Thermometer { dissipation_w_per_k: surroundings::DISSIPATION_W_PER_K, ..chain },
        Thermometer { lead_ohm: surroundings::LEADS_OHM, ..chain },
        Thermometer { cable_f: surroundings::CELL_CABLE_F, ..chain },
    ];
    let errors = two_at_a_time::map(&thermometers, Thermometer::error_mk)?;
    let [chain_mk, switches_mk, warmed_mk, leads_mk, cable_mk] =
        errors.try_into().expect("as many as thermometers");
    Ok(Errors { chain_mk, switches_mk, warmed_mk, leads_mk, cable_mk })
}
