//! How often a signal is called settled too early, too late or never, and how long is waited for it.
//!
//! A probe is moved from one solution into another and read at the sampler's rates until the guided
//! routine takes the point. Beside it stands the truth: what the sensor would still change if one
//! waited for ever, without noise.

mod course;
mod population;

pub use course::{Course, run};
pub use population::{Case, Kind, Seen};

use rillmark_metrology::signal::settle::{
    CONDUCTANCE, POTENTIAL, TEMPERATURE, TEMPERATURE_BESIDE_CELL,
};

/// What is judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Judged {
    /// The potential of the electrode.
    Potential,
    /// The conductance of the cell.
    Conductance,
    /// The thermometer beside an electrode or a cell.
    Temperature,
    /// The thermometer alone.
    Thermometer,
}

impl Judged {
    /// Largest change still to come, in the unit.
    pub const fn limit(self) -> f64 {
        match self {
            Self::Potential => POTENTIAL.to_come,
            Self::Conductance => CONDUCTANCE.to_come,
            Self::Temperature => TEMPERATURE_BESIDE_CELL.to_come,
            Self::Thermometer => TEMPERATURE.to_come,
        }
    }

    /// Unit of the change.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Potential => "mV",
            Self::Conductance => "%",
            Self::Temperature | Self::Thermometer => "K",
        }
    }
}

/// What many courses say about one judgement.
#[derive(Clone, Debug, PartialEq)]
pub struct Rates {
    /// Courses.
    pub runs: usize,
    /// Accepted while more than the limit was still to come.
    pub false_accepts: usize,
    /// Not accepted when the operator's patience had ended, though less than the limit was to come.
    pub timed_out_in_vain: usize,
    /// Not accepted when the patience had ended, and rightly so.
    pub timed_out_rightly: usize,
    /// From the moment with no more than the limit to come until it was accepted, in s: median and
    /// 90 % quantile of those rightly accepted.
    pub wasted_s: (f64, f64),
    /// Largest change still to come of 95 % of what was accepted, in the unit.
    pub accepted_with: f64,
    /// Part of all readings with a bound whose truth was within it, 0 to 1.
    pub bounded: f64,
    /// Part of the estimates within a factor of two of the truth, 0 to 1; `None` without any.
    pub estimated: Option<f64>,
}

fn quantile(sorted: &[f64], part: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    sorted.get((part * last as f64).round() as usize).copied().unwrap_or(f64::NAN)
}

fn sorted(values: impl Iterator<Item = f64>) -> Vec<f64> {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    values
}

impl Rates {
    /// Sums up what courses say about what was judged in each.
    pub fn of(courses: &[Course], judged: Judged) -> Self {
        let limit = judged.limit();
        let seen: Vec<&Seen> = courses.iter().filter_map(|course| course.seen(judged)).collect();
        let wasted = sorted(
            seen.iter()
                .filter(|seen| seen.left.is_some_and(|left| left <= limit))
                .filter_map(|seen| seen.wasted_s),
        );
        let left = sorted(seen.iter().filter_map(|seen| seen.left));
        let timed_out = |left_is: fn(f64, f64) -> bool| {
            seen.iter().filter(|seen| seen.timed_out.is_some_and(|at| left_is(at, limit))).count()
        };
        let sum = |count: fn(&Seen) -> usize| seen.iter().map(|seen| count(seen)).sum::<usize>();
        let (bounds, estimates) = (sum(|seen| seen.bounds), sum(|seen| seen.estimates));
        Self {
            runs: seen.len(),
            false_accepts: left.iter().filter(|left| **left > limit).count(),
            timed_out_in_vain: timed_out(|at, limit| at <= limit),
            timed_out_rightly: timed_out(|at, limit| at > limit),
            wasted_s: (quantile(&wasted, 0.5), quantile(&wasted, 0.9)),
            accepted_with: quantile(&left, 0.95),
            bounded: sum(|seen| seen.bounds_held) as f64 / bounds.max(1) as f64,
            estimated: (estimates > 0)
                .then(|| sum(|seen| seen.estimates_near) as f64 / estimates as f64),
        }
    }

    /// Part of the runs that were accepted too early, 0 to 1.
    pub fn false_accept_rate(&self) -> f64 {
        self.false_accepts as f64 / self.runs.max(1) as f64
    }
}
