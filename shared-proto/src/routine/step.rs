//! What goes into a guided calibration and what comes out of it: events, choices, steps.

use super::collect::Progress;
use crate::reading::Reading;
use crate::record::{CalibrationRecord, Reason};

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
pub enum Step {
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
    /// The operator has to decide about [`Routine::said`](super::machine::Routine::said).
    Decide(Allowed),
    /// Done: this record is to be kept.
    Finished(CalibrationRecord),
    /// Refused before the first standard, for what [`Routine::said`](super::machine::Routine::said) says; nothing has changed.
    Refused,
    /// Cancelled; nothing has changed.
    Cancelled,
}
