//! The work half: carries out commands between samples, and makes readings of samples.

use core::convert::Infallible;

use embassy_futures::select::select;
use embedded_hal::digital::OutputPin;
use embedded_hal_async::delay::DelayNs;
use embedded_hal_async::i2c::I2c;
use embedded_storage_async::nor_flash::NorFlash;
use rillmark_proto::reading::{CalibrationsUsed, Flags, ProbeTime, Reading, evaluate};
use rillmark_proto::wire::message::{Answer, Command, Done, Order, Refusal};

use super::exchange::{Exchange, Request};
use crate::clock_chip::{ClockChip, ClockError};
use crate::constants::{ALIVE_US, STORE_STEP_US};
use crate::parts::{Condition, Excitation, Uptime};
use crate::sampler::{Sample, Sampler};
use crate::store::Store;

/// Sampler, store and what was done last.
pub(super) struct Work<I, P, X, U, D, S: NorFlash> {
    sampler: Sampler<I, P, X, U, D>,
    store: Store<S>,
    /// Number of the next reading.
    running: u32,
    /// The last command and its answer.
    last: Option<(Command, Answer)>,
}

impl<I, P, X, U, D, S> Work<I, P, X, U, D, S>
where
    I: I2c,
    P: OutputPin<Error = Infallible>,
    X: Excitation,
    U: Uptime,
    D: DelayNs,
    S: NorFlash,
{
    pub(super) fn new(sampler: Sampler<I, P, X, U, D>, store: Store<S>) -> Self {
        Self { sampler, store, running: 0, last: None }
    }

    /// Works for ever. A sample is never broken off, a command never overtaken.
    pub(super) async fn go_on(&mut self, exchange: &Exchange) -> Infallible {
        loop {
            self.tell_condition();
            if let Some(request) = exchange.take_request().await {
                let answer = self.answer(request).await;
                exchange.put_answer(answer).await;
                continue;
            }
            let now = self.sampler.front_end().now_us();
            let due = self.sampler.due_us();
            if due.is_none_or(|due| due >= now + STORE_STEP_US) && !self.store.is_ready() {
                self.store.make_ready().await;
                continue;
            }
            match due {
                None => {
                    let later = now + ALIVE_US;
                    select(exchange.has_request(), self.sampler.front_end().until(later)).await;
                }
                Some(due) if due > now => {
                    select(exchange.has_request(), self.sampler.front_end().until(due)).await;
                }
                Some(_) => {
                    let sample = self.sampler.sample().await;
                    let reading = self.reading(sample).await;
                    exchange.put_reading(reading).await;
                }
            }
        }
    }

    fn tell_condition(&mut self) {
        let condition = Condition {
            is_sampling: self.sampler.due_us().is_some(),
            has_store_fault: self.store.has_fault(),
            is_converting: false,
        };
        self.sampler.front_end().set_condition(condition);
        self.sampler.front_end().alive();
    }

    /// Makes a reading of the sample that has just been taken.
    async fn reading(&mut self, sample: Sample) -> Reading {
        let time =
            ProbeTime { boot: self.store.boot(), ms: self.sampler.front_end().now_us() / 1_000 };
        let mut flags = sample.flags;
        if ClockChip(self.sampler.front_end().bus()).lost().await != Ok(false) {
            flags = flags.with(Flags::CLOCK_LOST);
        }
        if self.store.has_fault() {
            flags = flags.with(Flags::STORE_FAULT);
        }
        // What is normal for a thermistor is an open circuit for platinum.
        if let Some(resistance) = sample.raw.resistance() {
            flags = flags.with(self.store.coefficients().thermometer_flags(resistance));
        }
        let used = self.store.used();
        let running = self.running;
        self.running = running.wrapping_add(1);
        Reading {
            running,
            time,
            raw: sample.raw,
            flags,
            computed: evaluate(&sample.raw, self.store.coefficients()),
            calibrations: CalibrationsUsed {
                ph: used.ph.filter(|_| sample.raw.potential_nv.is_some()),
                conductivity: used.conductivity.filter(|_| sample.raw.conductance.is_some()),
                temperature: used.temperature.filter(|_| sample.raw.thermometer_milliohm.is_some()),
            },
        }
    }

    /// Answers a request; the last command again is only answered again.
    async fn answer(&mut self, request: Request) -> Answer {
        let command = match request {
            Request::Unknown { id } => {
                return Answer { id, outcome: Err(Refusal::UnknownOrder) };
            }
            Request::Command(command) => command,
        };
        match &self.last {
            Some((last, answer)) if *last == command => return answer.clone(),
            _ => {}
        }
        let outcome = self.carry_out(&command.order).await;
        let answer = Answer { id: command.id, outcome };
        self.last = Some((command, answer.clone()));
        answer
    }

    async fn carry_out(&mut self, order: &Order) -> Result<Done, Refusal> {
        match order {
            Order::Sample(sampling) => {
                self.sampler.set(*sampling);
                Ok(Done::Plain)
            }
            Order::Equip(equipment) => {
                self.store.equip(equipment.clone()).await.map(|()| Done::Plain)
            }
            Order::TellEquipment => self.store.equipment().map(Done::Equipment),
            Order::Keep(bytes) => self.store.keep(bytes).await.map(Done::Kept),
            Order::KeepEarlier(bytes) => self.store.keep_earlier(bytes).await.map(Done::Kept),
            Order::ListRecords => self.store.listed().map(Done::Records),
            Order::TellRecord(id) => self.store.record(*id).await.map(Done::Record),
            Order::TellStore { offset } => self.store.piece(*offset).await.map(Done::Store),
            Order::SetClock { utc_ms } => {
                let set = ClockChip(self.sampler.front_end().bus()).set(*utc_ms).await;
                set.map(|()| Done::Plain).map_err(refusal)
            }
            Order::TellClock => {
                let told = ClockChip(self.sampler.front_end().bus()).utc_ms().await;
                told.map(Done::Clock).map_err(refusal)
            }
        }
    }
}

const fn refusal(error: ClockError) -> Refusal {
    match error {
        ClockError::Silent => Refusal::ClockSilent,
        ClockError::Range => Refusal::ClockRange,
    }
}
