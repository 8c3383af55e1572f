//! Whether stated uncertainties hold: how often twice the standard uncertainty covers the truth.
//!
//! Every error is drawn from the distribution that the budget states for it; then electrode, cell
//! and water go through the same fits, the same evaluation and the same budgets as those of a real
//! probe. What calibration and reading share (thermometer, gain) is drawn once for both.

mod cell;
mod electrode;

pub use cell::{Found, Standards, cell};
pub use electrode::{Buffers, electrode};

use crate::random::Random;
use rillmark_proto::reference::rtd;
use rillmark_proto::units::Celsius;

/// One value with its expanded uncertainty (k = 2) and what it should have been.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Covered {
    /// What was found minus the truth.
    pub error: f64,
    /// Twice the stated standard uncertainty.
    pub expanded: f64,
}

impl Covered {
    /// True when the truth lies within the expanded uncertainty.
    pub fn holds(&self) -> bool {
        self.error.abs() <= self.expanded
    }
}

/// Many of one kind.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Coverage(Vec<Covered>);

impl Coverage {
    /// Adds one.
    pub fn push(&mut self, covered: Covered) {
        self.0.push(covered);
    }

    /// Part of the truths that were covered, 0 to 1.
    pub fn part(&self) -> f64 {
        self.0.iter().filter(|one| one.holds()).count() as f64 / self.0.len() as f64
    }

    /// The median of the expanded uncertainties.
    pub fn median_expanded(&self) -> f64 {
        let mut sorted: Vec<_> = self.0.iter().map(|one| one.expanded).collect();
        sorted.sort_by(f64::total_cmp);
        sorted[sorted.len() / 2]
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// True without any.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// A thermometer that nobody has calibrated, and the temperature of the first beaker.
#[derive(Clone, Copy, Debug)]
struct Thermometer {
    standard_k: f64,
    error_k: f64,
}

impl Thermometer {
    fn drawn(random: &mut Random) -> Self {
        let standard_k = rtd::class_b_uncertainty(Celsius::new(25.0));
        Self { standard_k, error_k: standard_k * random.normal() }
    }

    /// What it reads at a temperature.
    fn reads(&self, celsius: f64) -> f64 {
        celsius + self.error_k
    }
}
