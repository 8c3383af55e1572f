//! Collects the readings of one beaker until they have come to rest.

use super::judgement::Judgement;
use super::limits;
use super::said::Said;
use rillmark_metrology::signal::course::Course;
use rillmark_metrology::signal::settle::{
    AIR, CONDUCTANCE, LEAST_READINGS, POTENTIAL, TEMPERATURE, TEMPERATURE_BESIDE_CELL,
    TEMPERATURE_BESIDE_PH, Verdict, Window,
};
use rillmark_proto::calibration::conductivity::Estimate;
use rillmark_proto::calibration::conductivity::Range;
use rillmark_proto::reading::{Coefficients, Flags, RawConductance, Reading};
use rillmark_proto::record::{Quantity, Settling, Signal};
use rillmark_proto::units::{Celsius, Microsiemens, Millivolts};

/// How far a signal is at most while its thermometer has not settled.
const NEARLY: f64 = 0.99;

/// The slowest time constant that is looked for in ms. Own choice: in ten minutes it is the solution that
/// changes.
const SLOWEST_MS: f64 = 600_000.0;

/// What came with a reading in the window.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Kept {
    raw: i64,
    range: Option<Range>,
    temperature_c: f64,
}

/// How far the readings of a beaker are.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Progress {
    /// What the window says: drift and scatter in mV for a potential, in percent for a conductance, in K for
    /// a thermometer.
    pub verdict: Verdict,
    /// What the window of the temperatures says, in K.
    pub temperature: Verdict,
    /// The last temperature in °C.
    pub temperature_c: Option<f64>,
    /// The last signal: mV, µS, or °C.
    pub signal: Option<f64>,
    /// Probe time since the beaker was placed, in ms.
    pub waited_ms: u64,
}

impl Progress {
    /// True when signal and thermometer have come to rest.
    pub const fn settled(&self) -> bool {
        self.verdict.settled && self.temperature.settled
    }

    /// How far the signal is, 0 to 1; 1 is settled, and no signal is while its thermometer is not.
    pub fn fraction(&self) -> f64 {
        let most = if self.temperature.settled { 1.0 } else { NEARLY };
        libm::fmin(self.verdict.fraction, most)
    }

    /// Milliseconds that the signal still takes, where that can be told, and the thermometer if it
    /// takes longer.
    pub fn remaining_ms(&self) -> Option<u64> {
        let thermometer = self.temperature.remaining_ms.unwrap_or(0);
        self.verdict.remaining_ms.map(|signal| signal.max(thermometer))
    }
}

/// The mean of what settled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Mean {
    pub(super) signal: Signal,
    pub(super) temperature: Celsius,
    pub(super) settling: Settling,
}

/// What a reading led to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Collected {
    /// Not yet.
    Waiting,
    /// Signal and temperature have come to rest.
    Settled(Mean),
    /// It takes too long: the operator has to say what to do.
    TooLong,
    /// Readings cannot be used.
    Unusable(Judgement),
}

/// Collects.
#[derive(Clone, Debug)]
pub(super) struct Collector {
    quantity: Quantity,
    /// The cell is to be empty: its conductance itself is wanted, and no temperature belongs to it.
    in_air: bool,
    window: Window<Kept>,
    /// The same since the beaker was placed.
    course: Course,
    /// Fresh temperatures in °C.
    temperatures: Window<()>,
    began_ms: Option<(u32, u64)>,
    patient_until_ms: u64,
    usable_ms: Option<u64>,
    progress: Progress,
}

impl Collector {
    pub(super) fn new(quantity: Quantity) -> Self {
        let (rule, temperature) = match quantity {
            Quantity::Ph => (POTENTIAL, TEMPERATURE_BESIDE_PH),
            Quantity::Conductivity => (CONDUCTANCE, TEMPERATURE_BESIDE_CELL),
            Quantity::Temperature => (TEMPERATURE, TEMPERATURE),
        };
        Self {
            quantity,
            in_air: false,
            window: Window::new(rule),
            course: Course::default(),
            temperatures: Window::new(temperature),
            began_ms: None,
            patient_until_ms: limits::PATIENCE_MS.value,
            usable_ms: None,
            progress: Progress::default(),
        }
    }

    /// Collects what remains with the cell in air.
    pub(super) fn in_air() -> Self {
        Self { in_air: true, window: Window::new(AIR), ..Self::new(Quantity::Conductivity) }
    }

    /// The conductance in µS that remains in air: the mean, with the scatter of single readings, what may
    /// still be to come (a rectangle) and what the front end resolves. `None` while there is no drift.
    pub(super) fn zero(&self) -> Option<Estimate> {
        let Verdict { scatter, to_come_bound, .. } = self.progress.verdict;
        let Signal::Conductance(mean) = self.mean()?.signal else { return None };
        let to_come = to_come_bound? / libm::sqrt(3.0);
        let spread = libm::hypot(libm::hypot(scatter, to_come), limits::ZERO_RESOLUTION_US.value);
        Some(Estimate { value: mean.conductance_ps as f64 / 1e6, standard_uncertainty: spread })
    }

    pub(super) const fn progress(&self) -> Progress {
        self.progress
    }

    /// Waits as long again before the operator is asked the next time.
    pub(super) fn be_patient(&mut self) {
        self.patient_until_ms = self.progress.waited_ms.saturating_add(limits::PATIENCE_MS.value);
    }

    /// Takes a reading; its temperature is that of the coefficients in force.
    pub(super) fn reading(&mut self, reading: &Reading, in_force: &Coefficients) -> Collected {
        let (boot, ms) = (reading.time.boot, reading.time.ms);
        let began = match self.began_ms {
            Some((began_boot, began)) if began_boot == boot && ms >= began => began,
            // The first reading, or the probe was restarted.
            _ => {
                self.window.clear();
                self.course = Course::default();
                self.temperatures.clear();
                self.progress.verdict = Verdict::default();
                self.progress.temperature = Verdict::default();
                self.usable_ms = Some(ms);
                self.began_ms = Some((boot, ms));
                self.patient_until_ms = limits::PATIENCE_MS.value;
                ms
            }
        };
        self.progress.waited_ms = ms - began;
        let usable = match self.in_air {
            true => self.usable_in_air(reading),
            false => self.usable(reading, in_force),
        };
        match usable {
            Ok((value, kept)) => {
                self.usable_ms = Some(ms);
                // Another range resistor has its own small error: a mean of both is none of either.
                if self.window.entries().last().is_some_and(|last| last.with.range != kept.range) {
                    self.window.clear();
                    self.course = Course::default();
                }
                // On its way behind cold or clogged glass: it tells how fast, and is no part of a mean.
                let is_on_its_way =
                    self.quantity == Quantity::Ph && reading.flags.has(Flags::NOT_SETTLED);
                if !is_on_its_way {
                    self.window.push(boot, ms, value, kept);
                }
                self.course.push(ms, value);
                // A held temperature is an old one.
                if !self.in_air && !reading.flags.has(Flags::TEMPERATURE_HELD) {
                    self.temperatures.push(boot, ms, kept.temperature_c, ());
                }
            }
            Err(judgement) => {
                let since = self.usable_ms.unwrap_or(began);
                return if ms.saturating_sub(since) > limits::UNUSABLE_MS.value {
                    Collected::Unusable(judgement)
                } else {
                    Collected::Waiting
                };
            }
        }
        self.progress.verdict = self.window.verdict();
        self.progress.temperature = self.temperatures.verdict();
        if self.is_settled() {
            return self.mean().map_or(Collected::Waiting, Collected::Settled);
        }
        if self.progress.waited_ms >= self.patient_until_ms {
            return Collected::TooLong;
        }
        Collected::Waiting
    }

    const fn is_settled(&self) -> bool {
        self.progress.settled() || (self.in_air && self.progress.verdict.settled)
    }

    /// A conductance in air as the window wants it.
    fn usable_in_air(&mut self, reading: &Reading) -> Result<(f64, Kept), Judgement> {
        let flags = reading.flags.0 & Flags::ADC_SILENT.0;
        if flags != 0 {
            return Err(Judgement::ReadingFlagged { flags });
        }
        let raw = reading.raw.conductance.ok_or(Judgement::SignalMissing {})?;
        let us = reading.raw.conductance().map_or(0.0, Microsiemens::get);
        self.progress.signal = Some(us);
        let limit_us = limits::ZERO_US.value;
        if libm::fabs(us) > limit_us {
            return Err(Judgement::CellNotDry { conductance_us: us, limit_us });
        }
        // No temperature belongs to it.
        Ok((us, Kept { raw: raw.conductance_ps, range: Some(raw.range), temperature_c: 0.0 }))
    }

    /// The signal as the window wants it, with its raw integer and temperature.
    fn usable(
        &mut self,
        reading: &Reading,
        in_force: &Coefficients,
    ) -> Result<(f64, Kept), Judgement> {
        let thermometer = Flags::THERMOMETER_OPEN.with(Flags::THERMOMETER_SHORT);
        let flags = match (self.quantity, reading.raw.resistance()) {
            // The probe judged it as the kind in force; here another kind may be calibrated.
            (Quantity::Temperature, Some(_)) => reading.flags.without(thermometer),
            _ => reading.flags,
        };
        let blocking = Flags::ADC_SILENT.with(thermometer).with(match self.quantity {
            Quantity::Ph => Flags::POTENTIAL_OVER_RANGE,
            Quantity::Conductivity => {
                Flags::CELL_OPEN.with(Flags::CELL_OVER_RANGE).with(Flags::CELL_CHANGED)
            }
            Quantity::Temperature => Flags::NONE,
        });
        let flags = flags.0 & blocking.0;
        if flags != 0 {
            return Err(Judgement::ReadingFlagged { flags });
        }
        let missing = Judgement::SignalMissing {};
        let temperature_c = reading.raw.temperature(in_force);
        let unlike = || match (self.quantity, reading.raw.resistance()) {
            (Quantity::Temperature, Some(resistance)) => {
                Judgement::ThermometerOfOtherKind { resistance_ohm: resistance.get() }
            }
            _ => Judgement::TemperatureMissing {},
        };
        let temperature_c = temperature_c.ok_or_else(unlike)?.get();
        let mut range = None;
        let (signal, value, raw) = match self.quantity {
            Quantity::Ph => {
                let raw = reading.raw.potential_nv.ok_or(missing)?;
                let mv = reading.raw.potential().map_or(0.0, Millivolts::get);
                (mv, mv, i64::from(raw))
            }
            Quantity::Conductivity => {
                let raw = reading.raw.conductance.ok_or(missing)?;
                range = Some(raw.range);
                let us = reading.raw.conductance().map_or(0.0, Microsiemens::get);
                // 100·ln makes the window's unit percent of the conductance itself.
                let value = if us > 0.0 { 100.0 * libm::log(us) } else { return Err(missing) };
                (us, value, raw.conductance_ps)
            }
            Quantity::Temperature => {
                let raw = reading.raw.thermometer_milliohm.ok_or(missing)?;
                (temperature_c, temperature_c, i64::from(raw))
            }
        };
        (self.progress.signal, self.progress.temperature_c) = (Some(signal), Some(temperature_c));
        Ok((value, Kept { raw, range, temperature_c }))
    }

    /// What stands against accepting the readings as they are; empty when they have settled. With
    /// too few readings for a drift nobody can decide about them.
    pub(super) fn unsettled(&self) -> Said {
        let Progress { verdict, temperature, waited_ms, .. } = self.progress;
        let waited_s = waited_ms as f64 / 1000.0;
        let mut said = Said::new();
        let readings = self.window.entries().len();
        if verdict.half_width_per_min.is_none() {
            let (readings, least) = (readings as u8, LEAST_READINGS as u8);
            said.say(Judgement::TooFewReadings { readings, least });
            return said;
        }
        if self.in_air {
            if let Some(to_come_us) = verdict.to_come_bound.filter(|_| !verdict.settled) {
                let limit_us = self.window.rule().to_come;
                let (scatter_us, drift_us_per_min) = (verdict.scatter, verdict.drift_per_min);
                let zero = Judgement::ZeroNotSettled {
                    drift_us_per_min,
                    to_come_us,
                    limit_us,
                    scatter_us,
                    waited_s,
                };
                said.say(zero);
            }
            return said;
        }
        // A thermometer that is calibrated is told below as what it is.
        let told = verdict.to_come_bound.filter(|_| !verdict.settled);
        if let Some(to_come) = told.filter(|_| self.quantity != Quantity::Temperature) {
            let limit = self.window.rule().to_come;
            said.say(match self.quantity {
                Quantity::Ph | Quantity::Temperature => Judgement::PotentialNotSettled {
                    drift_mv_per_min: verdict.drift_per_min,
                    to_come_mv: to_come,
                    limit_mv: limit,
                    scatter_mv: verdict.scatter,
                    waited_s,
                },
                Quantity::Conductivity => Judgement::ConductanceNotSettled {
                    drift_percent_per_min: verdict.drift_per_min,
                    to_come_percent: to_come,
                    limit_percent: limit,
                    scatter_percent: verdict.scatter,
                    waited_s,
                },
            });
        }
        if !temperature.settled {
            let rule = self.temperatures.rule();
            said.say(match temperature.to_come_bound {
                Some(to_come_k) if self.temperatures.entries().len() >= rule.readings => {
                    Judgement::TemperatureNotSettled {
                        drift_k_per_min: temperature.drift_per_min,
                        to_come_k,
                        limit_k: rule.to_come,
                    }
                }
                _ => Judgement::TooFewTemperatures {
                    temperatures: self.temperatures.entries().len() as u8,
                    least: rule.readings as u8,
                },
            });
        }
        said
    }

    /// The mean of the window; `None` while it is empty. The raw mean is rounded to the nearest
    /// integer, halves away from zero.
    pub(super) fn mean(&self) -> Option<Mean> {
        let count = self.window.entries().len();
        if count == 0 {
            return None;
        }
        let sum: i128 = self.window.entries().map(|entry| i128::from(entry.with.raw)).sum();
        let raw = libm::round(sum as f64 / count as f64);
        let celsius: f64 = self.window.entries().map(|entry| entry.with.temperature_c).sum();
        let signal = match self.quantity {
            Quantity::Ph => Signal::PotentialNv(raw as i32),
            Quantity::Conductivity => Signal::Conductance(RawConductance {
                conductance_ps: raw as i64,
                range: self.window.entries().last()?.with.range?,
            }),
            Quantity::Temperature => Signal::ThermometerMilliohm(raw as u32),
        };
        let Progress { verdict, waited_ms, .. } = self.progress;
        let time_constant_s = self.course.time_constant_s(SLOWEST_MS, self.window.rule().noise);
        Some(Mean {
            signal,
            temperature: Celsius::new(celsius / count as f64),
            settling: Settling {
                settled: self.is_settled(),
                drift_per_min: verdict.drift_per_min as f32,
                scatter: verdict.scatter as f32,
                waited_ms: u32::try_from(waited_ms).unwrap_or(u32::MAX),
                time_constant_s: time_constant_s.map(|seconds| seconds as f32),
            },
        })
    }
}
