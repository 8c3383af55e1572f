//! Leads an operator through a guided routine: readings from the probe, answers from the operator,
//! the record back into the probe.

pub(super) mod answers;
pub(super) mod report;

use rillmark_procedures::routine::judgement::Severity;
use rillmark_procedures::routine::plan::MAX_STANDARDS;
use rillmark_procedures::routine::step::{Choice, Event, Guided, Step};
use rillmark_proto::identity::RecordId;
use rillmark_proto::record::{Quantity, Record, RecordKind, codec};
use rillmark_proto::wire::message::{Listed, Sampling};

use super::calibrate::spec::OnBench;
use crate::exit::{Exit, Failure};
use crate::link::probe::{Probe, ProbeError, READING_PATIENCE_MS};
use crate::words::en::routine as words;
use crate::words::en::{judgement, standard};

/// What the virtual bench calls air.
const AIR: &str = "air";

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Question {
    /// Whether the probe is placed.
    Place,
    /// What the reference says.
    Reference,
    /// What to do about what was said.
    Decide,
}

/// What is answered.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Answer {
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
pub(super) enum Sight<'a, G: Guided> {
    /// A step began, or a settling went on.
    Step(&'a G, &'a Step<G::Record>),
    /// The bench has moved the probe by itself.
    Moved,
    /// The bench has read its reference thermometer by itself: °C.
    Read(f64),
    /// An answer was not understood.
    NotUnderstood(&'a str),
}

/// How a routine is led.
pub(super) struct Drive<'a> {
    /// For a line that moves the probe by itself.
    pub(super) beakers: &'a [OnBench],
    /// Ask what to do about readings that have not settled after so many ms.
    pub(super) ask_after_ms: Option<u64>,
    /// Whether the person wants it to end.
    pub(super) interrupted: &'a dyn Fn() -> bool,
}

/// Who looks on.
pub(super) type Show<'a, G> = dyn FnMut(Sight<'_, G>) -> Result<(), Failure> + 'a;
/// Who answers.
pub(super) type Ask<'a, R> = dyn FnMut(&Step<R>, Question) -> Result<Answer, Failure> + 'a;

impl Drive<'_> {
    /// Makes the probe quiet: what another program left sampling does not belong here.
    ///
    /// # Errors
    /// [`Exit::BadInput`] when a beaker plays a mistake on a line that does not move the probe, or
    /// those of the conversation.
    pub(super) fn begin(&self, probe: &mut Probe) -> Result<(), Failure> {
        if self.beakers.iter().any(OnBench::plays_a_mistake) && !probe.link().places_by_itself() {
            return Err(Failure::new(Exit::BadInput, standard::BEAKER_NEEDS_BENCH));
        }
        Ok(probe.sample(Sampling::Off)?)
    }

    /// Leads a routine to its record. The sampling is stopped in any case.
    ///
    /// # Errors
    /// [`Exit::Refused`], [`Exit::Cancelled`], or those of the conversation, which say that nothing was
    /// changed.
    pub(super) fn lead<G: Guided<Record: Clone>>(
        &self,
        probe: &mut Probe,
        routine: &mut G,
        show: &mut Show<'_, G>,
        ask: &mut Ask<'_, G::Record>,
    ) -> Result<G::Record, Failure> {
        let result = self.to_the_end(probe, routine, show, ask);
        // A probe left sampling is heard by nobody; one that is gone needs no telling.
        let _ = probe.sample(Sampling::Off);
        probe.forget_readings();
        result.map_err(|failure| beside(failure, words::NOTHING_CHANGED))
    }

    fn to_the_end<G: Guided<Record: Clone>>(
        &self,
        probe: &mut Probe,
        routine: &mut G,
        show: &mut Show<'_, G>,
        ask: &mut Ask<'_, G::Record>,
    ) -> Result<G::Record, Failure> {
        let sampling = match routine.quantity() {
            Quantity::Ph => Sampling::Ph,
            Quantity::Conductivity | Quantity::Temperature => Sampling::Conductivity,
        };
        let mut step = routine.step();
        let mut asked = false;
        let mut placed = [0; MAX_STANDARDS];
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
                    probe.sample(sampling)?;
                    probe.forget_readings();
                    tell(probe, routine, Event::Placed)
                }
                Step::Air => {
                    asked = false;
                    if !self.in_air(probe, show)? {
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
                    probe.sample(sampling)?;
                    probe.forget_readings();
                    tell(probe, routine, Event::Placed)
                }
                Step::Settle { progress, .. } | Step::SettleInAir { progress } => {
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
                        self.go_on(Event::Reference(celsius), sampling, probe, routine)?
                    }
                    Some(Answer::Choice(choice)) => {
                        self.go_on(Event::Choice(choice), sampling, probe, routine)?
                    }
                    Some(Answer::Placed | Answer::NotUnderstood(_)) | None => continue,
                },
                Step::Decide(_) => match ask(&step, Question::Decide)
                    .map_err(|failure| unanswered(routine, failure))?
                {
                    _ if (self.interrupted)() => {
                        tell(probe, routine, Event::Choice(Choice::Cancel))
                    }
                    Answer::Choice(choice) => {
                        self.go_on(Event::Choice(choice), sampling, probe, routine)?
                    }
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
    fn go_on<G: Guided>(
        &self,
        event: Event<'_>,
        sampling: Sampling,
        probe: &mut Probe,
        routine: &mut G,
    ) -> Result<Step<G::Record>, Failure> {
        let next = tell(probe, routine, event);
        if matches!(next, Step::Settle { .. } | Step::SettleInAir { .. }) {
            probe.sample(sampling)?;
            probe.forget_readings();
        }
        Ok(next)
    }

    /// Has the line hold the probe in air; false when a person has to.
    fn in_air<G: Guided>(
        &self,
        probe: &mut Probe,
        show: &mut Show<'_, G>,
    ) -> Result<bool, Failure> {
        let moved = probe
            .link_mut()
            .place(AIR, None)
            .map_err(|error| Failure::new(Exit::Port, error.to_string()))?;
        if moved {
            show(Sight::Moved)?;
        }
        Ok(moved)
    }

    /// What the reference says: read by the bench, or asked. `None` when the answer was not understood.
    fn reference<G: Guided>(
        &self,
        step: &Step<G::Record>,
        probe: &mut Probe,
        show: &mut Show<'_, G>,
        ask: &mut Ask<'_, G::Record>,
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
    fn listen<G: Guided>(
        &self,
        probe: &mut Probe,
        routine: &mut G,
    ) -> Result<Step<G::Record>, Failure> {
        let arrived = probe.next_reading(READING_PATIENCE_MS)?.ok_or_else(|| {
            Failure::new(Exit::Probe, words::no_readings(READING_PATIENCE_MS / 1000))
        })?;
        Ok(tell(probe, routine, Event::Reading(&arrived.reading)))
    }

    /// Has the line move the probe into a standard that was taken `before` times; false when a
    /// person has to.
    fn place<G: Guided>(
        &self,
        standard: usize,
        before: usize,
        probe: &mut Probe,
        routine: &G,
        show: &mut Show<'_, G>,
    ) -> Result<bool, Failure> {
        let label = &routine.standards()[standard].name;
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
fn tell<G: Guided>(probe: &Probe, routine: &mut G, event: Event<'_>) -> Step<G::Record> {
    routine.tell_time(probe.link().utc_ms());
    routine.on(event)
}

/// A refusal that nobody has an answer for is how the attempt ends.
fn unanswered(routine: &impl Guided, failure: Failure) -> Failure {
    if failure.exit == Exit::Cancelled { refused(routine).unwrap_or(failure) } else { failure }
}

/// What the routine refuses, if it does.
fn refused(routine: &impl Guided) -> Option<Failure> {
    let refusals = routine.said().iter().filter(|said| said.severity() == Severity::Refusal);
    let said: Vec<_> = refusals.map(judgement::sentence).collect();
    (!said.is_empty()).then(|| Failure::new(Exit::Refused, said.join(" ")))
}

/// Records that made room for a new one.
#[derive(Clone, Debug, Default)]
pub(super) struct Gone(Vec<Listed>);

impl Gone {
    /// Those of `before` that are not listed `now`.
    pub(super) fn between(mut before: Vec<Listed>, now: &[Listed]) -> Self {
        before.retain(|it| !now.iter().any(|now| now.id == it.id));
        Self(before)
    }

    /// A line for each, behind a line that ended.
    pub(super) fn lines(&self) -> String {
        self.0.iter().map(|it| words::no_longer_kept(it.kind, &it.id.short()) + "\n").collect()
    }

    /// Their identities.
    pub(super) fn ids(&self) -> Vec<String> {
        self.0.iter().map(|it| it.id.to_string()).collect()
    }
}

/// Has the probe keep a record, and reads it back: a calibration has to be in force then. Its identity,
/// and what the probe had no place for any more.
///
/// # Errors
/// Those of the conversation; [`Exit::Probe`] when something else comes back.
pub(super) fn keep(probe: &mut Probe, record: &Record) -> Result<(RecordId, Gone), Failure> {
    let bytes = codec::encode(record)
        .map_err(|error| Failure::new(Exit::Refused, words::cannot_encode(&error)))?;
    let unknown = |error: ProbeError| beside(error.into(), words::KEPT_OR_NOT);
    let before = probe.records().map_err(|error| beside(error.into(), words::NOTHING_CHANGED))?;
    let id = probe.keep(bytes.clone()).map_err(unknown)?;
    let back = probe.record(id).map_err(unknown)?;
    let listed = probe.records().map_err(unknown)?;
    let in_force = record.kind() == RecordKind::Calibration;
    let kept = |listed: &Listed| listed.id == id && listed.in_force == in_force;
    if back != bytes || id != codec::identity(&bytes) || !listed.iter().any(kept) {
        return Err(Failure::new(Exit::Probe, words::NOT_KEPT_AS_GIVEN));
    }
    Ok((id, Gone::between(before, &listed)))
}

/// What a conversation that broke off means for the probe, beside why it did.
pub(super) fn beside(failure: Failure, meaning: &str) -> Failure {
    match failure.exit {
        Exit::Port | Exit::Probe => {
            Failure { sentence: format!("{} {meaning}", failure.sentence), ..failure }
        }
        _ => failure,
    }
}
