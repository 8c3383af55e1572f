//! What many judged readings add up to.

use core::f64::consts::SQRT_2;

use rillmark_metrology::motion::State;

use super::Judged;

/// *Changing* is said in time within so many minutes.
const IN_TIME_MIN: f64 = 45.0;
/// With an interval of a minute it takes longer until a signal is seen to stand still, in min.
const EARLY_MIN: (f64, f64) = (10.0, 20.0);
/// What the lag hides is small below this part of u.
const SMALL: f64 = 1.0 / 3.0;

/// Readings of one state.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct OfState {
    /// How many.
    pub count: usize,
    covered: f64,
    covered_bare: f64,
    /// U over what it would have to be.
    widths: Vec<f64>,
}

impl OfState {
    /// Part of the readings whose U covers the truth, 0 to 1; `None` without any.
    pub fn covered(&self) -> Option<f64> {
        (self.count > 0).then(|| self.covered / self.count as f64)
    }

    /// The same without the response in U.
    pub fn covered_bare(&self) -> Option<f64> {
        (self.count > 0).then(|| self.covered_bare / self.count as f64)
    }

    /// Median of U over what would cover 95 %.
    pub fn wide(&self) -> Option<f64> {
        let mut widths = self.widths.clone();
        widths.sort_by(f64::total_cmp);
        widths.get(widths.len() / 2).copied()
    }
}

/// What the readings of a scene add up to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Tally {
    states: [OfState; 4],
    /// Readings of which the lag hides little, long after the immersion, and the steady ones of them.
    small: (usize, usize),
    /// First readings in other water, and those of which something was said.
    first: (usize, usize),
    /// Sensors, those of which *changing* was said in time, and those of which it was said at all.
    runs: (usize, usize, usize),
}

/// The part of a normal distribution of this deviation that lies within ±`expanded` of a value that is
/// `off`.
fn within(expanded: f64, off: f64, deviation: f64) -> f64 {
    let below = |x: f64| 0.5 * libm::erfc(-x / (SQRT_2 * deviation));
    below(expanded - off) - below(-expanded - off)
}

/// What U would have to be, in terms of u, to cover 95 % of a reading that is `off` by a known amount:
/// 1.96 + 0.64·off² from two sides, later from one (within 3 %: computed).
fn needed(off: f64) -> f64 {
    if off < 1.0 { 1.96 + 0.64 * off * off } else { off + 1.645 }
}

const fn index(state: State) -> usize {
    match state {
        State::NotKnown => 0,
        State::Steady => 1,
        State::Moving => 2,
        State::Changing => 3,
    }
}

impl Tally {
    /// Takes one sensor's readings, judged with a standard uncertainty of `u` in the signal's unit.
    pub fn take(&mut self, judged: &[Judged], u: f64, interval_s: u32) {
        let early_min = if interval_s < 60 { EARLY_MIN.0 } else { EARLY_MIN.1 };
        let mut minute_before = None;
        let (mut in_time, mut ever) = (false, false);
        for Judged { minute, off, hidden, noise, movement } in judged {
            let moved = minute_before.replace(*minute).is_some_and(|before| before < 0.0);
            if moved && *minute >= 0.0 {
                self.first.0 += 1;
                self.first.1 += usize::from(movement.state != State::NotKnown);
                continue;
            }
            let of = &mut self.states[index(movement.state)];
            let response = movement.response_u.unwrap_or(0.0) / u;
            let expanded = 2.0 * libm::sqrt(1.0 + response * response);
            of.count += 1;
            // Of u the noise has been drawn already.
            let rest = libm::sqrt(1.0 - (noise / u) * (noise / u));
            of.covered += within(expanded, off / u, rest);
            of.covered_bare += within(2.0, off / u, rest);
            let hidden = libm::fabs(*hidden) / u;
            of.widths.push(expanded / needed(hidden));
            if *minute > early_min && hidden < SMALL {
                self.small.0 += 1;
                self.small.1 += usize::from(movement.state == State::Steady);
            }
            let changing = movement.state == State::Changing;
            in_time |= changing && *minute <= IN_TIME_MIN;
            ever |= changing;
        }
        let (runs, told_in_time, told) = self.runs;
        self.runs = (runs + 1, told_in_time + usize::from(in_time), told + usize::from(ever));
    }

    /// Takes another tally in.
    #[must_use]
    pub fn with(mut self, other: Self) -> Self {
        for (mine, theirs) in self.states.iter_mut().zip(other.states) {
            mine.count += theirs.count;
            mine.covered += theirs.covered;
            mine.covered_bare += theirs.covered_bare;
            mine.widths.extend(theirs.widths);
        }
        self.small = (self.small.0 + other.small.0, self.small.1 + other.small.1);
        self.first = (self.first.0 + other.first.0, self.first.1 + other.first.1);
        let ((a, b, c), (d, e, f)) = (self.runs, other.runs);
        self.runs = (a + d, b + e, c + f);
        self
    }

    /// Readings of a state.
    pub const fn of(&self, state: State) -> &OfState {
        &self.states[index(state)]
    }

    /// Part of the readings that have a state, 0 to 1; first ones in other water do not count.
    pub fn part(&self, state: State) -> f64 {
        let all: usize = self.states.iter().map(|of| of.count).sum();
        self.of(state).count as f64 / all.max(1) as f64
    }

    /// Of the readings of which the lag hides less than a third of u, from 10 minutes after the immersion
    /// on (20 at an interval of 60 s), the part that is called steady.
    pub fn small_steady(&self) -> Option<f64> {
        (self.small.0 > 0).then(|| self.small.1 as f64 / self.small.0 as f64)
    }

    /// Of the first readings in other water, the part of which something is said.
    pub fn first_known(&self) -> Option<f64> {
        (self.first.0 > 0).then(|| self.first.1 as f64 / self.first.0 as f64)
    }

    /// Part of the sensors of which *changing* is said within 45 minutes.
    pub fn told_in_time(&self) -> f64 {
        self.runs.1 as f64 / self.runs.0.max(1) as f64
    }

    /// Part of the sensors of which *changing* is said at any time.
    pub fn told(&self) -> f64 {
        self.runs.2 as f64 / self.runs.0.max(1) as f64
    }
}
