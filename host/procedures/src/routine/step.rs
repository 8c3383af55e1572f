//! What goes into a guided routine and what comes out of it: events, choices, steps.

use super::collect::Progress;
use super::judgement::Judgement;
use super::standard::Planned;
use rillmark_proto::reading::Reading;
use rillmark_proto::record::{CalibrationRecord, Point, Quantity, Reason};

/// What happens to a routine.
#[derive(Clone, Debug, PartialEq)]
pub enum Event<'a> {
    /// A reading came.
    Reading(&'a Reading),
    /// The operator has placed the probe.
    Placed,
    /// The operator has read the reference: °C, now.
    Reference(f64),
    /// The operator has decided.
    Choice(Choice),
}

/// What an operator can decide.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Choice {
    /// While settling: take the readings as they are. At a decision with nothing to override: go on.
    Continue,
    /// Go on in spite of the warnings, for this reason.
    Override(Reason),
    /// The standard again; after the last standard all of them again.
    Retry,
    /// Let the readings settle further.
    Wait,
    /// Keep the coefficients in force: every point read within tolerance.
    Leave,
    /// End without changing anything.
    Cancel,
}

/// Which choices a decision has; cancelling is always one.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Allowed {
    /// [`Choice::Continue`].
    pub go_on: bool,
    /// [`Choice::Override`].
    pub override_: bool,
    /// [`Choice::Retry`].
    pub retry: bool,
    /// [`Choice::Wait`].
    pub wait: bool,
    /// [`Choice::Leave`].
    pub leave: bool,
}

/// What is to be done next.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant)] // no allocation: nothing to box into
pub enum Step<R = CalibrationRecord> {
    /// Hold the clean, dry cell in air; the answer is [`Event::Placed`].
    Air,
    /// Wait for the conductance in air to come to rest.
    SettleInAir {
        /// How far it is, in µS.
        progress: Progress,
    },
    /// Rinse, and place the probe in this standard (index into the plan).
    Place {
        /// Index into the plan's standards.
        standard: usize,
    },
    /// Wait for readings to come to rest.
    Settle {
        /// Index into the plan's standards.
        standard: usize,
        /// How far it is.
        progress: Progress,
        /// True when this is the check after the new coefficients were found.
        as_left: bool,
    },
    /// The reading has settled: the operator has to say at once what the reference says now. The
    /// answers are [`Event::Reference`], [`Choice::Retry`] and [`Choice::Cancel`].
    Reference {
        /// Index into the plan's standards.
        standard: usize,
        /// What the probe reads, in °C.
        temperature_c: f64,
        /// True when this is for the check after the new coefficients were found.
        as_left: bool,
    },
    /// The operator has to decide about [`Guided::said`].
    Decide(Allowed),
    /// Done: this record is to be kept.
    Finished(R),
    /// Refused before the first standard, for what [`Guided::said`] says; nothing has changed.
    Refused,
    /// Cancelled; nothing has changed.
    Cancelled,
}

/// A routine that leads an operator through standards to a record.
pub trait Guided {
    /// What comes of it.
    type Record;

    /// What is calibrated or verified.
    fn quantity(&self) -> Quantity;

    /// The standards, in the order in which they are taken.
    fn standards(&self) -> &[Planned];

    /// True when the last standard is for the closing check alone.
    fn checks_apart(&self) -> bool {
        false
    }

    /// What was said when this step began.
    fn said(&self) -> &[Judgement];

    /// The points taken so far.
    fn points(&self) -> &[Point];

    /// What is to be done now.
    fn step(&self) -> Step<Self::Record>;

    /// Takes note of the host's time, in ms since 1970-01-01 UTC: the record carries the last one
    /// told before it was finished.
    fn tell_time(&mut self, utc_ms: i64);

    /// Takes an event and says what is to be done next. An event that does not belong to the step
    /// changes nothing.
    fn on(&mut self, event: Event<'_>) -> Step<Self::Record>;
}
