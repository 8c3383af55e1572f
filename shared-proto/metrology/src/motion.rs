//! Steady, moving, changing: what the readings before a reading say about it.
//!
//! One pure function for live and replay: it is fed one reading after another, with the probe's time.
//! It knows the raw signal alone. *Steady* says that the number stands still, not that it is right.
//!
//! # How
//! The past is cut into two stretches of the same length, half a minute to 12 minutes each, at least four
//! readings in each. D is the time between their middles, s₁ and s₂ are the older and the newer slope, s that
//! of both together, h the half width of a slope's 95 % interval; τ is the slowest time constant that is
//! allowed for and q = e^(−D/τ). Whatever sum of exponentials of one sign and up to τ a sensor follows with,
//! on water that changes steadily it has no more to come than
//!
//! ```text
//! B₂ = τ · e^(−m/τ) · q/(1 − q) · (|s₁ − s₂| + √2·h)     m: from the newer stretch's middle to now
//! ```
//!
//! and on water that stands still, where short stretches tell more, no more than
//!
//! ```text
//! B₁ = τ · (max(|s|, |s₁| − h, |s₂| − h) + h)             with |s₁ − s₂|/2 where the signal turns
//! ```
//!
//! B is the least over all lengths of B₂ and of the largest B₁ within the last minute: a tail one way and a
//! water that goes the other cancel for a moment. Three stretches whose slopes fall more slowly than q lets
//! them lengthen τ, to a quarter of an hour at most. What the lag hides besides is |s₂|·(mean lag) under B₂;
//! B₁ holds it. As the half width of a rectangle that is a standard uncertainty of
//!
//! ```text
//! u = min(B₁, B₂ + |s₂|·lag) / √3
//! ```
//!
//! *Changing*: w = min((s₂ − q′·s₁)/(1 − q′), s₂, s₁) less three deviations, with q′ for 15 minutes, stays
//! above a least rate for two minutes: no sensor goes on like that. Else *steady* where B is below half of the
//! reading's own standard uncertainty, else *moving*.
//!
//! A reading six deviations off the line of the five before it is not known; where the next one bears it
//! out both begin anew, and else it leaves no trace. A reading after a pause, a start of the probe or a step
//! back of its clock begins anew too. With fewer readings than two stretches have, a signal that went by more
//! than the reading is uncertain is moving all the same; of an exponential up to τ that went by Δ within t no
//! more is to come than (Δ + noise)/(e^(t/τ) − 1), which bounds u in the first three minutes too.
//!
//! The formulas are our own; how often they are right on invented sensors: `cargo run --release -p
//! rillmark-trials --example immersion`.

mod follows;
mod kinetics;
mod past;
mod slopes;
mod stretches;
#[cfg(test)]
mod tests;

use follows::{Follows, Newest};
pub use kinetics::Kinetics;
use past::Past;
use stretches::{Said, Stretches};

/// The water changes when it is seen to for so long, in ms, …
const CHANGING_MS: u64 = 120_000;
/// … and so many times.
const CHANGING_TIMES: u32 = 3;
/// Steady: what may be to come is below this part of the standard uncertainty.
const STEADY_PART: f64 = 0.5;
/// A signal that went by so many deviations of a reading is not noise.
const WENT: f64 = 6.0;
/// No signal is as large.
const LARGEST: f64 = 1e6;

/// What a reading does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum State {
    /// Too few neighbours, or it stands off the line of those before it.
    #[default]
    NotKnown,
    /// The number stands still. It need not be right.
    Steady,
    /// The sensor may still be on its way, or noise hides whether it is.
    Moving,
    /// The signal goes on one way at a rate that no sensor has: the water is changing.
    Changing,
}

/// What is known of a reading's motion.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Movement {
    /// What it does.
    pub state: State,
    /// Standard uncertainty of what the sensor's lag still hides, in the signal's unit; `None` when the
    /// state is not known.
    pub response_u: Option<f64>,
    /// How fast the signal goes, in its unit per minute; `None` when the state is not known.
    pub rate_per_min: Option<f64>,
}

const NOT_KNOWN: Movement =
    Movement { state: State::NotKnown, response_u: None, rate_per_min: None };

/// The past of one signal of one sensor.
#[derive(Clone, Debug)]
pub struct Motion {
    kinetics: Kinetics,
    last: Option<(u32, u64)>,
    newest: Newest,
    past: Past,
    stretches: Stretches,
    said: Option<Said>,
    judged: Movement,
    /// Since when, and how many times, the water was seen to change.
    changing: Option<(u64, u32)>,
}

impl Motion {
    /// Nothing is known yet.
    #[must_use]
    pub const fn new(kinetics: Kinetics) -> Self {
        Self {
            kinetics,
            last: None,
            newest: Newest::new(),
            past: Past::new(),
            stretches: Stretches::new(),
            said: None,
            judged: NOT_KNOWN,
            changing: None,
        }
    }

    /// Allows for other kinetics from now on; the past stays.
    pub const fn set_kinetics(&mut self, kinetics: Kinetics) {
        self.kinetics = kinetics;
    }

    /// Takes the reading of start `boot` at `ms` of probe time and judges it by those before it.
    ///
    /// `value` is the raw signal and `base_u` the standard uncertainty that the reading has without its
    /// motion, both in the signal's unit. A value that is not finite, or beyond ±10⁶, is passed over and not
    /// known; a reading of the same moment as the last one is judged as that one was. Without a finite
    /// `base_u` nothing is steady.
    pub fn push(&mut self, boot: u32, ms: u64, value: f64, base_u: f64) -> Movement {
        if !value.is_finite() || value.abs() > LARGEST {
            return NOT_KNOWN;
        }
        match self.last {
            Some((before, last)) if before == boot && last == ms => return self.judged,
            Some((before, last)) if before == boot && last < ms => {
                if self.newest.pauses(ms - last) {
                    self.newest.begin_anew();
                    self.begin_anew();
                }
            }
            // Another start or a step back: as if nothing had been.
            _ => *self = Self::new(self.kinetics),
        }
        self.last = Some((boot, ms));
        self.judged = match self.newest.take(ms, value, self.kinetics.noise) {
            Follows::On => {
                self.keep(ms, value);
                self.judge(ms, base_u)
            }
            Follows::Waits => NOT_KNOWN,
            Follows::Anew(then, other) => {
                self.begin_anew();
                self.keep(then, other);
                self.keep(ms, value);
                self.judge(ms, base_u)
            }
        };
        self.judged
    }

    fn begin_anew(&mut self) {
        self.past.clear();
        self.stretches = Stretches::new();
        self.said = None;
        self.changing = None;
    }

    /// Keeps a reading. What is to come falls as time goes by, so a bound holds on until the next one.
    fn keep(&mut self, ms: u64, value: f64) {
        if !self.past.push(ms, value) {
            return;
        }
        self.said = self.stretches.say(&mut self.past, &self.kinetics);
        let least = self.kinetics.changing_per_min;
        let changes = self.said.is_some_and(|said| said.water.is_ok_and(|water| water > least));
        self.changing = changes.then(|| {
            let (since, times) = self.changing.unwrap_or((ms, 0));
            (since, times.saturating_add(1))
        });
    }

    fn judge(&self, ms: u64, base_u: f64) -> Movement {
        let Some(Said { bound, water }) = self.said else { return NOT_KNOWN };
        let changing = self
            .changing
            .is_some_and(|(since, times)| times >= CHANGING_TIMES && ms - since >= CHANGING_MS);
        let state = match water {
            Err(went) if went_far(went, base_u, self.kinetics.noise) => State::Moving,
            Err(_) => return NOT_KNOWN,
            Ok(_) if changing => State::Changing,
            Ok(_) if base_u.is_finite() && bound.to_come < STEADY_PART * base_u => State::Steady,
            Ok(_) => State::Moving,
        };
        Movement {
            state,
            response_u: Some(bound.hidden / libm::sqrt(3.0)),
            rate_per_min: Some(bound.rate),
        }
    }
}

/// True when a few readings go by more than noise and by more than they are uncertain.
fn went_far(went: f64, base_u: f64, noise: f64) -> bool {
    went.abs() > base_u.max(WENT * noise)
}
