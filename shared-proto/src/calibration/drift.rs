//! How a sensor drifts, as far as its record keeps it.

use serde::{Deserialize, Serialize};

/// How one coefficient drifts: a rate that is the sensor's own, and a walk about it.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Drift {
    /// Rate in the coefficient's unit per day.
    pub rate_per_day: f32,
    /// Standard uncertainty of that rate.
    pub rate_uncertainty: f32,
    /// What the walk adds to the coefficient's variance in a day, in the square of its unit.
    pub walk_per_day: f32,
    /// How many differences of successive calibrations this rests on; 0 is the default of its kind.
    pub differences: u16,
}

/// How the coefficients of one sensor drift.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum SensorDrift {
    /// An electrode.
    Electrode {
        /// Its offset, in mV.
        offset_mv: Drift,
        /// Its slope fraction.
        slope: Drift,
    },
    /// A cell: the logarithm of its constant, that is its relative change.
    Cell {
        /// Relative (1 = 100 %).
        relative: Drift,
    },
    /// A thermometer: its offset.
    Thermometer {
        /// In K.
        offset_k: Drift,
    },
}

/// The default of a kind of sensor whose fast ones drift by `a_week` in a week: a rate of 0.9 of that,
/// and a walk that makes 0.6 of it in a week. The two factors are an own choice: with them U covers
/// some 90 % and more of sensors by every other law (`cargo run -p rillmark-trials --example drift`; the least
/// is 89.5 %, of offsets with the seasons at 90 days).
/// So is [`PSEUDO_DIFFERENCES`]: with more, U of sensors that drift little stays more than twice as wide
/// as it need be after two calibrations (`tests/trials/REALITY.md`).
const fn usual(a_week: f32) -> Drift {
    let in_a_week = 0.6 * a_week;
    Drift {
        rate_per_day: 0.0,
        rate_uncertainty: 0.9 * a_week / 7.0,
        walk_per_day: in_a_week * in_a_week / 7.0,
        differences: 0,
    }
}

impl SensorDrift {
    /// An electrode of which nothing is known: an offset of 2.8 mV a week (1 to 3 mV once it is soaked) and 1 %
    /// of slope a month (0.2 to 1 %). Common practice; recalled, not checked.
    pub const ELECTRODE: Self =
        Self::Electrode { offset_mv: usual(2.8), slope: usual(0.01 * 7.0 / 30.4) };
    /// A cell of which nothing is known: 1 % a month. A clean one keeps to about 1 % a year (common
    /// practice; recalled, not checked); that water fouls it ten times faster is an own choice.
    pub const CELL: Self = Self::Cell { relative: usual(0.01 * 7.0 / 30.4) };
    /// A thermometer of which nothing is known: 0.05 K a year. Thermistors drift at the level of some
    /// tens of mK in two years, standard platinum ones by 5 mK a year (REFERENCES 27; abstracts seen); an own
    /// choice between.
    pub const THERMOMETER: Self = Self::Thermometer { offset_k: usual(0.05 * 7.0 / 365.0) };

    /// The drift of each coefficient.
    pub fn each(&self) -> impl Iterator<Item = &Drift> {
        let (first, second) = match self {
            Self::Electrode { offset_mv, slope } => (offset_mv, Some(slope)),
            Self::Cell { relative: only } | Self::Thermometer { offset_k: only } => (only, None),
        };
        core::iter::once(first).chain(second)
    }
}
