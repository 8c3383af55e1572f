//! A thermometer beside its reference: what the reference says is asked when the probe has settled.

use super::super::collect::{Collector, Mean};
use super::super::judgement::Judgement;
use super::super::limits;
use super::super::said::Said;
use super::super::standard::{Planned, Reference, Source};
use super::super::step::Step;
use super::{Awaiting, Routine, State};

impl Routine {
    pub(super) fn await_reference(&mut self, awaiting: Awaiting, mean: &Mean) {
        self.go(State::Reference(awaiting, *mean, self.utc_ms), Said::new());
    }

    pub(super) fn asks_reference(&self, awaiting: &Awaiting, mean: &Mean) -> Step {
        let temperature_c = mean.temperature.get();
        match awaiting {
            Awaiting::Point(standard) => {
                Step::Reference { standard: *standard, temperature_c, as_left: false }
            }
            Awaiting::AsLeft(_) => {
                let standard = self.last_standard();
                Step::Reference { standard, temperature_c, as_left: true }
            }
        }
    }

    /// Takes what the reference says. Told too late, it belongs to another moment than the readings,
    /// which are then taken again.
    pub(super) fn reference(&mut self, celsius: f64) {
        let State::Reference(awaiting, mean, since_ms) = self.state else { return };
        let (min_c, max_c) = Reference::RANGE;
        // NaN fails both comparisons.
        if !(celsius >= min_c && celsius <= max_c) {
            self.said = Said::new();
            self.said.say(Judgement::ReferenceImpossible { reference_c: celsius, min_c, max_c });
            return;
        }
        let (waited_ms, limit_ms) =
            (self.utc_ms.saturating_sub(since_ms), limits::REFERENCE_READ_MS.value);
        if waited_ms > limit_ms {
            let collector = Collector::new(self.plan.quantity);
            let mut said = Said::new();
            let (waited_s, limit_s) = (waited_ms as f64 / 1000.0, limit_ms as f64 / 1000.0);
            said.say(Judgement::ReferenceReadLate { waited_s, limit_s });
            let again = match awaiting {
                Awaiting::Point(standard) => State::Settle(standard, collector),
                Awaiting::AsLeft(result) => State::AsLeft(result, collector),
            };
            self.go(again, said);
            return;
        }
        match awaiting {
            Awaiting::Point(standard) => {
                self.make_point_of(standard, &self.read(standard, celsius), &mean);
            }
            Awaiting::AsLeft(result) => {
                let last = self.read(self.last_standard(), celsius);
                self.check_as_left_in(result, &last, &mean);
            }
        }
    }

    /// A standard of the plan with what its reference says now.
    fn read(&self, standard: usize, celsius: f64) -> Planned {
        let planned = self.plan.standards[standard].clone();
        match planned.source {
            Source::Reference(reference) => {
                Planned { source: Source::Reference(reference.read(celsius)), ..planned }
            }
            _ => planned,
        }
    }
}
