//! The pH input: how it settles, and what bias and leaks cost.

use rillmark_firmware::constants::{AVERAGE_US, WAIT_POWER_US};
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, network};

use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;
use crate::waves::Waves;

/// When the glass steps, in s.
pub const STEP_S: f64 = 0.1;

/// A pH input and what is connected to it.
#[derive(Clone, Copy, Debug)]
pub struct Input {
    /// Resistance of the membrane in Ω.
    pub membrane_ohm: f64,
    /// Potential of the glass before [`STEP_S`], in V.
    pub before_v: f64,
    /// And after it.
    pub after_v: f64,
    /// Whether it was just powered up: capacitors empty, so that the input stands at ground.
    pub powers_up: bool,
    /// Current out of the input in A.
    pub bias_a: f64,
    /// Insulation to ground in Ω.
    pub to_ground_ohm: f64,
    /// Insulation to the guard in Ω.
    pub to_guard_ohm: f64,
    /// Offset of the electrometer in V.
    pub offset_v: f64,
    /// The converter's input resistance in Ω.
    pub load_ohm: f64,
    /// Amplitude of hum into the glass's wire in A.
    pub hum_a: f64,
    /// Its frequency in Hz.
    pub hum_hz: f64,
    /// How long, in s.
    pub end_s: f64,
}

/// A resistance that lets nothing through, in Ω.
pub const NONE_OHM: f64 = 1e18;

impl Input {
    /// Nothing but the membrane.
    pub fn ideal(membrane_ohm: f64) -> Self {
        Self {
            membrane_ohm,
            before_v: 0.0,
            after_v: 0.0,
            powers_up: false,
            bias_a: 0.0,
            to_ground_ohm: NONE_OHM,
            to_guard_ohm: NONE_OHM,
            offset_v: 0.0,
            load_ohm: NONE_OHM,
            hum_a: 0.0,
            hum_hz: 50.0,
            end_s: 3.0,
        }
    }

    /// Simulates it.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn run(&self) -> Result<Waves, SpiceError> {
        let (input_v, filters_v) =
            if self.powers_up { (-chips::MID_V, 0.0) } else { (self.before_v, chips::MID_V) };
        Deck::new("ph")
            .with("membrane", self.membrane_ohm)
            .with("junction", surroundings::JUNCTION_OHM)
            .with("before", self.before_v)
            .with("after", self.after_v)
            .with("step", STEP_S)
            .with("input_starts", input_v)
            .with("filters_start", filters_v)
            .with("bias_out", self.bias_a)
            .with("to_ground", self.to_ground_ohm)
            .with("to_guard", self.to_guard_ohm)
            .with("offset", self.offset_v)
            .with("load", self.load_ohm)
            .with("hum_a", self.hum_a)
            .with("hum_hz", self.hum_hz)
            // Of hum a twentieth of what is allowed is left by steps of 0.1 ms alone.
            .with("every", if self.hum_a > 0.0 { 5e-5 } else { 1e-3 })
            .with("end", self.end_s)
            .run()
    }

    /// What is read in the end, in mV.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn settled_mv(&self) -> Result<f64, SpiceError> {
        let waves = self.run()?;
        Ok(1e3 * waves.mean(0, self.end_s - AVERAGE_US as f64 * 1e-6, self.end_s))
    }
}

/// One code of the electrode in mV.
pub const CODE_MV: f64 = 1e3 * network::ELECTRODE_CODE_V;

/// What a membrane makes of the input.
#[derive(Clone, Copy, Debug)]
pub struct Errors {
    /// The membrane in Ω.
    pub membrane_ohm: f64,
    /// From a step of one pH until the rest is 0.1 mV, in s.
    pub settles_s: f64,
    /// From power on until the rest is 0.1 mV, in s.
    pub powers_up_s: f64,
    /// What is left after [`WAIT_POWER_US`], in mV.
    pub powered_mv: f64,
    /// What the greatest bias costs at 25 °C, in mV.
    pub bias_mv: f64,
    /// What the least insulation to the guard costs, with the electrometer's greatest offset, in mV
    /// beside that offset.
    pub guard_mv: f64,
    /// What ten times the insulation costs where it leads to ground instead, in mV.
    pub no_guard_mv: f64,
    /// What the converter's load takes, as a fraction.
    pub load: f64,
}

/// One pH at 25 °C in V (computed: CODATA constants).
pub const ONE_PH_V: f64 = 0.059_159;
/// A potential at the end of what is read, in V: pH 0 or 14.
const FAR_V: f64 = 7.0 * ONE_PH_V;

/// Simulates the least and the greatest membrane resistance.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Errors>, SpiceError> {
    two_at_a_time::map(&[50e6, 500e6], |membrane_ohm| errors(*membrane_ohm))
}

fn errors(membrane_ohm: f64) -> Result<Errors, SpiceError> {
    let ideal = Input::ideal(membrane_ohm);
    // The follower's finite gain.
    let zero_mv = ideal.settled_mv()?;
    let above = |input: Input| Ok(input.settled_mv()? - zero_mv);
    let steps = Input { after_v: ONE_PH_V, ..ideal }.run()?;
    let end = steps.at(0, steps.end());
    let powers_up = Input { powers_up: true, ..ideal }.run()?;
    let powered_s = WAIT_POWER_US as f64 * 1e-6;
    let average_s = AVERAGE_US as f64 * 1e-6;
    let offset = Input { offset_v: chips::ELECTROMETER_OFFSET_V, ..ideal };
    let insulation = surroundings::GUARD_INSULATION_OHM;
    let far = Input { before_v: FAR_V, after_v: FAR_V, ..ideal };
    let far_mv = above(far)?;
    let loaded_mv = above(Input { load_ohm: chips::ADC_INPUT_OHM, ..far })?;
    Ok(Errors {
        membrane_ohm,
        settles_s: steps.last_beyond(0, end, 1e-4) - STEP_S,
        powers_up_s: powers_up.last_beyond(0, zero_mv * 1e-3, 1e-4),
        powered_mv: 1e3 * powers_up.mean(0, powered_s, powered_s + average_s) - zero_mv,
        bias_mv: above(Input { bias_a: chips::ELECTROMETER_BIAS_A, ..ideal })?,
        guard_mv: above(Input { to_guard_ohm: insulation, ..offset })? - above(offset)?,
        no_guard_mv: above(Input { to_ground_ohm: 10.0 * insulation, ..ideal })?,
        load: loaded_mv / far_mv - 1.0,
    })
}
