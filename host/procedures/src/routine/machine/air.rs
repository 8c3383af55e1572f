//! The cell in air, before the first standard: what it conducts when nothing is in it.

use super::super::collect::Collector;
use super::super::judgement::Judgement;
use super::super::plan::Plan;
use super::super::said::Said;
use super::{Routine, State};

impl Routine {
    /// Where a plan begins.
    pub(super) const fn first(plan: &Plan) -> State {
        if plan.measures_zero() { State::Air } else { State::Place(0) }
    }

    /// Takes the conductance in air, settled.
    pub(super) fn take_zero(&mut self) {
        if let State::SettleInAir(collector) = &self.state {
            let collector = collector.clone();
            self.take_zero_of(&collector);
        }
    }

    /// Takes the conductance in air as it was collected.
    pub(super) fn take_zero_of(&mut self, collector: &Collector) {
        let Some(zero) = collector.zero() else { return };
        self.zero = Some(zero);
        let mut said = Said::new();
        let (zero_us, u_us) = (zero.value, zero.standard_uncertainty);
        said.say(Judgement::ZeroMeasured { zero_us, u_us });
        self.go(State::Place(0), said);
    }
}
