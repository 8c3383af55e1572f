//! Decisions of the operator: which there are at a question, and what they lead to.

use super::super::collect::Collector;
use super::super::judgement::{Judgement, Severity};
use super::super::point;
use super::super::said::Said;
use super::super::step::{Allowed, Choice};
use super::{AIR, AS_LEFT, Awaiting, FIRST_STANDARD, Question, Routine, State};
use rillmark_proto::record::{MAX_OVERRIDES, Outcome, Reason};

impl Routine {
    pub(super) fn allowed(&self, question: &Question) -> Allowed {
        let heaviest = self.said.heaviest();
        let refused = heaviest == Some(Severity::Refusal);
        let warned = heaviest == Some(Severity::Warning);
        let open = Allowed { go_on: !refused && !warned, override_: warned, ..Allowed::default() };
        match question {
            Question::Plan => open,
            Question::Air => Allowed { retry: true, ..Allowed::default() },
            Question::Point(_, point) => {
                Allowed { override_: warned && point.is_some(), retry: true, ..Allowed::default() }
            }
            Question::AirUnsettled | Question::Unsettled(_) | Question::AsLeftUnsettled(_) => {
                Allowed { retry: true, wait: true, ..open }
            }
            Question::AsLeft(..) => Allowed { retry: true, ..open },
            Question::Result { result, within_tolerance } => Allowed {
                go_on: open.go_on && result.is_some(),
                override_: open.override_ && result.is_some(),
                retry: true,
                // A refused line says that something is wrong with the points too.
                leave: *within_tolerance && !refused,
                wait: false,
            },
        }
    }

    pub(super) fn choice(&mut self, choice: Choice) {
        let State::Decide(question, collector) = &self.state else {
            let settling =
                matches!(self.state, State::SettleInAir(_) | State::Settle(..) | State::AsLeft(..));
            let awaiting = matches!(self.state, State::Reference(..));
            match choice {
                Choice::Continue if settling => self.ask_unsettled(),
                Choice::Retry if settling || awaiting => self.retry(),
                _ => {}
            }
            return;
        };
        let (question, collector) = (question.clone(), collector.clone());
        let allowed = self.allowed(&question);
        match choice {
            Choice::Continue if allowed.go_on => self.pass(question, collector),
            Choice::Override(reason)
                if allowed.override_ && self.keep_overrides(&question, &reason) =>
            {
                self.pass(question, collector);
            }
            Choice::Retry if allowed.retry => self.retry(),
            Choice::Wait if allowed.wait => self.wait(question, collector),
            Choice::Leave if allowed.leave => self.leave(),
            _ => {}
        }
    }

    /// Lets the readings settle further.
    fn wait(&mut self, question: Question, collector: Option<Collector>) {
        let collector = collector.unwrap_or(Collector::new(self.plan.quantity));
        match question {
            Question::AirUnsettled => self.go(State::SettleInAir(collector), Said::new()),
            Question::Unsettled(standard) => {
                self.go(State::Settle(standard, collector), Said::new());
            }
            Question::AsLeftUnsettled(result) => {
                self.go(State::AsLeft(result, collector), Said::new());
            }
            _ => {}
        }
    }

    /// Keeps every warning of this step with the reason; false when the record has no room.
    fn keep_overrides(&mut self, question: &Question, reason: &Reason) -> bool {
        let room = MAX_OVERRIDES - self.overrides.len();
        if self.said.warnings().count() > room {
            let most = MAX_OVERRIDES as u8;
            self.said.say(Judgement::TooManyOverrides { most });
            return false;
        }
        for kept in self.said.overridden(reason) {
            // There is room: it was counted.
            let _ = self.overrides.push((question.stage(), kept));
        }
        true
    }

    /// Goes on after a decision.
    fn pass(&mut self, question: Question, collector: Option<Collector>) {
        let mean = collector.as_ref().and_then(Collector::mean);
        match question {
            Question::Plan => self.go(Self::first(&self.plan), Said::new()),
            Question::AirUnsettled => {
                if let Some(collector) = &collector {
                    self.take_zero_of(collector);
                }
            }
            Question::Point(standard, Some(point)) => {
                self.take_point(standard, point, Said::new());
            }
            Question::Unsettled(standard) => {
                if let Some(mean) = mean {
                    self.make_point(standard, &mean);
                }
            }
            Question::Result { result: Some(result), .. } => {
                self.begin_as_left(result, Said::new());
            }
            Question::AsLeft(result, as_left) => self.finish(result, Outcome::Adjusted, as_left),
            Question::AsLeftUnsettled(result) => {
                if let Some(mean) = mean {
                    self.check_as_left(result, &mean);
                }
            }
            // Nothing to go on with: such a decision allows neither.
            Question::Air | Question::Point(_, None) | Question::Result { result: None, .. } => {}
        }
    }

    fn retry(&mut self) {
        let (stage, next) = match &self.state {
            State::SettleInAir(_) | State::Decide(Question::Air | Question::AirUnsettled, _) => {
                self.zero = None;
                (AIR, State::Air)
            }
            State::Settle(standard, _)
            | State::Reference(Awaiting::Point(standard), ..)
            | State::Decide(Question::Point(standard, _) | Question::Unsettled(standard), _) => {
                (FIRST_STANDARD + *standard, State::Place(*standard))
            }
            State::AsLeft(result, _)
            | State::Reference(Awaiting::AsLeft(result), ..)
            | State::Decide(Question::AsLeft(result, _) | Question::AsLeftUnsettled(result), _) => {
                (AS_LEFT, self.at_as_left(*result))
            }
            _ => {
                self.points.clear();
                (FIRST_STANDARD, State::Place(0))
            }
        };
        self.overrides.retain(|(of, _)| *of < stage);
        self.go(next, Said::new());
    }

    /// Keeps the coefficients in force, bit for bit.
    fn leave(&mut self) {
        if let Some(result) = point::in_force(&self.plan, &self.situation) {
            self.finish(result, Outcome::LeftUnadjusted, None);
        }
    }
}
