//! Of the electrode's potential, in mV.

use super::limits::warm;
use super::taps::averaged_codes;
use super::{BoardLimits, Budget, Cause, Contribution, rectangular};
use crate::front_end::surroundings;
use rillmark_proto::circuit::{chips, network, parts, timing};

/// One V in mV.
const MILLI: f64 = 1e3;
/// Boltzmann's constant in J/K (exact in the SI), and 25 °C in K.
const BOLTZMANN: f64 = 1.380_649e-23;
const ROOM_K: f64 = 298.15;

/// What is connected to the pH input.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Its potential in mV.
    pub potential_mv: f64,
    /// Resistance of the glass membrane in Ω: 50 to 500 MΩ.
    pub membrane_ohm: f64,
    /// Resistance in Ω of the reference electrode and of resistor and switch before it, through which
    /// leakage at the cell flows.
    pub junction_ohm: f64,
}

impl Source {
    /// A pH electrode.
    pub const fn electrode(potential_mv: f64, membrane_ohm: f64) -> Self {
        let junction_ohm = surroundings::JUNCTION_OHM
            + parts::REFERENCE_PROTECTION.value
            + chips::SWITCH_ON_MAX_OHM;
        Self { potential_mv, membrane_ohm, junction_ohm }
    }

    /// A short (0 mV) or a millivolt source without resistance, and no cell in the same water.
    pub const fn bench(potential_mv: f64) -> Self {
        Self { potential_mv, membrane_ohm: 0.0, junction_ohm: 0.0 }
    }
}

/// The budget in mV of one reading of pH-only sampling, the shortest.
pub fn budget(source: &Source) -> Budget<17> {
    budget_on(&BoardLimits::ANY, source)
}

/// The same on a board of which more is known.
pub fn budget_on(board: &BoardLimits, source: &Source) -> Budget<17> {
    let mv = source.potential_mv;
    let code_mv = network::ELECTRODE_CODE_V * MILLI;
    let conversions = timing::PH_AVERAGES * timing::CONVERSIONS_PER_AVERAGE;
    let input_ohm = source.membrane_ohm + parts::INPUT_PROTECTION.value;
    let bias_mv = board.bias_a.times(warm() * input_ohm * MILLI);
    let offset_mv = board.electrometer_offset_v.times(MILLI);
    let guard_mv = offset_mv.times(source.membrane_ohm / surroundings::GUARD_INSULATION_OHM);
    let [leak_mv, clamps_mv] = board.leakages().map(|line| line.times(source.junction_ohm * MILLI));
    let wait_s = timing::WAIT_POWER_US as f64 * 1e-6;
    let tau_s = super::input_s(source.membrane_ohm);
    let waited_mv = chips::MID_V * MILLI * libm::exp(-wait_s / tau_s);
    let settling_mv = libm::fmin(waited_mv, unseen_mv(tau_s));
    let drift_mv = chips::ELECTROMETER_DRIFT_V_PER_K * surroundings::BOARD_K * MILLI;
    let supply_mv = board.supply_v
        * surroundings::SUPPLY_CHANGE
        * (chips::ELECTROMETER_SUPPLY_REJECTION + 0.5 * chips::ELECTROMETER_COMMON_MODE)
        * MILLI;
    let contributions = [
        Contribution::constant_line(Cause::ElectrometerOffset, offset_mv),
        Contribution::lasting(Cause::ElectrometerDrift, drift_mv),
        Contribution::lasting(Cause::CommonMode, chips::ELECTROMETER_COMMON_MODE * mv),
        // Half of what the supply changes by is common mode: mid moves with it.
        Contribution::lasting(Cause::SupplyRejection, supply_mv),
        Contribution::constant(Cause::ConverterOffset, chips::ADC_OFFSET_CODES * code_mv),
        Contribution::constant(Cause::Gain, chips::ADC_GAIN_ERROR * mv),
        Contribution::constant(Cause::InputLoad, network::ELECTRODE_LOAD * mv),
        Contribution::lasting(
            Cause::GainDrift,
            chips::ADC_GAIN_DRIFT_PER_K * surroundings::BOARD_K * mv,
        ),
        Contribution::lasting(Cause::Linearity, chips::ADC_LINEARITY_CODES * code_mv),
        // Membrane and bias both change with temperature, so that no calibration takes them up.
        Contribution::lasting_line(Cause::Bias, bias_mv),
        Contribution::lasting_line(Cause::Guard, guard_mv),
        Contribution::lasting_line(Cause::SwitchLeakage, leak_mv),
        // At the cell's top and bottom. What the switch before the reference injects when it closes is gone
        // with the input's time constant, long before the next conversion.
        Contribution::lasting_line(Cause::ClampLeakage, clamps_mv),
        Contribution::noise(Cause::Noise, averaged_codes(conversions) * code_mv),
        Contribution::noise(Cause::MembraneNoise, membrane_noise_v(source.membrane_ohm) * MILLI),
        Contribution::sine(Cause::Mains, surroundings::HUM_V * surroundings::MAINS_OFF * MILLI),
        Contribution::lasting(Cause::Settling, settling_mv),
    ];
    Budget { contributions }
}

/// The most in mV that an input with this time constant in s is still on its way when its averages stand
/// still. Of the rest e in the middle of five averages, x = 0.1 s / τ apart, the first two lie
/// e · (sinh 2x + sinh x) from the last two, and the mean is e · (1 + 2·cosh x + 2·cosh 2x) / 5. Not a
/// number where x is so large that nothing is left anyway.
fn unseen_mv(tau_s: f64) -> f64 {
    let average_us = timing::CONVERSION_PERIOD_US * u64::from(timing::CONVERSIONS_PER_AVERAGE);
    let x = average_us as f64 * 1e-6 / tau_s;
    let mean = (1.0 + 2.0 * libm::cosh(x) + 2.0 * libm::cosh(2.0 * x)) / 5.0;
    timing::STILL_NV as f64 * 1e-6 * mean / (libm::sinh(2.0 * x) + libm::sinh(x))
}

/// Standard uncertainty in mV of the potential that a front end just built indicates for a short (0 mV)
/// or a millivolt source at the pH input.
pub fn source(potential_mv: f64) -> f64 {
    budget(&Source::bench(potential_mv)).built()
}

/// Standard uncertainty, as a fraction, of the gain of a front end just built: converter and its load.
pub fn gain() -> f64 {
    libm::hypot(rectangular(chips::ADC_GAIN_ERROR), rectangular(network::ELECTRODE_LOAD))
}

/// Thermal noise of the membrane on the input's capacitance, √(kT/C), over one reading: the mean over
/// T of noise that forgets itself within τ keeps 2τ/T · (1 − τ/T · (1 − exp(−T/τ))) of its variance.
fn membrane_noise_v(membrane_ohm: f64) -> f64 {
    let average_us = timing::CONVERSION_PERIOD_US * u64::from(timing::CONVERSIONS_PER_AVERAGE);
    let reading_s = f64::from(timing::PH_AVERAGES) * average_us as f64 * 1e-6;
    let part = super::input_s(membrane_ohm) / reading_s;
    let kept = 2.0 * part * (1.0 - part * (1.0 - libm::exp(-1.0 / part)));
    let capacitance = parts::INPUT_CAPACITOR.value + surroundings::ELECTRODE_CABLE_F;
    libm::sqrt(BOLTZMANN * ROOM_K / capacitance * kept)
}
