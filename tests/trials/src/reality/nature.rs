//! What is true in the reality trials. Nothing here knows what the budgets say: laws and sizes are
//! from the literature or chosen, each with its tag, and no constant of the budgets is imported.

pub(super) mod bottle;
pub(super) mod cell;
pub(super) mod drift;
pub(super) mod glass;
pub(super) mod ions;
pub(super) mod thermometer;

use rillmark_bench::random::Random;

/// Draws.
pub struct Chance(Random);

impl Chance {
    /// The stream of trial number `number` of a topic.
    pub(super) fn new(topic: u64, number: u64) -> Self {
        Self(Random::new(number.wrapping_mul(1009).wrapping_add(topic), 9))
    }

    /// Anything between two values alike.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0.between(low, high)
    }

    /// The same by its logarithm.
    pub(super) fn in_ratio(&mut self, low: f64, high: f64) -> f64 {
        libm::exp(self.0.between(libm::log(low), libm::log(high)))
    }

    /// Anything within this of 0 alike.
    pub(super) fn within(&mut self, half: f64) -> f64 {
        self.between(-half, half)
    }

    /// Mostly small and sometimes large: two-sided exponential (Laplace) of this standard deviation.
    pub(super) fn tailed(&mut self, deviation: f64) -> f64 {
        let unit = self.between(-0.5, 0.5);
        let size = -libm::log(libm::fmax(1.0 - 2.0 * libm::fabs(unit), 1e-12));
        libm::copysign(size * deviation * core::f64::consts::FRAC_1_SQRT_2, unit)
    }

    /// Normal of this standard deviation.
    pub(super) fn normal(&mut self, deviation: f64) -> f64 {
        deviation * self.0.normal()
    }

    /// One by one, each of these alike.
    pub(super) fn of<T: Copy>(&mut self, all: &[T]) -> T {
        all[(self.0.bits() % all.len() as u64) as usize]
    }

    /// True so often, 0 to 1.
    pub(super) fn happens(&mut self, often: f64) -> bool {
        self.0.unit() < often
    }
}
