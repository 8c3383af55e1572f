//! The guided calibration as a state machine: events in, steps out.
//!
//! The calibration in force is read in every standard before anything changes (as-found). A warning
//! stops until the operator overrides it with a reason, which the record keeps; a refusal cannot be
//! overridden. Only [`Step::Finished`] has a record, so a refused or cancelled attempt leaves
//! nothing to store.

mod air;
mod beside;
mod decide;

use heapless::Vec;

use super::collect::{Collected, Collector, Mean};
use super::conclude::{self, clear, conclude, judge_as_left};
use super::drift::{self, Made};
use super::judgement::{Judgement, Severity};
use super::plan::{Plan, Situation};
use super::point;
use super::said::Said;
use super::standard::Planned;
use super::step::{Choice, Event, Guided, Step};
use super::verify::independence;
use rillmark_proto::calibration::conductivity::Estimate;
use rillmark_proto::reading::{Coefficients, Reading};
use rillmark_proto::record::verification::Independence;
use rillmark_proto::record::{
    AsLeft, CalibrationRecord, CalibrationResult, MAX_OVERRIDES, MAX_POINTS, Outcome, Override,
    Point, Quantity,
};

const MS_PER_DAY: i64 = 86_400_000;

/// What a decision is about.
#[derive(Clone, Debug, PartialEq)]
enum Question {
    /// The plan.
    Plan,
    /// The conductance in air.
    Air,
    /// Conductances in air that have not come to rest.
    AirUnsettled,
    /// A point that was made, or could not be.
    Point(usize, Option<Point>),
    /// Readings that have not come to rest.
    Unsettled(usize),
    /// The coefficients.
    Result { result: Option<CalibrationResult>, within_tolerance: bool },
    /// The check after the new coefficients were found.
    AsLeft(CalibrationResult, Option<AsLeft>),
    /// The check has not come to rest.
    AsLeftUnsettled(CalibrationResult),
}

// Stages of a routine, in order; what is taken again is forgotten from its stage on.
const PLAN: usize = 0;
const AIR: usize = 1;
const FIRST_STANDARD: usize = 2;
const RESULT: usize = FIRST_STANDARD + MAX_POINTS;
const AS_LEFT: usize = RESULT + 1;

impl Question {
    /// The stage that the decision belongs to.
    const fn stage(&self) -> usize {
        match self {
            Self::Plan => PLAN,
            Self::Air | Self::AirUnsettled => AIR,
            Self::Point(standard, _) | Self::Unsettled(standard) => FIRST_STANDARD + *standard,
            Self::Result { .. } => RESULT,
            Self::AsLeft(..) | Self::AsLeftUnsettled(_) => AS_LEFT,
        }
    }
}

#[derive(Clone, Debug)]
enum State {
    Air,
    SettleInAir(Collector),
    Place(usize),
    Settle(usize, Collector),
    /// The check has a standard of its own.
    PlaceAsLeft(CalibrationResult),
    AsLeft(CalibrationResult, Collector),
    /// What has settled waits for the reference, since this host time in ms.
    Reference(Awaiting, Mean, i64),
    Decide(Question, Option<Collector>),
    Finished(CalibrationRecord),
    Refused,
    Cancelled,
}

/// What the reference is read for.
#[derive(Clone, Copy, Debug)]
enum Awaiting {
    Point(usize),
    AsLeft(CalibrationResult),
}

/// A guided calibration.
#[derive(Clone, Debug)]
pub struct Routine {
    plan: Plan,
    situation: Situation,
    /// What temperatures are read with.
    reads_with: Coefficients,
    /// Conductance in air in µS, when it was measured.
    zero: Option<Estimate>,
    state: State,
    points: Vec<Point, MAX_POINTS>,
    /// Each with the stage it belongs to: taking that stage again forgets it.
    overrides: Vec<(usize, Override), MAX_OVERRIDES>,
    said: Said,
    /// Host time as last told, in ms since 1970-01-01 UTC.
    utc_ms: i64,
}

impl Routine {
    /// Begins: judges the plan, then asks for the first standard.
    pub fn new(plan: Plan, situation: Situation) -> Self {
        let said = plan.judge(&situation);
        let state = match said.heaviest() {
            Some(Severity::Refusal) => State::Refused,
            Some(Severity::Warning) => State::Decide(Question::Plan, None),
            Some(Severity::Note) | None => Self::first(&plan),
        };
        let (utc_ms, reads_with) = (situation.utc_ms, plan.reads_with(&situation.in_force));
        let (points, overrides) = (Vec::new(), Vec::new());
        Self { plan, situation, reads_with, zero: None, state, points, overrides, said, utc_ms }
    }

    /// The plan.
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }

    /// What was said when this step began.
    pub fn said(&self) -> &[Judgement] {
        self.said.all()
    }

    /// The points taken so far.
    pub fn points(&self) -> &[Point] {
        &self.points
    }

    /// What is to be done now.
    pub fn step(&self) -> Step {
        match &self.state {
            State::Air => Step::Air,
            State::SettleInAir(collector) => Step::SettleInAir { progress: collector.progress() },
            State::Place(standard) => Step::Place { standard: *standard },
            State::Settle(standard, collector) => {
                Step::Settle { standard: *standard, progress: collector.progress(), as_left: false }
            }
            State::PlaceAsLeft(_) => Step::Place { standard: self.check_standard() },
            State::AsLeft(_, collector) => Step::Settle {
                standard: self.check_standard(),
                progress: collector.progress(),
                as_left: true,
            },
            State::Reference(awaiting, mean, _) => self.asks_reference(awaiting, mean),
            State::Decide(question, _) => Step::Decide(self.allowed(question)),
            State::Finished(record) => Step::Finished(record.clone()),
            State::Refused => Step::Refused,
            State::Cancelled => Step::Cancelled,
        }
    }

    /// Takes note of the host's time, in ms since 1970-01-01 UTC: the record carries the last one
    /// told before it was finished.
    pub const fn tell_time(&mut self, utc_ms: i64) {
        self.utc_ms = utc_ms;
    }

    /// Takes an event and says what is to be done next. An event that does not belong to the step
    /// changes nothing.
    pub fn on(&mut self, event: Event<'_>) -> Step {
        let over = matches!(self.state, State::Finished(_) | State::Refused | State::Cancelled);
        match event {
            _ if over => {}
            Event::Choice(Choice::Cancel) => self.go(State::Cancelled, Said::new()),
            Event::Reading(reading) => self.reading(reading),
            Event::Placed => match self.state {
                State::Place(standard) => {
                    let collector = Collector::new(self.plan.quantity);
                    self.go(State::Settle(standard, collector), Said::new());
                }
                State::PlaceAsLeft(result) => {
                    let collector = Collector::new(self.plan.quantity);
                    self.go(State::AsLeft(result, collector), Said::new());
                }
                State::Air => self.go(State::SettleInAir(Collector::in_air()), Said::new()),
                _ => {}
            },
            Event::Reference(celsius) => self.reference(celsius),
            Event::Choice(choice) => self.choice(choice),
        }
        self.step()
    }

    fn go(&mut self, state: State, said: Said) {
        (self.state, self.said) = (state, said);
    }

    /// The last standard that is calibrated in.
    fn last_standard(&self) -> usize {
        self.plan.calibrated_in().len().saturating_sub(1)
    }

    /// The standard of the closing check.
    fn check_standard(&self) -> usize {
        self.plan.standards.len().saturating_sub(1)
    }

    fn reading(&mut self, reading: &Reading) {
        match &mut self.state {
            State::SettleInAir(collector) => match collector.reading(reading, &self.reads_with) {
                Collected::Waiting => {}
                Collected::Settled(_) => self.take_zero(),
                Collected::TooLong => self.ask_unsettled(),
                Collected::Unusable(judgement) => self.ask(Question::Air, judgement),
            },
            State::Settle(standard, collector) => {
                let (standard, collected) =
                    (*standard, collector.reading(reading, &self.reads_with));
                match collected {
                    Collected::Waiting => {}
                    Collected::Settled(mean) => self.make_point(standard, &mean),
                    Collected::TooLong => self.ask_unsettled(),
                    Collected::Unusable(judgement) => {
                        self.ask(Question::Point(standard, None), judgement);
                    }
                }
            }
            State::AsLeft(result, collector) => {
                let (result, collected) = (*result, collector.reading(reading, &self.reads_with));
                match collected {
                    Collected::Waiting => {}
                    Collected::Settled(mean) => self.check_as_left(result, &mean),
                    Collected::TooLong => self.ask_unsettled(),
                    Collected::Unusable(judgement) => {
                        self.ask(Question::AsLeft(result, None), judgement);
                    }
                }
            }
            State::Air
            | State::Place(_)
            | State::PlaceAsLeft(_)
            | State::Reference(..)
            | State::Decide(..)
            | State::Finished(_)
            | State::Refused
            | State::Cancelled => {}
        }
    }

    fn ask(&mut self, question: Question, judgement: Judgement) {
        let mut said = Said::new();
        said.say(judgement);
        self.go(State::Decide(question, None), said);
    }

    /// Takes the readings as they are, if the operator gives a reason.
    fn ask_unsettled(&mut self) {
        let (question, collector) = match &self.state {
            State::SettleInAir(collector) => (Question::AirUnsettled, collector),
            State::Settle(standard, collector) => (Question::Unsettled(*standard), collector),
            State::AsLeft(result, collector) => (Question::AsLeftUnsettled(*result), collector),
            _ => return,
        };
        let mut collector = collector.clone();
        collector.be_patient();
        let said = collector.unsettled();
        self.go(State::Decide(question, Some(collector)), said);
    }

    fn make_point(&mut self, standard: usize, mean: &Mean) {
        let planned = self.plan.standards[standard].clone();
        if planned.source.is_unread() {
            self.await_reference(Awaiting::Point(standard), mean);
        } else {
            self.make_point_of(standard, &planned, mean);
        }
    }

    fn make_point_of(&mut self, standard: usize, planned: &Planned, mean: &Mean) {
        let number = standard as u8 + 1;
        match point::make(number, planned, mean, &self.plan, &self.situation) {
            Err(refusal) => self.ask(Question::Point(standard, None), refusal),
            Ok((point, mut said)) => {
                let first = self.points.first().filter(|_| self.plan.at_one_temperature());
                said.say_all(first.and_then(|first| {
                    point::beside(number, first.temperature_c, point.temperature_c)
                }));
                if clear(&said) {
                    self.take_point(standard, point, said);
                    return;
                }
                let kept = (said.heaviest() != Some(Severity::Refusal)).then_some(point);
                self.go(State::Decide(Question::Point(standard, kept), None), said);
            }
        }
    }

    fn take_point(&mut self, standard: usize, point: Point, said: Said) {
        // The plan has no more standards than a record has points.
        let _ = self.points.push(point);
        if standard < self.last_standard() {
            self.go(State::Place(standard + 1), said);
            return;
        }
        let conclude::Conclusion { result, within_tolerance, said: concluded } =
            conclude(&self.points, &self.plan, &self.situation, self.zero);
        let mut said = said;
        said.say_all(concluded.all().iter().copied());
        match result {
            Some(result) if clear(&said) && !within_tolerance => self.begin_as_left(result, said),
            _ => {
                let question = Question::Result { result, within_tolerance };
                self.go(State::Decide(question, None), said);
            }
        }
    }

    fn begin_as_left(&mut self, result: CalibrationResult, said: Said) {
        self.go(self.at_as_left(result), said);
    }

    /// Where the closing check begins: in the beaker that the probe stands in, or in one of its own.
    fn at_as_left(&self, result: CalibrationResult) -> State {
        match self.plan.checks_apart {
            true => State::PlaceAsLeft(result),
            false => State::AsLeft(result, Collector::new(self.plan.quantity)),
        }
    }

    fn check_as_left(&mut self, result: CalibrationResult, mean: &Mean) {
        let planned = self.plan.standards[self.check_standard()].clone();
        if planned.source.is_unread() {
            self.await_reference(Awaiting::AsLeft(result), mean);
        } else {
            self.check_as_left_in(result, &planned, mean);
        }
    }

    fn check_as_left_in(&mut self, result: CalibrationResult, planned: &Planned, mean: &Mean) {
        let number = self.check_standard() as u8 + 1;
        let independence = match self.plan.checks_apart {
            true => independence(planned, &self.points, true),
            false => Independence::SameLot,
        };
        let utc_ms = self.situation.utc_ms;
        let as_left = point::value(number, planned, mean, utc_ms).and_then(|value| {
            let found = point::found(&result, mean).ok_or(Judgement::SignalMissing {})?;
            let as_left = AsLeft {
                standard: planned.name.clone(),
                lot: planned.lot.clone(),
                independence,
                expected: value.value,
                found,
            };
            // An error of the calibration's own standard is in the coefficients too.
            let own = value.standard_uncertainty.filter(|_| self.plan.checks_apart);
            Ok((as_left, own.unwrap_or(0.0)))
        });
        match as_left {
            Ok((as_left, u)) => match judge_as_left(self.plan.quantity, &as_left, u) {
                None => self.finish(result, Outcome::Adjusted, Some(as_left)),
                Some(judgement) => self.ask(Question::AsLeft(result, Some(as_left)), judgement),
            },
            Err(refusal) => self.ask(Question::AsLeft(result, None), refusal),
        }
    }

    fn finish(&mut self, result: CalibrationResult, outcome: Outcome, as_left: Option<AsLeft>) {
        let utc_ms = self.utc_ms;
        let made = Made {
            points: &self.points,
            result: &result,
            outcome,
            utc_ms,
            serial: self.situation.fitted.serial_for(self.plan.quantity),
            incident: self.plan.incident,
            stored_days: self.plan.stored_days,
        };
        let due = |days: u16| utc_ms.saturating_add(i64::from(days) * MS_PER_DAY);
        let record = CalibrationRecord {
            board: self.situation.board,
            fitted: self.situation.fitted.clone(),
            utc_ms,
            due_utc_ms: self.plan.due_in_days.map(due),
            operator: self.plan.operator.clone(),
            points: self.points.clone(),
            result,
            outcome,
            incident: self.plan.incident,
            stored_days: self.plan.stored_days,
            drift: drift::now_known(&made, self.situation.before.as_ref()),
            previous: self.situation.previous,
            as_left,
            overrides: self.overrides.iter().map(|(_, kept)| kept.clone()).collect(),
        };
        self.go(State::Finished(record), Said::new());
    }
}

impl Guided for Routine {
    type Record = CalibrationRecord;

    fn quantity(&self) -> Quantity {
        self.plan.quantity
    }

    fn standards(&self) -> &[Planned] {
        &self.plan.standards
    }

    fn checks_apart(&self) -> bool {
        self.plan.checks_apart
    }

    fn said(&self) -> &[Judgement] {
        self.said()
    }

    fn points(&self) -> &[Point] {
        self.points()
    }

    fn step(&self) -> Step {
        self.step()
    }

    fn tell_time(&mut self, utc_ms: i64) {
        self.tell_time(utc_ms);
    }

    fn on(&mut self, event: Event<'_>) -> Step {
        self.on(event)
    }
}

#[cfg(test)]
mod tests;
