//! Looks at a beaker: collects its readings until they have come to rest, to recognise what it holds.

use super::collect::{Collected, Collector, Mean, Progress};
use super::judgement::Judgement;
use super::recognise::{Known, Recognition, Seen, recognise};
use super::standard::Source;
use core::borrow::Borrow;
use rillmark_proto::reading::{Coefficients, Reading};
use rillmark_proto::record::{Quantity, Signal};
use rillmark_proto::units::{Celsius, Microsiemens, Millivolts};

/// What was seen in a beaker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Mean raw signal.
    pub seen: Seen,
    /// Mean temperature.
    pub temperature: Celsius,
    /// False when it had not come to rest after [`super::limits::PATIENCE_MS`].
    pub settled: bool,
    /// What the signal may still move by: its drift over a minute, in mV or as a fraction of the
    /// conductance; 0 when it has settled.
    pub unsettled: f64,
}

/// Where looking has got to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Looked {
    /// Not there yet.
    Waiting(Progress),
    /// That is what there is.
    Seen(Sight),
    /// Readings cannot be used.
    Unusable(Judgement),
}

/// Looks.
#[derive(Clone, Debug)]
pub struct Look {
    collector: Collector,
    in_force: Coefficients,
}

impl Look {
    /// Begins to look; `in_force` says how the thermometer is read.
    pub fn new(quantity: Quantity, in_force: Coefficients) -> Self {
        Self { collector: Collector::new(quantity), in_force }
    }

    /// Takes a reading.
    pub fn reading(&mut self, reading: &Reading) -> Looked {
        let waiting = |look: &Self| Looked::Waiting(look.collector.progress());
        match self.collector.reading(reading, &self.in_force) {
            Collected::Waiting => waiting(self),
            Collected::Settled(mean) => {
                Sight::of(&mean).map_or_else(|| waiting(self), Looked::Seen)
            }
            Collected::TooLong => {
                let sight = self.collector.mean().as_ref().and_then(Sight::of);
                sight.map_or_else(|| waiting(self), Looked::Seen)
            }
            Collected::Unusable(judgement) => Looked::Unusable(judgement),
        }
    }
}

impl Sight {
    fn of(mean: &Mean) -> Option<Self> {
        let drift_per_min = libm::fabs(f64::from(mean.settling.drift_per_min));
        let (seen, per_min) = match mean.signal {
            Signal::PotentialNv(nv) => {
                (Seen::Potential(Millivolts::new(f64::from(nv) / 1e6)), drift_per_min)
            }
            Signal::Conductance(raw) => {
                let us = Microsiemens::new(raw.conductance_ps as f64 / 1e6);
                (Seen::Conductance(us, raw.range), drift_per_min / 100.0)
            }
            Signal::ThermometerMilliohm(_) => return None,
        };
        let settled = mean.settling.settled;
        let unsettled = if settled { 0.0 } else { per_min };
        Some(Self { seen, temperature: mean.temperature, settled, unsettled })
    }

    /// Compares it with what each standard would give.
    pub fn recognise<S: Borrow<Source>>(
        &self,
        known: &Known,
        standards: impl IntoIterator<Item = S>,
    ) -> Recognition {
        recognise(known, self.seen, self.temperature, self.unsettled, standards)
    }
}

#[cfg(test)]
#[path = "look_tests.rs"]
mod tests;
