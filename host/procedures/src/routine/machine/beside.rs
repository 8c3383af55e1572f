//! A thermometer beside its reference: what the reference says is asked when the probe has settled.

use super::super::collect::{Collector, Mean};
use super::super::judgement::Judgement;
use super::super::point;
use super::super::said::Said;
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
                let standard = self.check_standard();
                Step::Reference { standard, temperature_c, as_left: true }
            }
        }
    }

    /// Takes what the reference says. Told too late, it belongs to another moment than the readings,
    /// which are then taken again.
    pub(super) fn reference(&mut self, celsius: f64) {
        let State::Reference(awaiting, mean, since_ms) = self.state else { return };
        let waited_ms = self.utc_ms.saturating_sub(since_ms);
        let against = point::reference_answer(celsius, waited_ms);
        if let Some(judgement) = against {
            let mut said = Said::new();
            said.say(judgement);
            if !matches!(judgement, Judgement::ReferenceReadLate { .. }) {
                self.said = said;
                return;
            }
            let collector = Collector::new(self.plan.quantity);
            let again = match awaiting {
                Awaiting::Point(standard) => State::Settle(standard, collector),
                Awaiting::AsLeft(result) => State::AsLeft(result, collector),
            };
            self.go(again, said);
            return;
        }
        match awaiting {
            Awaiting::Point(standard) => {
                let planned = self.plan.standards[standard].read(celsius);
                self.make_point_of(standard, &planned, &mean);
            }
            Awaiting::AsLeft(result) => {
                let last = self.plan.standards[self.check_standard()].read(celsius);
                self.check_as_left_in(result, &last, &mean);
            }
        }
    }
}
