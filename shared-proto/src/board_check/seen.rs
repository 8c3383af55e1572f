//! What a few readings of one step say.

use crate::reading::{Flags, Reading};

/// Readings after a step was connected that do not count: the range is found, the input settles.
const SKIPPED: u32 = 2;
/// Readings of a step that count.
pub const READINGS: u32 = 5;

/// Mean and standard deviation of a signal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Mean {
    /// The mean.
    pub value: f64,
    /// Standard deviation of one reading.
    pub scatter: f64,
}

/// What was seen in one step. A signal that a reading lacked is `None`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Seen {
    /// Flags that any reading had.
    pub flags: Flags,
    /// Potential in mV.
    pub potential_mv: Option<Mean>,
    /// Conductance in S; kept when it is flagged.
    pub conductance_s: Option<Mean>,
    /// Resistance of the thermometer in Ω.
    pub thermometer_ohm: Option<Mean>,
}

/// Takes the readings of a step.
#[derive(Clone, Copy, Debug, Default)]
pub struct Collector {
    skipped: u32,
    flags: Flags,
    potential_mv: Sums,
    conductance_s: Sums,
    thermometer_ohm: Sums,
    taken: u32,
}

#[derive(Clone, Copy, Debug, Default)]
struct Sums {
    count: u32,
    first: f64,
    sum: f64,
    squares: f64,
}

impl Sums {
    fn add(&mut self, value: Option<f64>) {
        let Some(value) = value else { return };
        if self.count == 0 {
            self.first = value;
        }
        // About the first value, so that the squares do not cancel.
        let away = value - self.first;
        self.count += 1;
        self.sum += away;
        self.squares += away * away;
    }

    fn mean(&self, of: u32) -> Option<Mean> {
        if self.count < of || of < 2 {
            return None;
        }
        let count = f64::from(self.count);
        let variance = (self.squares - self.sum * self.sum / count) / (count - 1.0);
        Some(Mean {
            value: self.first + self.sum / count,
            scatter: libm::sqrt(libm::fmax(variance, 0.0)),
        })
    }
}

impl Collector {
    /// Takes one reading; what was seen, once there are enough.
    pub fn reading(&mut self, reading: &Reading) -> Option<Seen> {
        if self.skipped < SKIPPED {
            self.skipped += 1;
            return None;
        }
        let raw = &reading.raw;
        self.flags = self.flags.with(reading.flags);
        self.potential_mv.add(raw.potential().map(|potential| potential.get()));
        self.conductance_s.add(raw.conductance.map(|raw| raw.conductance_ps as f64 * 1e-12));
        self.thermometer_ohm.add(raw.thermometer_milliohm.map(|raw| f64::from(raw) * 1e-3));
        self.taken += 1;
        (self.taken >= READINGS).then(|| Seen {
            flags: self.flags,
            potential_mv: self.potential_mv.mean(self.taken),
            conductance_s: self.conductance_s.mean(self.taken),
            thermometer_ohm: self.thermometer_ohm.mean(self.taken),
        })
    }
}
