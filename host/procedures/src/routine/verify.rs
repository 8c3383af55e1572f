//! The guided verification as a state machine: the probe in a check standard, nothing changed.
//!
//! Decided after JCGM 106:2012 ([`rillmark_metrology::decision`]) from the difference found − standard and its
//! expanded uncertainty. A reading that has not come to rest verifies nothing, so it cannot be
//! overridden: the operator waits, takes the standard again, or cancels.

mod outcome;
mod plan;

pub(in crate::routine) use plan::independence;
pub use plan::{MAX_SEEN, VerifyPlan, VerifySituation};

use heapless::Vec;

use self::outcome::Outcome;
use super::collect::{Collected, Collector, Mean};
use super::judgement::{Judgement, Severity};
use super::point;
use super::said::Said;
use super::standard::Planned;
use super::step::{Allowed, Choice, Event, Guided, Step};
use rillmark_proto::reading::Reading;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{MAX_OVERRIDES, Override, Point, Quantity, Reason};

/// What a decision is about.
#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant)] // no allocation: nothing to box into
enum Question {
    /// The plan.
    Plan,
    /// Readings that have not come to rest.
    Unsettled(Collector),
    /// Readings or a standard that cannot be used.
    Unusable,
    /// A reading nowhere near the standard.
    FarOff(Outcome),
}

#[derive(Clone, Debug)]
#[allow(clippy::large_enum_variant)] // no allocation: nothing to box into
enum State {
    Place,
    Settle(Collector),
    /// What has settled waits for the reference, since this host time in ms.
    Reference(Mean, i64),
    Decide(Question),
    Finished(VerificationRecord),
    Refused,
    Cancelled,
}

/// A guided verification.
#[derive(Clone, Debug)]
pub struct Verify {
    plan: VerifyPlan,
    situation: VerifySituation,
    state: State,
    overrides: Vec<Override, MAX_OVERRIDES>,
    said: Said,
    /// Host time as last told, in ms since 1970-01-01 UTC.
    utc_ms: i64,
}

impl Verify {
    /// Begins: judges the plan, then asks for the check standard.
    pub fn new(plan: VerifyPlan, situation: VerifySituation) -> Self {
        let said = plan.judge(&situation);
        let state = match said.heaviest() {
            Some(Severity::Refusal) => State::Refused,
            Some(Severity::Warning) => State::Decide(Question::Plan),
            Some(Severity::Note) | None => State::Place,
        };
        let utc_ms = situation.utc_ms;
        Self { plan, situation, state, overrides: Vec::new(), said, utc_ms }
    }

    fn go(&mut self, state: State, said: Said) {
        (self.state, self.said) = (state, said);
    }

    fn ask(&mut self, question: Question, judgement: Judgement) {
        let mut said = Said::new();
        said.say(judgement);
        self.go(State::Decide(question), said);
    }

    fn allowed(&self, question: &Question) -> Allowed {
        let warned = self.said.heaviest() == Some(Severity::Warning);
        let retry = !matches!(question, Question::Plan);
        match question {
            Question::Plan | Question::FarOff(_) => {
                Allowed { override_: warned, retry, ..Allowed::default() }
            }
            Question::Unsettled(_) => Allowed { wait: true, retry, ..Allowed::default() },
            Question::Unusable => Allowed { retry, ..Allowed::default() },
        }
    }

    fn reading(&mut self, reading: &Reading) {
        let State::Settle(collector) = &mut self.state else { return };
        match collector.reading(reading, &self.situation.in_force) {
            Collected::Waiting => {}
            Collected::Settled(mean) if self.plan.standard.source.is_unread() => {
                self.go(State::Reference(mean, self.utc_ms), Said::new());
            }
            Collected::Settled(mean) => self.judge(&self.plan.standard.clone(), &mean),
            Collected::TooLong => self.ask_unsettled(),
            Collected::Unusable(judgement) => self.ask(Question::Unusable, judgement),
        }
    }

    fn ask_unsettled(&mut self) {
        let State::Settle(collector) = &self.state else { return };
        let mut collector = collector.clone();
        collector.be_patient();
        let said = collector.unsettled();
        self.go(State::Decide(Question::Unsettled(collector)), said);
    }

    /// Takes what the reference says. Told too late, it belongs to another moment than the readings,
    /// which are then taken again.
    fn reference(&mut self, celsius: f64) {
        let State::Reference(mean, since_ms) = self.state else { return };
        let waited_ms = self.utc_ms.saturating_sub(since_ms);
        let Some(judgement) = point::reference_answer(celsius, waited_ms) else {
            self.judge(&self.plan.standard.read(celsius), &mean);
            return;
        };
        let mut said = Said::new();
        said.say(judgement);
        match judgement {
            Judgement::ReferenceReadLate { .. } => {
                self.go(State::Settle(Collector::new(self.plan.quantity)), said);
            }
            _ => self.said = said,
        }
    }

    fn judge(&mut self, standard: &Planned, mean: &Mean) {
        match Outcome::of(standard, mean, &self.plan, &self.situation) {
            Err(refusal) => self.ask(Question::Unusable, refusal),
            Ok(outcome) => match outcome.far_off() {
                Some(warning) => self.ask(Question::FarOff(outcome), warning),
                None => self.finish(outcome),
            },
        }
    }

    fn choice(&mut self, choice: Choice) {
        let question = match &self.state {
            State::Decide(question) => question.clone(),
            State::Reference(..) => {
                if choice == Choice::Retry {
                    self.go(State::Place, Said::new());
                }
                return;
            }
            State::Settle(_) => {
                match choice {
                    Choice::Continue => self.ask_unsettled(),
                    Choice::Retry => self.go(State::Place, Said::new()),
                    _ => {}
                }
                return;
            }
            _ => return,
        };
        let allowed = self.allowed(&question);
        match (choice, question) {
            (Choice::Retry, _) if allowed.retry => self.go(State::Place, Said::new()),
            (Choice::Wait, Question::Unsettled(collector)) => {
                self.go(State::Settle(collector), Said::new());
            }
            (Choice::Override(reason), question) if allowed.override_ => {
                if !self.keep_overrides(&reason) {
                    return;
                }
                match question {
                    Question::FarOff(outcome) => self.finish(outcome),
                    _ => self.go(State::Place, Said::new()),
                }
            }
            _ => {}
        }
    }

    /// Keeps every warning of this step with the reason; false when the record has no room.
    fn keep_overrides(&mut self, reason: &Reason) -> bool {
        let kept: Vec<_, MAX_OVERRIDES> =
            self.said.overridden(reason).take(MAX_OVERRIDES).collect();
        let room = self.said.warnings().count() == kept.len()
            && self.overrides.extend_from_slice(&kept).is_ok();
        if !room {
            self.said.say(Judgement::TooManyOverrides { most: MAX_OVERRIDES as u8 });
        }
        room
    }

    fn finish(&mut self, outcome: Outcome) {
        // Only a plan whose calibration is known comes so far.
        let Some(calibration) = self.situation.calibration else { return };
        let Outcome { point, found, found_uncertainty, limit, verdict, independence } = outcome;
        let record = VerificationRecord {
            board: self.situation.board,
            fitted: self.situation.fitted.clone(),
            utc_ms: self.utc_ms,
            operator: self.plan.operator.clone(),
            calibration,
            point,
            found,
            found_uncertainty,
            limit,
            verdict,
            independence,
            overrides: self.overrides.clone(),
        };
        self.go(State::Finished(record), Said::new());
    }
}

impl Guided for Verify {
    type Record = VerificationRecord;

    fn quantity(&self) -> Quantity {
        self.plan.quantity
    }

    fn standards(&self) -> &[Planned] {
        core::slice::from_ref(&self.plan.standard)
    }

    fn said(&self) -> &[Judgement] {
        self.said.all()
    }

    fn points(&self) -> &[Point] {
        match &self.state {
            State::Finished(record) => core::slice::from_ref(&record.point),
            _ => &[],
        }
    }

    fn step(&self) -> Step<VerificationRecord> {
        match &self.state {
            State::Place => Step::Place { standard: 0 },
            State::Settle(collector) => {
                Step::Settle { standard: 0, progress: collector.progress(), as_left: false }
            }
            State::Reference(mean, _) => Step::Reference {
                standard: 0,
                temperature_c: mean.temperature.get(),
                as_left: false,
            },
            State::Decide(question) => Step::Decide(self.allowed(question)),
            State::Finished(record) => Step::Finished(record.clone()),
            State::Refused => Step::Refused,
            State::Cancelled => Step::Cancelled,
        }
    }

    fn tell_time(&mut self, utc_ms: i64) {
        self.utc_ms = utc_ms;
    }

    fn on(&mut self, event: Event<'_>) -> Step<VerificationRecord> {
        let over = matches!(self.state, State::Finished(_) | State::Refused | State::Cancelled);
        match event {
            _ if over => {}
            Event::Choice(Choice::Cancel) => self.go(State::Cancelled, Said::new()),
            Event::Reading(reading) => self.reading(reading),
            Event::Reference(celsius) => self.reference(celsius),
            Event::Placed => {
                if matches!(self.state, State::Place) {
                    let collector = Collector::new(self.plan.quantity);
                    self.go(State::Settle(collector), Said::new());
                }
            }
            Event::Choice(choice) => self.choice(choice),
        }
        self.step()
    }
}

#[cfg(test)]
mod tests;
