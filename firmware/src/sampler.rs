//! When to measure what: the samplings as sequences over the front end.
//!
//! - **pH**: a reading every 250 ms, power on throughout. A temperature first and then every 10 s,
//!   held in the readings between; it costs a rest of 1 s, so readings pause for 1.5 s. Readings before the
//!   electrode has come to rest are flagged.
//! - **Conductivity**: temperature, then the cell, again and again.
//! - **Full**: pH, once the electrode has come to rest or cannot be waited for, temperature, cell. With
//!   enough time between two readings the power goes off.
//!
//! A silent converter spends no time, so every sampling has a shortest period.

use core::convert::Infallible;

use embedded_hal::digital::OutputPin;
use embedded_hal_async::delay::DelayNs;
use embedded_hal_async::i2c::I2c;
use rillmark_proto::reading::{Flags, Raw};
use rillmark_proto::wire::message::Sampling;

use crate::adc::AdcError;
use crate::constants::{
    FULL_PH_AVERAGES, LEAST_PERIOD_US, LEAST_POWER_OFF_US, PH_AVERAGES, PH_PERIOD_US,
    PH_TEMPERATURE_PERIOD_US, QUIET_US, WAIT_POWER_US,
};
use crate::front_end::thermometer::Thermometer;
use crate::front_end::{FrontEnd, Patience, Potential};
use crate::parts::{Excitation, Uptime};

/// The raw integers of one reading, and what stood in the way.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Sample {
    /// The raw integers.
    pub raw: Raw,
    /// What stood in the way.
    pub flags: Flags,
}

impl Sample {
    fn flag(&mut self, flags: Flags) {
        self.flags = self.flags.with(flags);
    }

    fn potential(&mut self, found: Result<Potential, AdcError>) {
        match found {
            Ok(Potential { nv: Some(nv), has_settled }) => {
                self.raw.potential_nv = Some(nv);
                if !has_settled {
                    self.flag(Flags::NOT_SETTLED);
                }
            }
            Ok(Potential { nv: None, .. }) => self.flag(Flags::POTENTIAL_OVER_RANGE),
            Err(error) => self.silent(error),
        }
    }

    fn thermometer(&mut self, found: Result<Thermometer, AdcError>) {
        match found {
            Ok(Thermometer::Milliohm(milliohm)) => self.raw.thermometer_milliohm = Some(milliohm),
            Ok(Thermometer::Open) => self.flag(Flags::THERMOMETER_OPEN),
            Ok(Thermometer::Short) => self.flag(Flags::THERMOMETER_SHORT),
            Err(error) => self.silent(error),
        }
    }

    fn silent(&mut self, _error: AdcError) {
        #[cfg(feature = "defmt")]
        match _error {
            AdcError::Silent => defmt::warn!("converter silent"),
            AdcError::Late => defmt::warn!("conversion late"),
            AdcError::Unready { config } => defmt::warn!("converter unready: {:#06x}", config),
        }
        self.flag(Flags::ADC_SILENT);
    }

    fn is_silent(&self) -> bool {
        self.flags.has(Flags::ADC_SILENT)
    }
}

/// The temperature that pH-only sampling holds: a part of a sample.
#[derive(Clone, Copy, Debug)]
struct Held {
    sample: Sample,
    until_us: u64,
}

/// The front end with what is to be sampled and when.
#[derive(Debug)]
pub struct Sampler<I, P, X, U, D> {
    front_end: FrontEnd<I, P, X, U, D>,
    sampling: Sampling,
    due_us: u64,
    held: Option<Held>,
}

impl<I, P, X, U, D> Sampler<I, P, X, U, D>
where
    I: I2c,
    P: OutputPin<Error = Infallible>,
    X: Excitation,
    U: Uptime,
    D: DelayNs,
{
    /// Takes over the front end; samples nothing yet.
    pub fn new(front_end: FrontEnd<I, P, X, U, D>) -> Self {
        Self { front_end, sampling: Sampling::Off, due_us: 0, held: None }
    }

    /// The front end, between two samples.
    pub fn front_end(&mut self) -> &mut FrontEnd<I, P, X, U, D> {
        &mut self.front_end
    }

    /// Starts, changes or stops sampling. What was held is forgotten; the next sample is due as soon
    /// as the power has been on for long enough.
    pub fn set(&mut self, sampling: Sampling) {
        self.sampling = sampling;
        self.held = None;
        if sampling == Sampling::Off {
            self.front_end.power_off();
        } else {
            self.front_end.power_on();
        }
        self.due_us = self.front_end.settled_us().max(self.front_end.now_us());
    }

    /// When [`Self::sample`] is to be called next, in µs since the start; `None` when nothing is
    /// sampled. That is early enough to have the power on and the board quiet when the sample is due.
    pub fn due_us(&self) -> Option<u64> {
        let lead = if self.front_end.is_powered() { QUIET_US } else { WAIT_POWER_US };
        (self.sampling != Sampling::Off).then_some(self.due_us.saturating_sub(lead))
    }

    /// Takes one sample; of nothing when nothing is sampled.
    pub async fn sample(&mut self) -> Sample {
        if self.sampling != Sampling::Off {
            self.front_end.due(self.due_us).await;
        }
        let (sample, period_us) = match self.sampling {
            Sampling::Off => (Sample::default(), LEAST_PERIOD_US),
            Sampling::Ph => (self.ph().await, PH_PERIOD_US),
            Sampling::Conductivity => (self.conductivity().await, LEAST_PERIOD_US),
            Sampling::Full { interval_ms } => {
                (self.full().await, (u64::from(interval_ms) * 1_000).max(LEAST_PERIOD_US))
            }
        };
        let end = self.front_end.now_us();
        // On the grid of due times for as long as that can be kept, so that nothing drifts.
        self.due_us = (self.due_us + period_us).max(end);
        if let Sampling::Full { .. } = self.sampling
            && self.due_us - end >= LEAST_POWER_OFF_US
        {
            self.front_end.power_off();
        }
        sample
    }

    async fn ph(&mut self) -> Sample {
        let now = self.front_end.now_us();
        let (held, is_new) = match self.held {
            Some(held) if now < held.until_us => (held.sample, false),
            _ => {
                let mut sample = Sample::default();
                sample.thermometer(self.front_end.thermometer().await);
                let until_us = self.front_end.now_us() + PH_TEMPERATURE_PERIOD_US;
                // A silent converter is asked again at once, not in ten seconds.
                self.held = (!sample.is_silent()).then_some(Held { sample, until_us });
                (sample, true)
            }
        };
        let mut sample = held;
        if !is_new && sample.raw.thermometer_milliohm.is_some() {
            sample.flag(Flags::TEMPERATURE_HELD);
        }
        if !sample.is_silent() {
            sample.potential(self.front_end.potential(PH_AVERAGES as usize, Patience::Take).await);
        }
        sample
    }

    async fn conductivity(&mut self) -> Sample {
        let mut sample = Sample::default();
        sample.thermometer(self.front_end.thermometer().await);
        if !sample.is_silent() {
            self.cell(&mut sample).await;
        }
        sample
    }

    async fn full(&mut self) -> Sample {
        let mut sample = Sample::default();
        sample
            .potential(self.front_end.potential(FULL_PH_AVERAGES as usize, Patience::Await).await);
        if !sample.is_silent() {
            sample.thermometer(self.front_end.thermometer().await);
        }
        if !sample.is_silent() {
            self.cell(&mut sample).await;
        }
        sample
    }

    async fn cell(&mut self, sample: &mut Sample) {
        match self.front_end.cell().await {
            Ok(cell) => {
                sample.raw.conductance = cell.conductance;
                sample.flag(cell.flags);
            }
            Err(error) => sample.silent(error),
        }
    }
}

#[cfg(test)]
#[path = "sampler_tests.rs"]
mod tests;
