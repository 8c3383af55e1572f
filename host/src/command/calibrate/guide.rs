//! Drives a guided calibration: readings from the probe, answers from the operator, the record back
//! into the probe.

use rillmark_proto::identity::RecordId;
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::{
    CalibrationRecord, CalibrationResult, MAX_POINTS, Quantity, Record, codec,
};
use rillmark_proto::routine::judgement::Severity;
use rillmark_proto::routine::machine::Routine;
use rillmark_proto::routine::plan::{MAX_HISTORY, Plan, Situation};
use rillmark_proto::routine::step::{Choice, Event, Step};
use rillmark_proto::wire::message::Sampling;

use super::super::record_view::{Kept, kept_records};
use super::spec::OnBench;
use crate::exit::{Exit, Failure};
use crate::link::probe::Probe;
use crate::words::en::routine as words;
use crate::words::en::{judgement, standard};

/// How long to wait for one reading, in ms: longer than the longest sampling of the two.
const READING_MS: u64 = 15_000;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::command) enum Question {
    /// Whether the probe is placed.
    Place,
    /// What the reference says.
    Reference,
    /// What to do about what was said.
    Decide,
}

/// What is answered.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::command) enum Answer {
    /// The probe is placed.
    Placed,
    /// The reference says so many °C.
    Reference(f64),
    /// A decision.
    Choice(Choice),
    /// Nothing that is an answer, with a sentence about it: the question is asked again.
    NotUnderstood(String),
}

/// What there is to see.
#[derive(Debug)]
pub(in crate::command) enum Sight<'a> {
    /// A step began, or a settling went on.
    Step(&'a Routine, &'a Step),
    /// The bench has moved the probe by itself.
    Moved,
    /// The bench has read its reference thermometer by itself: °C.
    Read(f64),
    /// An answer was not understood.
    NotUnderstood(&'a str),
}

/// A calibration that the probe keeps.
#[derive(Clone, Debug)]
pub(in crate::command) struct Done {
    pub(in crate::command) id: RecordId,
    pub(in crate::command) record: CalibrationRecord,
}

/// What is the case before anything is done.
fn situation(probe: &mut Probe, plan: &Plan) -> Result<Situation, Failure> {
    let fitted = probe.equipment()?.map(|equipment| equipment.fitted).unwrap_or_default();
    let serial = fitted
        .serial_for(plan.quantity)
        .cloned()
        .ok_or_else(|| Failure::new(Exit::Refused, words::not_equipped(plan.quantity)))?;
    let mut situation = Situation {
        board: probe.answer().board,
        fitted,
        in_force: Coefficients::default(),
        previous: None,
        previous_utc_ms: None,
        history: heapless::Vec::new(),
        utc_ms: probe.link().utc_ms(),
    };
    for Kept { id, quantity, in_force, record, .. } in kept_records(probe)? {
        // A record of a later release is in force all the same, only nothing can be found with it.
        if in_force && quantity == plan.quantity {
            situation.previous = Some(id.short());
        }
        let Ok(Record::Calibration(record)) = record else { continue };
        if in_force {
            if quantity == plan.quantity {
                situation.previous_utc_ms = Some(record.utc_ms);
            }
            match record.result {
                CalibrationResult::Ph(ph) => situation.in_force.ph = Some(ph),
                CalibrationResult::Conductivity(cell) => {
                    situation.in_force.conductivity = Some(cell);
                }
                CalibrationResult::Temperature(thermometer) => {
                    situation.in_force.temperature = Some(thermometer);
                }
            }
        }
        let same = record.quantity() == plan.quantity && record.calibrated() == Some(&serial);
        if same && situation.history.len() < MAX_HISTORY {
            // There is room.
            let _ = situation.history.push(record.result);
        }
    }
    Ok(situation)
}

/// Guides the calibration and has the probe keep its record, read back and compared byte by byte.
///
/// `beakers` is for a line that moves the probe by itself.
///
/// # Errors
/// [`Exit::BadInput`] when a beaker plays a mistake on another line, [`Exit::Refused`],
/// [`Exit::Cancelled`], or those of the conversation; the probe then keeps what it kept before. The sampling is stopped in any case.
pub(in crate::command) fn guide(
    probe: &mut Probe,
    plan: Plan,
    beakers: &[OnBench],
    ask_after_ms: Option<u64>,
    interrupted: &dyn Fn() -> bool,
    show: &mut dyn FnMut(Sight<'_>) -> Result<(), Failure>,
    ask: &mut dyn FnMut(&Step, Question) -> Result<Answer, Failure>,
) -> Result<Done, Failure> {
    if beakers.iter().any(OnBench::plays_a_mistake) && !probe.link().places_by_itself() {
        return Err(Failure::new(Exit::BadInput, standard::BEAKER_NEEDS_BENCH));
    }
    // Quiet first: what another program left sampling does not belong here.
    probe.sample(Sampling::Off)?;
    let situation = situation(probe, &plan)?;
    let sampling = match plan.quantity {
        Quantity::Ph => Sampling::Ph,
        Quantity::Conductivity | Quantity::Temperature => Sampling::Conductivity,
    };
    let mut routine = Routine::new(plan, situation);
    let drive = Drive { sampling, beakers, ask_after_ms, interrupted };
    let result = drive.to_the_end(probe, &mut routine, show, ask);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    probe.forget_readings();
    keep(probe, result?)
}

struct Drive<'a> {
    sampling: Sampling,
    beakers: &'a [OnBench],
    ask_after_ms: Option<u64>,
    interrupted: &'a dyn Fn() -> bool,
}

impl Drive<'_> {
    fn to_the_end(
        &self,
        probe: &mut Probe,
        routine: &mut Routine,
        show: &mut dyn FnMut(Sight<'_>) -> Result<(), Failure>,
        ask: &mut dyn FnMut(&Step, Question) -> Result<Answer, Failure>,
    ) -> Result<CalibrationRecord, Failure> {
        let mut step = routine.step();
        let mut asked = false;
        let mut placed = [0; MAX_POINTS];
        loop {
            show(Sight::Step(routine, &step))?;
            step = match &step {
                Step::Place { standard } => {
                    asked = false;
                    if self.place(*standard, placed[*standard], probe, routine, show)? {
                        placed[*standard] += 1;
                    } else {
                        match ask(&step, Question::Place)? {
                            Answer::Placed => {}
                            Answer::Choice(choice) => {
                                step = tell(probe, routine, Event::Choice(choice));
                                continue;
                            }
                            Answer::NotUnderstood(sentence) => {
                                show(Sight::NotUnderstood(&sentence))?;
                                continue;
                            }
                            Answer::Reference(_) => continue,
                        }
                    }
                    // The answer stands behind all readings of the time before in the line.
                    probe.sample(self.sampling)?;
                    probe.forget_readings();
                    tell(probe, routine, Event::Placed)
                }
                Step::Settle { progress, .. } => {
                    // A handful of readings is nothing to decide about yet.
                    let told = progress.verdict.half_width_per_min.is_some();
                    let late = |after: u64| told && progress.waited_ms >= after;
                    if (self.interrupted)() {
                        tell(probe, routine, Event::Choice(Choice::Cancel))
                    } else if !asked && self.ask_after_ms.is_some_and(late) {
                        asked = true;
                        tell(probe, routine, Event::Choice(Choice::Continue))
                    } else {
                        self.listen(probe, routine)?
                    }
                }
                Step::Reference { .. } => match self.reference(&step, probe, show, ask)? {
                    _ if (self.interrupted)() => {
                        tell(probe, routine, Event::Choice(Choice::Cancel))
                    }
                    Some(Answer::Reference(celsius)) => {
                        self.go_on(Event::Reference(celsius), probe, routine)?
                    }
                    Some(Answer::Choice(choice)) => {
                        self.go_on(Event::Choice(choice), probe, routine)?
                    }
                    Some(Answer::Placed | Answer::NotUnderstood(_)) | None => continue,
                },
                Step::Decide(_) => match ask(&step, Question::Decide)
                    .map_err(|failure| unanswered(routine, failure))?
                {
                    _ if (self.interrupted)() => {
                        tell(probe, routine, Event::Choice(Choice::Cancel))
                    }
                    Answer::Choice(choice) => self.go_on(Event::Choice(choice), probe, routine)?,
                    Answer::NotUnderstood(sentence) => {
                        show(Sight::NotUnderstood(&sentence))?;
                        continue;
                    }
                    Answer::Placed | Answer::Reference(_) => continue,
                },
                Step::Finished(record) => return Ok(record.clone()),
                Step::Refused => {
                    return Err(refused(routine)
                        .unwrap_or_else(|| Failure::new(Exit::Refused, words::CANCELLED)));
                }
                Step::Cancelled => return Err(Failure::new(Exit::Cancelled, words::CANCELLED)),
            };
        }
    }

    /// Hands an answer to the routine; what is read from then on is fresh.
    fn go_on(
        &self,
        event: Event<'_>,
        probe: &mut Probe,
        routine: &mut Routine,
    ) -> Result<Step, Failure> {
        let next = tell(probe, routine, event);
        if matches!(next, Step::Settle { .. }) {
            probe.sample(self.sampling)?;
            probe.forget_readings();
        }
        Ok(next)
    }

    /// What the reference says: read by the bench, or asked. `None` when the answer was not understood.
    fn reference(
        &self,
        step: &Step,
        probe: &mut Probe,
        show: &mut dyn FnMut(Sight<'_>) -> Result<(), Failure>,
        ask: &mut dyn FnMut(&Step, Question) -> Result<Answer, Failure>,
    ) -> Result<Option<Answer>, Failure> {
        if let Some(celsius) = probe.link_mut().reference_c() {
            show(Sight::Read(celsius))?;
            return Ok(Some(Answer::Reference(celsius)));
        }
        match ask(step, Question::Reference)? {
            Answer::NotUnderstood(sentence) => {
                show(Sight::NotUnderstood(&sentence))?;
                Ok(None)
            }
            answer => Ok(Some(answer)),
        }
    }

    /// Hands the next reading to the routine.
    fn listen(&self, probe: &mut Probe, routine: &mut Routine) -> Result<Step, Failure> {
        let arrived = probe
            .next_reading(READING_MS)?
            .ok_or_else(|| Failure::new(Exit::Probe, words::no_readings(READING_MS / 1000)))?;
        Ok(tell(probe, routine, Event::Reading(&arrived.reading)))
    }

    /// Has the line move the probe into a standard that was taken `before` times; false when a
    /// person has to.
    fn place(
        &self,
        standard: usize,
        before: usize,
        probe: &mut Probe,
        routine: &Routine,
        show: &mut dyn FnMut(Sight<'_>) -> Result<(), Failure>,
    ) -> Result<bool, Failure> {
        let label = &routine.plan().standards[standard].name;
        let beaker = self.beakers.get(standard).map(|beaker| beaker.at(label, before));
        let (content, at_c) = beaker.unwrap_or((label, None));
        let moved = probe
            .link_mut()
            .place(content, at_c)
            .map_err(|error| Failure::new(Exit::Port, error.to_string()))?;
        if moved {
            show(Sight::Moved)?;
        }
        Ok(moved)
    }
}

/// Hands an event to the routine, with the time.
fn tell(probe: &Probe, routine: &mut Routine, event: Event<'_>) -> Step {
    routine.tell_time(probe.link().utc_ms());
    routine.on(event)
}

/// A refusal that nobody has an answer for is how the attempt ends.
fn unanswered(routine: &Routine, failure: Failure) -> Failure {
    if failure.exit == Exit::Cancelled { refused(routine).unwrap_or(failure) } else { failure }
}

/// What the routine refuses, if it does.
fn refused(routine: &Routine) -> Option<Failure> {
    let refusals = routine.said().iter().filter(|said| said.severity() == Severity::Refusal);
    let said: Vec<_> = refusals.map(judgement::sentence).collect();
    (!said.is_empty()).then(|| Failure::new(Exit::Refused, said.join(" ")))
}

/// Has the probe keep the record, and reads it back.
fn keep(probe: &mut Probe, record: CalibrationRecord) -> Result<Done, Failure> {
    let bytes = codec::encode(&record.clone().into())
        .map_err(|error| Failure::new(Exit::Refused, words::cannot_encode(&error)))?;
    let id = probe.keep(bytes.clone())?;
    let back = probe.record(id)?;
    let in_force = probe.records()?.iter().any(|listed| listed.id == id && listed.in_force);
    if back != bytes || id != codec::identity(&bytes) || !in_force {
        return Err(Failure::new(Exit::Probe, words::NOT_KEPT_AS_GIVEN));
    }
    Ok(Done { id, record })
}
