//! A probe without its chips: the same water, sensors, wear and network, read at the sampler's rates
//! and averaged as the firmware does, but with nothing between two readings.
//!
//! Some hundred times as fast as [`crate::VirtualProbe`], for whatever needs many probes. What the
//! switches do to the electrode and how the holds settle is left out: the firmware waits for it.

use rillmark_firmware::constants::{
    CONVERSION_PERIOD_US, CONVERSIONS_PER_AVERAGE, FREQUENCIES_1K_HZ, PH_AVERAGES, PH_PERIOD_US,
    PH_TEMPERATURE_PERIOD_US, THERMOMETER_OPEN_ABOVE_OHM, THERMOMETER_SHORT_BELOW_OHM, WAIT_PH_US,
};
use rillmark_firmware::front_end::cell::{at_infinite_frequency, frequencies, next_range};
use rillmark_metrology::front_end::{Budget, Cause, conductance, potential, temperature};
use rillmark_proto::circuit::{chips, network, parts};
use rillmark_proto::reading::{
    CalibrationsUsed, Computed, Flags, ProbeTime, Range, Raw, RawConductance, Reading,
};

use crate::error::BenchError;
use crate::faults::Faults;
use crate::front_end::FrontEnd;
use crate::random::Random;
use crate::truth::Truth;
use crate::water::sensors::Sensors;
use crate::water::{Beaker, Content, Source};

/// From one pH reading with a temperature of its own to the next, in µs: drive and rest.
const TEMPERATURE_TAKES_US: u64 = 1_450_000;
/// From one reading of the cell to the next, in µs, as the firmware takes them: at three frequencies …
const CELL_PERIOD_1K_US: u64 = 1_830_000;
/// … or at one.
const CELL_PERIOD_US: u64 = 965_000;
/// Resistances above this are open, and below that over range, in Ω, as the firmware flags them.
const CELL_LIMITS_OHM: (f64, f64) = (
    rillmark_firmware::constants::CELL_OVER_RANGE_BELOW_OHM,
    rillmark_firmware::constants::CELL_OPEN_ABOVE_OHM,
);
/// The converter's full scale of the electrode, in mV.
const FULL_SCALE_MV: f64 = 1e3 * chips::ADC_ELECTRODE_V;

/// Where the sensors are at a moment, without noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Present {
    /// Potential of a healthy electrode without its wandering, in mV.
    pub potential_mv: f64,
    /// Conductivity of what is in the cell, in µS/cm.
    pub conductivity_us_cm: f64,
    /// The thermometer's own temperature in °C.
    pub thermometer_c: f64,
}

/// A probe that is read without its chips.
#[derive(Debug)]
pub struct QuickProbe {
    front: FrontEnd,
    random: Random,
    now_us: u64,
    running: u32,
    range: Range,
    /// What pH readings hold of the thermometer, and until when.
    held: Option<(Option<u32>, Flags, u64)>,
}

impl QuickProbe {
    /// A probe with these parameters, its sensors in air at 20 °C.
    pub fn new(seed: u64, truth: Truth, faults: Faults) -> Self {
        let beaker = Beaker { content: Content::Air, temperature_c: 20.0 };
        let source = Source::of(&beaker, 0).expect("air has no limits of its own");
        Self {
            front: FrontEnd::new(truth, Sensors::new(source, seed), faults),
            random: Random::new(seed, 5),
            now_us: 0,
            running: 0,
            range: Range::Ohm10k,
            held: None,
        }
    }

    /// Moves the sensors into a beaker.
    ///
    /// # Errors
    /// [`BenchError::OutOfRange`] when the beaker's content has no value at its temperature.
    pub fn place(&mut self, beaker: Beaker) -> Result<(), BenchError> {
        self.held = None;
        self.front.place(beaker, self.now_ns())
    }

    /// Changes the faults.
    pub fn set_faults(&mut self, faults: Faults) {
        self.front.set_faults(faults, self.now_ns());
    }

    /// Starts or stops stirring.
    pub fn stir(&mut self, moving: bool) {
        self.front.sensors.stir(moving, self.now_ns());
    }

    /// Lets time pass without a reading.
    pub fn wait_ms(&mut self, ms: u64) {
        self.now_us += ms * 1_000;
    }

    /// Simulated time in ms.
    pub fn now_ms(&self) -> u64 {
        self.now_us / 1_000
    }

    /// Where the sensors are now, without noise.
    pub fn present(&self) -> Present {
        let FrontEnd { truth, sensors, .. } = &self.front;
        let now = self.now_ns();
        Present {
            potential_mv: sensors.glass_mv(now, truth),
            conductivity_us_cm: sensors.conductivity_us_cm(now, truth),
            thermometer_c: sensors.thermometer_c(now, truth),
        }
    }

    fn now_ns(&self) -> u64 {
        self.now_us * 1_000
    }

    /// The next reading of pH sampling.
    pub fn ph_reading(&mut self) -> Reading {
        let held = match self.held {
            Some((milliohm, flags, until)) if self.now_us < until => (
                milliohm,
                if milliohm.is_some() { flags.with(Flags::TEMPERATURE_HELD) } else { flags },
            ),
            _ => {
                let (milliohm, flags) = self.thermometer();
                self.now_us += TEMPERATURE_TAKES_US;
                self.front.was_driven(self.now_ns() - 1_000 * WAIT_PH_US);
                self.held = Some((milliohm, flags, self.now_us + PH_TEMPERATURE_PERIOD_US));
                (milliohm, flags)
            }
        };
        let (thermometer_milliohm, mut flags) = held;
        let mut potential_nv = None;
        match self.potential_mv() {
            Some(mv) => potential_nv = Some(libm::round(mv * 1e6) as i32),
            None => flags = flags.with(Flags::POTENTIAL_OVER_RANGE),
        }
        self.now_us += PH_PERIOD_US;
        self.reading(Raw { potential_nv, conductance: None, thermometer_milliohm }, flags)
    }

    /// The next reading of conductivity sampling.
    pub fn conductivity_reading(&mut self) -> Reading {
        let (thermometer_milliohm, flags) = self.thermometer();
        let (conductance, cell) = self.cell();
        self.now_us += match self.range {
            Range::Ohm1k => CELL_PERIOD_1K_US,
            Range::Ohm10k | Range::Ohm100k => CELL_PERIOD_US,
        };
        self.reading(
            Raw { potential_nv: None, conductance, thermometer_milliohm },
            flags.with(cell),
        )
    }

    fn reading(&mut self, raw: Raw, flags: Flags) -> Reading {
        self.running += 1;
        Reading {
            running: self.running,
            time: ProbeTime { boot: 1, ms: self.now_ms() },
            raw,
            flags,
            computed: Computed::default(),
            calibrations: CalibrationsUsed::default(),
        }
    }

    /// Mean over the conversions of one reading; `None` when any of them leaves the converter.
    fn potential_mv(&mut self) -> Option<f64> {
        let conversions = PH_AVERAGES * CONVERSIONS_PER_AVERAGE;
        let (from_us, step_us) = (self.now_us, CONVERSION_PERIOD_US);
        let middle = self.now_ns() + u64::from(conversions) * step_us * 500;
        let truth = &self.front.truth;
        let hum_mv = truth.hum_mv;
        let hum = hum_mv * comb(truth, from_us as f64 * 1e-6, conversions, step_us);
        if self.front.no_contact(middle) {
            return None;
        }
        let beside = hum + self.front.earth_loop_mv(middle);
        let mv = self.front.electrode_mv(middle, beside);
        if libm::fabs(mv) + hum_mv > FULL_SCALE_MV {
            return None;
        }
        let noise = of_noise(&potential::budget(&potential::Source::bench(mv)));
        let truth = &self.front.truth;
        let offset = truth.adc_offset_codes * network::ELECTRODE_CODE_V * 1e3;
        Some(mv * (1.0 + truth.adc_gain_error) + offset + noise * self.random.normal())
    }

    fn thermometer(&mut self) -> (Option<u32>, Flags) {
        let reference = parts::THERMOMETER_REFERENCE.value;
        let nominal = reference / self.front.truth.resistors[3];
        let ohm = self.front.thermometer_ohm(self.now_ns()) * nominal;
        if ohm > THERMOMETER_OPEN_ABOVE_OHM {
            return (None, Flags::THERMOMETER_OPEN);
        }
        if ohm < THERMOMETER_SHORT_BELOW_OHM {
            return (None, Flags::THERMOMETER_SHORT);
        }
        // In Ω as in K, for a thermometer of 1 Ω/K.
        let resistor = temperature::Thermometer { ohm, ohm_per_k: 1.0, leads_ohm: 0.0 };
        let noise = of_noise(&temperature::budget(&resistor));
        let ohm = ohm + noise * self.random.normal();
        (Some(libm::round(ohm * 1e3) as u32), Flags::NONE)
    }

    fn cell(&mut self) -> (Option<RawConductance>, Flags) {
        let now = self.now_ns();
        let first = f64::from(frequencies(self.range)[0]);
        self.range = next_range(self.range, self.front.cell_ohm(now, first));
        let range = self.range;
        let mut at = |hz: u32| {
            let ohm = self.front.indicated_ohm(now, range, f64::from(hz));
            let noise = of_noise(&conductance::budget(range.resistor(), ohm));
            ohm * (1.0 + noise * self.random.normal())
        };
        let ohm = match self.range {
            Range::Ohm1k => {
                let [r8, r4, r2] = FREQUENCIES_1K_HZ.map(at);
                at_infinite_frequency(r8, r4, r2)
            }
            range => at(frequencies(range)[0]),
        };
        let flags = match ohm {
            ohm if ohm > CELL_LIMITS_OHM.1 => Flags::CELL_OPEN,
            ohm if ohm < CELL_LIMITS_OHM.0 => Flags::CELL_OVER_RANGE,
            _ => Flags::NONE,
        };
        let conductance_ps = libm::round(1e12 / ohm) as i64;
        (Some(RawConductance { conductance_ps, range: self.range }), flags)
    }
}

/// Standard deviation of one reading by the front end's budget, in its unit.
fn of_noise<const N: usize>(budget: &Budget<N>) -> f64 {
    budget.of(Cause::Noise).map_or(0.0, |noise| noise.calibrated)
}

/// What is left of a hum of amplitude 1 in the mean of so many conversions from a moment on: the sum
/// of equally spaced phases in closed form. One conversion is short against a period of the mains.
fn comb(truth: &Truth, from_s: f64, conversions: u32, step_us: u64) -> f64 {
    let omega = core::f64::consts::TAU * truth.mains_hz;
    let step = omega * step_us as f64 * 1e-6;
    let n = f64::from(conversions);
    let middle = omega * from_s + truth.hum_phase + 0.5 * (n - 1.0) * step;
    libm::sin(0.5 * n * step) / (n * libm::sin(0.5 * step)) * libm::sin(middle)
}

#[cfg(test)]
mod tests;
