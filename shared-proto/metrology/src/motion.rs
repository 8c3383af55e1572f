//! Steady, moving, changing: what the readings before a reading say about it.
//!
//! One pure function for live and replay. It is fed one reading after another.

mod kinetics;

use alloc::collections::VecDeque;

pub use kinetics::Kinetics;
use rillmark_proto::least_squares::{Observation, fit, two_sided_95};

/// What a reading does.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum State {
    /// Too few neighbours, or it stands off the line of those before it.
    #[default]
    NotKnown,
    /// The number stands still. It need not be right.
    Steady,
    /// The sensor may still be on its way, or the signal is too noisy to tell.
    Moving,
    /// The signal goes on one way at a rate that no sensor has: the water is changing.
    Changing,
}

/// What is known of a reading's motion.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Movement {
    /// What it does.
    pub state: State,
    /// Standard uncertainty of what the sensor's lag still hides, in the signal's unit; `None` when it is
    /// not known.
    pub response_u: Option<f64>,
    /// How fast the signal goes, in its unit per minute; `None` when that is not known.
    pub rate_per_min: Option<f64>,
}

/// The past of one signal of one sensor.
#[derive(Clone, Debug)]
pub struct Motion {
    kinetics: Kinetics,
    boot: u32,
    past: VecDeque<(u64, f64)>,
}

const READINGS: usize = 8;

impl Motion {
    /// Nothing is known yet.
    #[must_use]
    pub const fn new(kinetics: Kinetics) -> Self {
        Self { kinetics, boot: 0, past: VecDeque::new() }
    }

    /// Allows for other kinetics from now on; the past stays.
    pub const fn set_kinetics(&mut self, kinetics: Kinetics) {
        self.kinetics = kinetics;
    }

    /// Takes the reading of start `boot` at `ms` of probe time and judges it by those before it.
    ///
    /// `value` is the raw signal and `base_u` the standard uncertainty that the reading has without its
    /// motion, both in the signal's unit. A value that is not finite is passed over, and not known.
    pub fn push(&mut self, boot: u32, ms: u64, value: f64, base_u: f64) -> Movement {
        if !value.is_finite() {
            return Movement::default();
        }
        if self.past.back().is_some_and(|last| boot != self.boot || ms <= last.0) {
            self.past.clear();
        }
        self.boot = boot;
        if self.past.len() == READINGS {
            self.past.pop_front();
        }
        self.past.push_back((ms, value));
        self.judge(ms, base_u).unwrap_or_default()
    }

    fn judge(&self, now: u64, base_u: f64) -> Option<Movement> {
        if self.past.len() < READINGS {
            return None;
        }
        let minutes = |ms: u64| -((now - ms) as f64) / 60_000.0;
        let line =
            fit(self.past.iter().map(|past| Observation::new(minutes(past.0), past.1))).ok()?;
        let scatter = libm::fmax(libm::sqrt(line.residual_variance()?), self.kinetics.noise);
        let half = two_sided_95(READINGS - 2)? * scatter * libm::sqrt(line.covariance().slope);
        let rate = libm::fabs(line.slope);
        let to_come = self.kinetics.slowest_s / 60.0 * (rate + half);
        let hidden = to_come + rate * self.kinetics.lag_s / 60.0;
        Some(Movement {
            state: if to_come < base_u / 2.0 { State::Steady } else { State::Moving },
            response_u: Some(hidden / libm::sqrt(3.0)),
            rate_per_min: Some(line.slope),
        })
    }
}
