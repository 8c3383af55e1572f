//! Whether the doubt that drift adds to a calibration is right, over sensors that drift by laws other than
//! the rule's.
//!
//! Each run is one coefficient of one sensor: its course of four months and more is drawn by one of the
//! laws, calibrations at irregular intervals find it with an error of their own, and so many days after
//! the last one the difference is compared with what calibration and drift state.

mod laws;

use rillmark_metrology::drift::Check;
use rillmark_metrology::drift::Drifting;
use rillmark_proto::calibration::drift::{Drift, SensorDrift};

pub use self::laws::Law;
use super::coverage::Chance;
use rillmark_bench::random::Random;

/// Which coefficient drifts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Coefficient {
    /// Offset of an electrode, in mV.
    Offset,
    /// Its slope fraction.
    Slope,
    /// A cell constant, relative.
    Cell,
    /// Offset of a thermometer, in K.
    Thermometer,
}

impl Coefficient {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Offset, Self::Slope, Self::Cell, Self::Thermometer];

    /// What to call it, with its unit.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Offset => "offset, mV",
            Self::Slope => "slope fraction",
            Self::Cell => "cell constant, relative",
            Self::Thermometer => "thermometer, K",
        }
    }

    /// The default of its kind.
    pub const fn kind(self) -> Drift {
        match (self, SensorDrift::ELECTRODE, SensorDrift::CELL, SensorDrift::THERMOMETER) {
            (Self::Offset, SensorDrift::Electrode { offset_mv, .. }, ..) => offset_mv,
            (Self::Slope, SensorDrift::Electrode { slope, .. }, ..) => slope,
            (Self::Cell, _, SensorDrift::Cell { relative }, _) => relative,
            (_, _, _, SensorDrift::Thermometer { offset_k }) => offset_k,
            // The three constants are of these kinds.
            _ => panic!(),
        }
    }

    /// What such a coefficient changes by in a week, between a slow sensor and a fast one: a sixth of them
    /// are slower, a sixth faster. Offset and slope: recalled, not checked (1 to 3 mV a week, 0.2 to 1 % a
    /// month). Cell: 1 % a year when clean (recalled, not checked) to 1 % a month (no source). Thermometer:
    /// 5 mK a year as the best of platinum (seen, abstract) to 50 mK a year (no source).
    const fn a_week(self) -> (f64, f64) {
        match self {
            Self::Offset => (1.0, 3.0),
            Self::Slope => (0.2e-2 * 7.0 / 30.4, 1e-2 * 7.0 / 30.4),
            Self::Cell => (1e-2 * 7.0 / 365.0, 1e-2 * 7.0 / 30.4),
            Self::Thermometer => (5e-3 * 7.0 / 365.0, 50e-3 * 7.0 / 365.0),
        }
    }

    /// Standard uncertainty of a calibration, about as the routine's are.
    const fn of_calibration(self) -> f64 {
        match self {
            Self::Offset => 0.6,
            Self::Slope => 3e-3,
            Self::Cell => 4e-3,
            Self::Thermometer => 0.05,
        }
    }
}

/// Days since the last calibration at which it is looked.
pub const AGES: [usize; 4] = [1, 7, 30, 90];

/// What was found at one age.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aged {
    /// Days since the last calibration.
    pub days: usize,
    /// How far the coefficient then is from the one in force.
    pub off: f64,
    /// The standard uncertainty that calibration and drift state.
    pub u: f64,
}

/// How one sensor that was calibrated so many times after the first drifts away from the last one.
pub fn run(coefficient: Coefficient, law: Law, differences: usize, number: u64) -> [Aged; 4] {
    let stream = 64 + 8 * law as u64 + coefficient as u64;
    let mut chance = Chance::new(Random::new(number, stream));
    let mut days = vec![0];
    for _ in 0..differences {
        let last = days[days.len() - 1];
        days.push(last + chance.between(14.0, 46.0) as usize);
    }
    let last = days[differences];
    let course = law.course(coefficient.a_week(), last + AGES[3] + 1, &mut chance);
    let u = coefficient.of_calibration();
    let errors: Vec<f64> = days.iter().map(|_| chance.normal(u)).collect();
    let found = |at: usize| course[days[at]] + errors[at];
    let (kind, standard_uncertainty) = (coefficient.kind(), libm::hypot(u, u));
    let drift = (1..=differences).fold(kind, |drift, at| {
        let days = (days[at] - days[at - 1]) as f64;
        let difference = found(at) - found(at - 1);
        drift.after(&Check { days, difference, standard_uncertainty }, &kind)
    });
    AGES.map(|age| Aged {
        days: age,
        off: course[last + age] - found(differences),
        u: libm::sqrt(u * u + drift.variance_after(age as f64, 0.0, None, &[])),
    })
}

/// How well U (k = 2) covered, and how it compares with what the truth would have needed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Held {
    /// Part of the sensors of which U covered the truth, 0 to 1.
    pub covered: f64,
    /// Median of U over the 95 % quantile of how far off they were.
    pub of_need: f64,
}

impl Held {
    /// Sums up sensors of one age; `None` of nothing.
    pub fn of(aged: &[Aged]) -> Option<Self> {
        let sorted = |of: fn(&Aged) -> f64| {
            let mut all: Vec<f64> = aged.iter().map(of).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        let (off, u) = (sorted(|one| one.off.abs()), sorted(|one| 2.0 * one.u));
        let covered = aged.iter().filter(|one| one.off.abs() <= 2.0 * one.u).count();
        let need = off.get(off.len() * 95 / 100)?;
        Some(Self { covered: covered as f64 / aged.len() as f64, of_need: u[u.len() / 2] / need })
    }
}
