//! What the sampler's averages leave of mains hum at the pH input.

use std::f64::consts::TAU;

use rillmark_firmware::constants::{CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE};
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, parts};

use crate::ngspice::SpiceError;
use crate::ph::Input;
use crate::two_at_a_time;
use crate::waves::Waves;

/// Conversions a second that the converter is set to (ADS1115 class, from the data sheet).
const RATE_HZ: f64 = 860.0;

/// How conversions are timed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Timing {
    /// Each is triggered by the microcontroller's crystal: what the firmware does.
    Triggered,
    /// One follows the other by the converter's own clock, with the same number in an average.
    Free,
}

/// What an average leaves of hum, as a fraction of its amplitude at the converter, with the
/// converter's clock off by a fraction: the greatest over when in a cycle of the hum it begins.
pub fn hum_left(waves: &Waves, hz: f64, clock_off: f64, timing: Timing) -> f64 {
    let from = waves.end() - 0.16;
    let zero = waves.mean(0, waves.end() - 10.0 / hz, waves.end());
    let amplitude = waves.swing(0, from, waves.end()) / 2.0;
    let window = 1.0 / (RATE_HZ * (1.0 + clock_off));
    let period = CONVERSION_PERIOD_US as f64 * 1e-6;
    let period = match timing {
        Timing::Triggered => period,
        Timing::Free => period / (1.0 + clock_off),
    };
    let average = |begin: f64| {
        let one = |at: u32| {
            let opens = begin + f64::from(at) * period;
            waves.mean(0, opens, opens + window)
        };
        let sum: f64 = (0..CONVERSIONS_PER_AVERAGE).map(one).sum();
        (sum / f64::from(CONVERSIONS_PER_AVERAGE) - zero).abs()
    };
    const PHASES: u32 = 24;
    let phases = (0..PHASES).map(|at| from + f64::from(at) / f64::from(PHASES) / hz);
    phases.map(average).fold(0.0, f64::max) / amplitude
}

/// An input with hum of this frequency, as much as [`surroundings::HUM_V`] at the converter.
pub fn humming(membrane_ohm: f64, hz: f64) -> Input {
    // The input's capacitances shunt the membrane at mains frequencies, and the filter takes its part.
    let omega = TAU * hz;
    let filter_s = parts::ELECTRODE_FILTER.value * parts::ELECTRODE_FILTER_CAPACITOR.value;
    let capacitance = parts::INPUT_CAPACITOR.value + surroundings::ELECTRODE_CABLE_F;
    let shunted = 1.0 / f64::hypot(1.0 / membrane_ohm, omega * capacitance);
    let passed = 1.0 / f64::hypot(1.0, omega * filter_s);
    let hum_a = surroundings::HUM_V / (shunted * passed);
    Input { hum_a, hum_hz: hz, end_s: 2.0, ..Input::ideal(membrane_ohm) }
}

/// Hum of one frequency.
#[derive(Clone, Copy, Debug)]
pub struct Hum {
    /// The membrane in Ω.
    pub membrane_ohm: f64,
    /// The grid's frequency in Hz.
    pub nominal_hz: f64,
    /// How far it is from it, as a fraction.
    pub off: f64,
    /// Amplitude at the converter, in mV.
    pub amplitude_mv: f64,
    /// What triggered conversions leave of it, as a fraction, with the converter's clock slow, right
    /// and fast.
    pub triggered: [f64; 3],
    /// What conversions by its own clock leave.
    pub free: [f64; 3],
}

/// Either grid, at its frequency and as far beside it as it may be.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Hum>, SpiceError> {
    let hums = [(500e6, 50.0, 0.0), (500e6, 60.0, 0.0), (50e6, 50.0, 0.0)];
    let beside = [50.0, 60.0].map(|hz| (500e6, hz, surroundings::MAINS_OFF));
    let hums: Vec<_> = hums.into_iter().chain(beside).collect();
    two_at_a_time::map(&hums, |&(membrane_ohm, nominal_hz, off)| {
        let hz = nominal_hz * (1.0 + off);
        let waves = humming(membrane_ohm, hz).run()?;
        let clocks = [-chips::ADC_CLOCK_ERROR, 0.0, chips::ADC_CLOCK_ERROR];
        let left = |timing| clocks.map(|clock| hum_left(&waves, hz, clock, timing));
        Ok(Hum {
            membrane_ohm,
            nominal_hz,
            off,
            amplitude_mv: 0.5e3 * waves.swing(0, waves.end() - 0.1, waves.end()),
            triggered: left(Timing::Triggered),
            free: left(Timing::Free),
        })
    })
}
