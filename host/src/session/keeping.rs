//! Which readings count with what a run of the log kept of its board, and of which nobody can tell.
//!
//! A run keeps the same lines behind its header and before its end. Damage may have taken headers, ends and
//! copies: so a copy reaches as far as nothing speaks of another run, and what lies between two that begin and
//! end the same run and are the same is that run's.

use std::collections::{BTreeMap, BTreeSet};

use rillmark_metrology::front_end::BoardLimits;
use rillmark_proto::identity::BoardId;

use super::entry::{Entry, HeaderReason};
use super::reader::Item;
use super::replay::Session;

/// The most spans and runs that are held; readings of others count with the limits of any board.
const MOST: usize = 100_000;

/// What an item means for the reach of a copy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Step {
    /// Nothing.
    None,
    /// A reading; another run may have begun before it unseen.
    Reading { behind_boundary: bool },
    /// A copy.
    Copy,
    /// Something was lost, which may have been the begin of another run.
    Boundary,
    /// A run begins or ends.
    Break,
}

/// Follows a file: the same place has the same numbers whenever it is followed.
#[derive(Debug, Default)]
pub(super) struct Place {
    /// Counts what copies, begins and ends part.
    span: u32,
    /// Boundaries in the span so far.
    boundaries: u32,
    /// Counts begins and ends.
    run: u32,
    /// The board of the run's header, and the start that the last header names.
    board: Option<BoardId>,
    boot: Option<u32>,
    /// Start and number of the last reading.
    last: Option<(u32, u32)>,
}

impl Place {
    fn take(&mut self, item: &Item) -> Step {
        let step = self.step(item);
        match step {
            Step::Break => {
                (self.span, self.boundaries) = (self.span.saturating_add(1), 0);
                (self.run, self.last) = (self.run.saturating_add(1), None);
            }
            Step::Copy => (self.span, self.boundaries) = (self.span.saturating_add(1), 0),
            Step::Boundary | Step::Reading { behind_boundary: true } => {
                self.boundaries = self.boundaries.saturating_add(1);
            }
            Step::None | Step::Reading { behind_boundary: false } => {}
        }
        step
    }

    /// Follows the file without learning from it.
    pub(super) fn follow(&mut self, item: &Item) {
        self.take(item);
    }

    fn step(&mut self, item: &Item) -> Step {
        match item {
            Item::Reading(reading) => {
                let (boot, running) = (reading.time.boot, reading.running);
                let behind_boundary =
                    self.last.replace((boot, running)).is_some_and(|(last_boot, last)| {
                        match last_boot == boot {
                            true => running < last,
                            false => self.boot != Some(boot),
                        }
                    });
                Step::Reading { behind_boundary }
            }
            Item::Entry(entry) => match &**entry {
                Entry::Opening { .. } | Entry::End { .. } => {
                    (self.board, self.boot) = (None, None);
                    Step::Break
                }
                Entry::Header(header) => {
                    let is_other = self.board.is_some_and(|board| board != header.board);
                    (self.board, self.boot) = (Some(header.board), Some(header.boot));
                    match is_other || header.reason == HeaderReason::Began {
                        true => Step::Break,
                        false => Step::None,
                    }
                }
                Entry::Measured { .. } => Step::Copy,
                _ => Step::None,
            },
            Item::Damage { .. } | Item::Newer { .. } => Step::Boundary,
            Item::Other | Item::Torn { .. } => Step::None,
        }
    }
}

/// What lies between two copies, begins or ends.
#[derive(Clone, Copy, Debug, Default)]
struct Span {
    /// What the copy before it keeps, where that one begins a run; by its number in the session.
    opens: Option<usize>,
    /// The same of the copy behind it, where that one ends a run.
    closes: Option<usize>,
    boundaries: u32,
}

/// Where the copies of a session reach.
#[derive(Clone, Debug, Default)]
pub(super) struct Keeping {
    spans: BTreeMap<u32, Span>,
    /// The runs that keep something.
    runs: BTreeSet<u32>,
}

impl Keeping {
    fn span(&mut self, number: u32) -> Option<&mut Span> {
        if self.spans.len() >= MOST {
            return self.spans.get_mut(&number);
        }
        Some(self.spans.entry(number).or_default())
    }

    /// What a reading here counts with.
    fn at(&self, place: &Place) -> Option<usize> {
        let span = self.spans.get(&place.span)?;
        if span.opens == span.closes {
            return span.opens;
        }
        let before = span.opens.filter(|_| place.boundaries == 0);
        let behind = span.closes.filter(|_| place.boundaries == span.boundaries);
        match (before, behind) {
            (Some(_), Some(_)) => None,
            (one, other) => one.or(other),
        }
    }
}

/// Learns from a file where its copies reach.
#[derive(Debug, Default)]
pub(super) struct Learner {
    place: Place,
    keeping: Keeping,
    /// A reading came since the last copy, boundary, begin or end.
    has_read: bool,
    /// The last copy, while nobody knows whether a reading follows it: the span that it may close.
    undecided: Option<(u32, usize)>,
}

impl Learner {
    /// Takes an item, and of a copy which of the session's it is.
    pub(super) fn take(&mut self, item: &Item, kept: Option<usize>) {
        let (span, boundaries) = (self.place.span, self.place.boundaries);
        let step = self.place.take(item);
        if let Step::Reading { behind_boundary: false } | Step::None = step {
            self.has_read |= step != Step::None;
            return;
        }
        self.settle();
        if self.place.span != span
            && boundaries > 0
            && let Some(span) = self.keeping.span(span)
        {
            span.boundaries = boundaries;
        }
        if let (Step::Copy, Some(kept)) = (step, kept) {
            self.undecided = Some((span, kept));
            if !self.has_read
                && let Some(span) = self.keeping.span(self.place.span)
            {
                span.opens = Some(kept);
            }
            if self.keeping.runs.len() < MOST {
                self.keeping.runs.insert(self.place.run);
            }
        }
        self.has_read = matches!(step, Step::Reading { .. });
    }

    /// A copy that no reading follows closes what is before it.
    fn settle(&mut self) {
        if let Some((span, kept)) = self.undecided.take()
            && !self.has_read
            && let Some(span) = self.keeping.span(span)
        {
            span.closes = Some(kept);
        }
    }

    /// The file is over.
    pub(super) fn over(mut self) -> Keeping {
        self.settle();
        self.keeping
    }
}

/// With what of a session that keeps something the readings of its replay count.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Counted {
    /// Runs with a reading.
    pub runs: u64,
    /// Of these, how many count with which of [`Session::measured`].
    pub with: BTreeMap<usize, u64>,
    /// Which of them stand in a run of another board, with that one; none where no header says which it is.
    pub of_another: BTreeMap<usize, Option<BoardId>>,
    /// Readings that count with the limits of any board, since what their run keeps contradicts itself or
    /// may be another run's.
    pub unclear: u64,
    /// The last run of all, and of each.
    last: Option<u32>,
    last_with: BTreeMap<usize, u32>,
}

impl Counted {
    /// What a reading here counts with.
    pub(super) fn limits(&mut self, session: &Session, place: &Place) -> BoardLimits {
        if let Some(given) = session.board_limits {
            return given;
        }
        if session.measured.is_empty() {
            return BoardLimits::ANY;
        }
        self.runs += u64::from(self.last.replace(place.run) != Some(place.run));
        let Some(kept) = session.keeping.at(place) else {
            self.unclear += u64::from(session.keeping.runs.contains(&place.run));
            return BoardLimits::ANY;
        };
        let Some((board, limits)) = session.measured.get(kept).and_then(|kept| kept.limits) else {
            return BoardLimits::ANY;
        };
        let is_own = match place.board {
            Some(own) => own == board,
            // A log takes no file of another board; which board it was, another header says.
            None => session.boards.contains(&board),
        };
        if !is_own {
            self.of_another.insert(kept, place.board);
            return BoardLimits::ANY;
        }
        let is_new = self.last_with.insert(kept, place.run) != Some(place.run);
        *self.with.entry(kept).or_default() += u64::from(is_new);
        limits
    }
}

#[cfg(test)]
#[path = "keeping_tests.rs"]
mod tests;
