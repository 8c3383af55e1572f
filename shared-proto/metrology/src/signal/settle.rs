//! Settled or not: a sliding window over probe timestamps.
//!
//! A signal has settled when the window is long enough, the scatter about its drift is small, and
//! the change still to come is below a limit **whatever the time constant**: an exponential approach
//! of time constant τ that drifts by d has τ·|d| to come, so no approach up to the slowest one
//! allowed for has more than that one's τ times the drift, with the half width of the drift's two-sided 95 % interval added.
//! Waiting for a small drift alone would not do: a slow glass hides under a small drift what a
//! fast one has long behind it.
//!
//! How often the rules accept too early and how much time they waste is measured on the bench:
//! `cargo run --release -p rillmark-trials --example settle_rates`.

use heapless::{Deque, Vec};

use super::approach::{self, Approach, Past};
use crate::least_squares::{self, Line, Observation, two_sided_95};

/// The most readings that a window holds: 24 s at four a second.
pub const MAX_READINGS: usize = 96;

/// The fewest readings that a drift is told from by their own scatter: two coefficients, and the
/// three degrees of freedom that its 95 % interval needs. A rule that takes fewer lives by its noise.
pub const LEAST_READINGS: usize = 5;

/// Coverage factor of a 95 % interval whose deviation is known beforehand (normal distribution).
const NORMAL_95: f64 = 1.96;

const MS_PER_MIN: f64 = 60_000.0;
/// A longer wait than an hour is not told.
const MOST_REMAINING_MS: f64 = 3_600_000.0;

/// When a signal counts as settled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// Shortest span of the window in ms of probe time.
    pub span_ms: u64,
    /// Longest span in ms: a window grows up to it when noise alone, and no drift that stands out
    /// from it, leaves the change still to come open.
    pub longest_ms: u64,
    /// Fewest readings in it, at least 3.
    pub readings: usize,
    /// Longest pause between two readings in ms; a longer one starts the window anew.
    pub pause_ms: u64,
    /// Largest change still to come, in the signal's unit.
    pub to_come: f64,
    /// The slowest time constant in ms that the limit holds for.
    pub slowest_ms: f64,
    /// Largest standard deviation about the drift, in the signal's unit.
    pub scatter: f64,
    /// Standard deviation of one reading that is always allowed for, in the signal's unit: a window
    /// that scatters less by luck is not taken for better.
    pub noise: f64,
    /// Where the limits come from.
    pub source: &'static str,
}

impl Rule {
    /// The drift per minute, interval included, at which the change still to come is at its limit.
    pub fn drift_per_min(&self) -> f64 {
        self.to_come * MS_PER_MIN / self.slowest_ms
    }
}

/// The rule for an electrode potential in mV: 0.6 mV is 0.01 pH (common practice, no source; published
/// limits for a sample are wider: 0.05 pH in 1 min, HJ 1147-2020, known from a commentary only).
/// Allowing for 155 s makes the limit hold for glass of up to 120 s, whose electrode wanders besides
/// (tuned on the bench, as the spans and the noise are measured there).
pub const POTENTIAL: Rule = Rule {
    span_ms: 24_000,
    longest_ms: 24_000,
    readings: 40,
    pause_ms: 5_000,
    to_come: 0.6,
    slowest_ms: 155_000.0,
    scatter: 0.3,
    noise: 0.01,
    source: "common practice, no source",
};

/// The rule for a conductance in percent of itself: 0.3 % is a third of the uncertainty that a usual
/// standard has (common practice, no source).
pub const CONDUCTANCE: Rule = Rule {
    span_ms: 18_000,
    // At 12 mS/cm a reading scatters by 0.1 %, which takes about a minute.
    longest_ms: 150_000,
    readings: 8,
    pause_ms: 6_000,
    to_come: 0.3,
    slowest_ms: 60_000.0,
    scatter: 0.2,
    noise: 0.002,
    source: "common practice, no source",
};

/// The rule for a conductance in µS with the cell in air: 0.01 µS is a tenth of a percent at 10 µS/cm
/// and a cell constant of 1 /cm (common practice, no source). A film of water that dries shows as a
/// drift.
pub const AIR: Rule = Rule {
    span_ms: 18_000,
    longest_ms: 60_000,
    readings: 8,
    pause_ms: 6_000,
    to_come: 0.01,
    slowest_ms: 60_000.0,
    scatter: 0.02,
    noise: 0.000_5,
    source: "common practice, no source",
};

/// The rule for a thermometer in K beside a cell, read every second or two: 0.1 K is 0.2 % of a
/// conductance (common practice, no source).
pub const TEMPERATURE_BESIDE_CELL: Rule = Rule {
    span_ms: 24_000,
    longest_ms: 24_000,
    readings: 8,
    pause_ms: 6_000,
    to_come: 0.1,
    slowest_ms: 60_000.0,
    scatter: 0.1,
    noise: 0.004,
    source: "common practice, no source",
};

/// The rule for a thermometer in K beside an electrode, read every 11 s: 0.1 K is 0.03 % of a slope.
pub const TEMPERATURE_BESIDE_PH: Rule = Rule {
    span_ms: 20_000,
    longest_ms: 20_000,
    readings: 3,
    pause_ms: 15_000,
    ..TEMPERATURE_BESIDE_CELL
};

/// The rule for a thermometer in K that is itself calibrated: half of what it may be off beside
/// another sensor, as its error then goes into every reading.
pub const TEMPERATURE: Rule =
    Rule { pause_ms: 15_000, to_come: 0.05, scatter: 0.02, ..TEMPERATURE_BESIDE_CELL };

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
    /// Change still to come in the signal's unit (end less present value), by an exponential approach
    /// fitted to the window; `None` where it does not stand out from the noise.
    pub to_come: Option<f64>,
    /// Upper estimate of the size of the change still to come, for every time constant that the rule
    /// allows for; `None` while it cannot be told.
    pub to_come_bound: Option<f64>,
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

    /// The rule.
    pub const fn rule(&self) -> &Rule {
        &self.rule
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
        let wanted_ms = self.wanted_ms();
        // The oldest reading goes when the window is long enough without it.
        while self.entries.iter().nth(1).is_some_and(|second| ms - second.ms >= wanted_ms) {
            self.entries.pop_front();
        }
        if self.entries.is_full() {
            self.entries.pop_front();
        }
        // There is room: a full deque has just lost its front.
        let _ = self.entries.push_back(Entry { ms, value, with });
    }

    /// How long a window the readings so far ask for: longer than the rule's shortest where the half
    /// width of the drift's interval, which falls with the span to the power of 3/2, leaves too much
    /// open and no drift stands out from it.
    fn wanted_ms(&self) -> u64 {
        /// The part of the limit that the interval may take up.
        const PART: f64 = 0.7;
        let Rule { span_ms, longest_ms, .. } = self.rule;
        if longest_ms <= span_ms || self.span_ms() < span_ms {
            return span_ms;
        }
        match self.line(0) {
            Some((line, half_width)) if libm::fabs(line.slope) <= half_width => {
                let open = half_width / (PART * self.rule.drift_per_min());
                let wanted = self.span_ms() as f64 * libm::cbrt(open * open);
                (wanted as u64).clamp(span_ms, longest_ms)
            }
            _ => span_ms,
        }
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
        let Rule { span_ms, readings, scatter: most, .. } = self.rule;
        let part = |is: u64, of: u64| if is >= of { 1.0 } else { is as f64 / of as f64 };
        let filled = libm::fmin(
            part(self.span_ms(), span_ms),
            part(self.entries.len() as u64, readings as u64),
        );
        let window = span_ms.saturating_sub(self.span_ms());
        let Some((line, half_width)) = self.line(0) else {
            let remaining_ms = Some(window);
            return Verdict { fraction: filled / 2.0, remaining_ms, ..Verdict::default() };
        };
        let drift = line.slope;
        let scatter = line.residual_variance().map_or(0.0, libm::sqrt);
        let limit = self.rule.drift_per_min();
        // A turning point drifts nowhere as a whole, but its later half does.
        // In a window that has grown the later half's noise is larger than what is looked for.
        let grown = self.span_ms() > span_ms + span_ms / 2;
        let late = self.line(self.entries.len() / 2).map_or(drift, |(late, half_width)| {
            let noise = grown && libm::fabs(late.slope) <= half_width;
            if noise { drift } else { late.slope }
        });
        let most_drift = libm::fmax(libm::fabs(drift), libm::fabs(late)) + half_width;
        let long_enough = self.span_ms() >= span_ms && self.entries.len() >= readings;
        let settled = long_enough && most_drift <= limit && scatter <= most;
        let near = limit / libm::fmax(most_drift, limit);
        let approach = if libm::fabs(drift) > half_width { self.approach() } else { None };
        let remaining_ms = match (settled, most_drift <= limit) {
            (true, _) => Some(0),
            (false, true) => Some(window).filter(|_| scatter <= most),
            (false, false) => approach.and_then(|Approach { time_constant_ms, .. }| {
                // Drift and curvature, which widens the interval, fall with the time constant.
                let ms = time_constant_ms * libm::log(most_drift / limit);
                (ms.is_finite() && ms < MOST_REMAINING_MS).then_some(window.max(ms as u64))
            }),
        };
        Verdict {
            settled,
            drift_per_min: drift,
            half_width_per_min: Some(half_width),
            scatter,
            to_come: approach.map(|approach| approach.to_come),
            to_come_bound: Some(most_drift * self.rule.slowest_ms / MS_PER_MIN),
            fraction: if settled { 1.0 } else { filled * (0.5 + 0.49 * near) },
            remaining_ms,
        }
    }

    /// Line through the readings from one on, time in minutes, with the half width of its slope's
    /// 95 % interval; `None` when there are too few or no line.
    fn line(&self, from: usize) -> Option<(Line, f64)> {
        let start = self.entries.front()?.ms;
        if self.entries.len() - from < self.rule.readings.clamp(3, LEAST_READINGS) {
            return None;
        }
        let observations: Vec<Observation, MAX_READINGS> = self
            .entries
            .iter()
            .skip(from)
            .map(|entry| Observation::new((entry.ms - start) as f64 / MS_PER_MIN, entry.value))
            .collect();
        let line = least_squares::fit(observations.iter().copied()).ok()?;
        let known = NORMAL_95 * self.rule.noise;
        let found = two_sided_95(line.degrees_of_freedom())
            .zip(line.residual_variance())
            .map_or(0.0, |(factor, variance)| factor * libm::sqrt(variance));
        Some((line, libm::fmax(known, found) * libm::sqrt(line.covariance().slope)))
    }

    fn approach(&self) -> Option<Approach> {
        let now = self.entries.back()?.ms;
        let past: Vec<Past, MAX_READINGS> = self
            .entries
            .iter()
            .map(|entry| Past { age_ms: (now - entry.ms) as f64, value: entry.value })
            .collect();
        approach::fit(&past, self.rule.slowest_ms, self.rule.noise)
    }
}

#[cfg(test)]
mod tests;
