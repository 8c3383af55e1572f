//! Settled or not: a sliding window over probe timestamps.
//!
//! A signal has settled when the window is long enough, its drift is small **with confidence**
//! (|drift| plus the half width of the drift's two-sided 95 % interval stays below the limit) and
//! the scatter about the drift is small.

use heapless::{Deque, Vec};

use crate::least_squares::{self, Line, Observation, two_sided_95};

/// The most readings that a window holds.
pub const MAX_READINGS: usize = 64;

/// The fewest readings that a drift is told from: two coefficients, and the three degrees of freedom
/// that its 95 % interval needs.
pub const LEAST_READINGS: usize = 5;

/// When a signal counts as settled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Shortest span of the window in ms of probe time.
    pub span_ms: u64,
    /// Fewest readings in it.
    pub readings: usize,
    /// Longest pause between two readings in ms; a longer one starts the window anew.
    pub pause_ms: u64,
    /// Largest drift, in the signal's unit per minute.
    pub drift_per_min: f64,
    /// Largest standard deviation about the drift, in the signal's unit.
    pub scatter: f64,
    /// Where the limits come from.
    pub source: &'static str,
}

/// The rule for an electrode potential in mV. 0.5 mV/min is 0.008 pH/min, with a glass of 15 s
/// time constant 0.002 pH still to come; published limits for a sample are wider (0.05 pH in 1 min,
/// HJ 1147-2020, known from a commentary only).
pub const POTENTIAL: Rule = Rule {
    span_ms: 12_000,
    readings: 20,
    pause_ms: 5_000,
    drift_per_min: 0.5,
    scatter: 0.3,
    source: "common practice, no source",
};

/// The rule for a conductance in percent of itself.
pub const CONDUCTANCE: Rule = Rule {
    span_ms: 18_000,
    readings: 8,
    pause_ms: 6_000,
    drift_per_min: 0.6,
    scatter: 0.2,
    source: "common practice, no source",
};

/// The rule for a thermometer in K.
pub const TEMPERATURE: Rule = Rule {
    span_ms: 18_000,
    readings: 8,
    pause_ms: 15_000,
    drift_per_min: 0.05,
    scatter: 0.02,
    source: "common practice, no source",
};

/// What a window says about its signal.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Verdict {
    /// True when the rule is met.
    pub settled: bool,
    /// Drift in the signal's unit per minute; 0 while it cannot be told.
    pub drift_per_min: f64,
    /// Half width of the drift's 95 % interval; `None` while it cannot be told.
    pub half_width_per_min: Option<f64>,
    /// Standard deviation about the drift.
    pub scatter: f64,
    /// How far on the way, 0 to 1; 1 is settled.
    pub fraction: f64,
    /// Milliseconds that it still takes, where that can be told: the rest of the window's span, or
    /// the time an exponential approach needs, judged by how the drift fell within the window.
    pub remaining_ms: Option<u64>,
}

/// One reading in a window.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Entry<T> {
    /// Probe time in ms.
    pub ms: u64,
    /// The signal.
    pub value: f64,
    /// What the caller keeps with it.
    pub with: T,
}

/// A sliding window; `T` is whatever the caller wants back with the readings that settled.
#[derive(Clone, Debug)]
pub struct Window<T> {
    rule: Rule,
    boot: u32,
    entries: Deque<Entry<T>, MAX_READINGS>,
}

impl<T: Copy> Window<T> {
    /// An empty window.
    pub const fn new(rule: Rule) -> Self {
        Self { rule, boot: 0, entries: Deque::new() }
    }

    /// Forgets all readings.
    pub fn clear(&mut self) {
        self.entries.clear();
    }

    /// Takes a reading of start `boot` at `ms`. Another start, a step back or too long a pause
    /// begins the window anew; a value that is not finite is passed over.
    pub fn push(&mut self, boot: u32, ms: u64, value: f64, with: T) {
        if !value.is_finite() {
            return;
        }
        let follows = self.entries.back().is_none_or(|last| {
            boot == self.boot && ms > last.ms && ms - last.ms <= self.rule.pause_ms
        });
        if !follows {
            self.entries.clear();
        }
        self.boot = boot;
        // The oldest reading goes when the window is long enough without it.
        while self.entries.iter().nth(1).is_some_and(|second| ms - second.ms >= self.rule.span_ms) {
            self.entries.pop_front();
        }
        if self.entries.is_full() {
            self.entries.pop_front();
        }
        // There is room: a full deque has just lost its front.
        let _ = self.entries.push_back(Entry { ms, value, with });
    }

    /// The readings in the window, oldest first.
    pub fn entries(&self) -> impl ExactSizeIterator<Item = &Entry<T>> {
        self.entries.iter()
    }

    /// From the oldest to the newest reading in ms.
    pub fn span_ms(&self) -> u64 {
        match (self.entries.front(), self.entries.back()) {
            (Some(first), Some(last)) => last.ms - first.ms,
            _ => 0,
        }
    }

    /// Whether the signal has settled, and how far it is.
    pub fn verdict(&self) -> Verdict {
        let Rule { span_ms, readings, drift_per_min: limit, scatter: most, .. } = self.rule;
        let part = |is: u64, of: u64| if is >= of { 1.0 } else { is as f64 / of as f64 };
        let filled = libm::fmin(
            part(self.span_ms(), span_ms),
            part(self.entries.len() as u64, readings as u64),
        );
        let Some((line, half_width)) = self.line(0, self.entries.len()) else {
            let remaining_ms = Some(span_ms.saturating_sub(self.span_ms()));
            return Verdict { fraction: filled / 2.0, remaining_ms, ..Verdict::default() };
        };
        let drift = line.slope;
        let scatter = line.residual_variance().map_or(0.0, libm::sqrt);
        let bound = libm::fabs(drift) + half_width;
        let long_enough = self.span_ms() >= span_ms && self.entries.len() >= readings;
        let settled = long_enough && bound <= limit && scatter <= most;
        let near = limit / libm::fmax(bound, limit);
        let fraction = if settled { 1.0 } else { filled * (0.5 + 0.49 * near) };
        let window = span_ms.saturating_sub(self.span_ms());
        let remaining_ms = match (settled, bound <= limit) {
            (true, _) => Some(0),
            (false, true) => Some(window).filter(|_| scatter <= most),
            (false, false) => self.approach_ms(limit).map(|ms| ms.max(window)),
        };
        Verdict {
            settled,
            drift_per_min: drift,
            half_width_per_min: Some(half_width),
            scatter,
            fraction,
            remaining_ms,
        }
    }

    /// Line through some of the readings, time in minutes, with the half width of its slope's 95 %
    /// interval; `None` when there are fewer than four or no line.
    fn line(&self, from: usize, count: usize) -> Option<(Line, f64)> {
        let start = self.entries.front()?.ms;
        if count < LEAST_READINGS {
            return None;
        }
        let observations: Vec<Observation, MAX_READINGS> = self
            .entries
            .iter()
            .skip(from)
            .take(count)
            .map(|entry| Observation::new((entry.ms - start) as f64 / 60_000.0, entry.value))
            .collect();
        let line = least_squares::fit(observations.iter().copied()).ok()?;
        let covariance = line.covariance_from_scatter()?;
        let factor = two_sided_95(line.degrees_of_freedom())?;
        Some((line, factor * libm::sqrt(covariance.slope)))
    }

    /// How long an exponential approach still takes until its drift is below `limit`: the drift
    /// halves of the window tell the time constant.
    fn approach_ms(&self, limit: f64) -> Option<u64> {
        let half = self.entries.len() / 2;
        let (early, _) = self.line(0, half)?;
        let (late, half_width) = self.line(half, self.entries.len() - half)?;
        // A drift that does not stand out from its own noise says nothing about the time to come.
        if half_width > 0.5 * libm::fabs(late.slope) {
            return None;
        }
        let ratio = early.slope / late.slope;
        // Below 1.05 the drift does not fall: nothing can be told.
        if !ratio.is_finite() || ratio < 1.05 {
            return None;
        }
        let time_constant_ms = (self.span_ms() as f64 / 2.0) / libm::log(ratio);
        let ms = time_constant_ms * libm::log(libm::fabs(late.slope) / limit);
        (ms.is_finite() && ms < 3_600_000.0).then_some(libm::fmax(ms, 0.0) as u64)
    }
}

#[cfg(test)]
mod tests;
