//! What a few readings of one step say.

use rillmark_proto::reading::{Flags, Reading};

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

/// What was seen in one step. A signal that a reading lacked is `None`; a potential that was on its way still
/// ([`Flags::NOT_SETTLED`]) is left out of its mean, which is `None` where fewer than two are left.
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

impl Seen {
    /// Whether there is no potential for the sole reason that it had not come to rest.
    pub fn is_unsettled(&self) -> bool {
        let is_over = self.flags.has(Flags::POTENTIAL_OVER_RANGE);
        self.potential_mv.is_none() && self.flags.has(Flags::NOT_SETTLED) && !is_over
    }
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
    /// Those of them whose potential had come to rest.
    settled: u32,
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

    /// Of all of `of` readings; `None` when one lacked it, or when they are fewer than two.
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
        if !reading.flags.has(Flags::NOT_SETTLED) {
            self.potential_mv.add(raw.potential().map(|potential| potential.get()));
            self.settled += 1;
        }
        self.conductance_s.add(raw.conductance.map(|raw| raw.conductance_ps as f64 * 1e-12));
        self.thermometer_ohm.add(raw.thermometer_milliohm.map(|raw| f64::from(raw) * 1e-3));
        self.taken += 1;
        (self.taken >= READINGS).then(|| Seen {
            flags: self.flags,
            potential_mv: self.potential_mv.mean(self.settled),
            conductance_s: self.conductance_s.mean(self.taken),
            thermometer_ohm: self.thermometer_ohm.mean(self.taken),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rillmark_proto::reading::{CalibrationsUsed, Computed, ProbeTime, Raw};

    /// What a step says of readings with these potentials in mV, flagged or not.
    fn seen(potentials: [(i32, Flags); READINGS as usize]) -> Seen {
        let mut collector = Collector::default();
        let skipped = [(77, Flags::NONE); SKIPPED as usize];
        let mut said = None;
        for (mv, flags) in skipped.into_iter().chain(potentials) {
            let raw = Raw {
                potential_nv: (mv != i32::MIN).then(|| mv * 1_000_000),
                thermometer_milliohm: Some(1_000_000),
                ..Raw::default()
            };
            let reading = Reading {
                running: 0,
                time: ProbeTime { boot: 1, ms: 0 },
                raw,
                flags,
                computed: Computed::default(),
                calibrations: CalibrationsUsed::default(),
            };
            said = collector.reading(&reading);
        }
        said.expect("enough readings")
    }

    #[test]
    fn what_was_on_its_way_still_is_no_part_of_a_mean() {
        const WAY: Flags = Flags::NOT_SETTLED;
        const REST: Flags = Flags::NONE;
        let of = seen([(150, WAY), (190, WAY), (200, REST), (202, REST), (204, REST)]);
        let mean = of.potential_mv.expect("three are left");
        assert!(libm::fabs(mean.value - 202.0) < 1e-9 && libm::fabs(mean.scatter - 2.0) < 1e-9);
        assert!(of.flags.has(WAY));
        // The others do not wait for the glass.
        assert_eq!(of.thermometer_ohm.map(|mean| mean.value), Some(1e3));
        let of = seen([(150, WAY), (180, WAY), (190, WAY), (195, WAY), (200, REST)]);
        assert_eq!(of.potential_mv, None);
        // One that is missing is still that.
        let of = seen([(150, WAY), (i32::MIN, REST), (200, REST), (200, REST), (200, REST)]);
        assert_eq!(of.potential_mv, None);
    }
}
