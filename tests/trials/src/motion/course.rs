//! Readings of an electrode that follows its water with two exponentials, in closed form.

use core::f64::consts::TAU;

use super::electrode::{Scene, Water};
use rillmark_bench::random::Random;

/// The quick time constant, in min.
const QUICK_MIN: f64 = 0.25;
const DAY_MIN: f64 = 1_440.0;
const MS_PER_MIN: f64 = 60_000.0;

/// A reading, beside the truth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reading {
    /// Probe time in ms.
    pub(super) ms: u64,
    /// Minutes since the sensor came into the water; below 0 before.
    pub(super) minute: f64,
    /// What is read.
    pub(super) ph: f64,
    /// True pH less what is read.
    pub(super) off_ph: f64,
    /// The same without noise: what the sensor's lag hides.
    pub(super) hidden_ph: f64,
    /// Standard deviation of the noise.
    pub(super) noise_ph: f64,
}

/// One sensor and its water.
#[derive(Clone, Debug)]
pub(super) struct Course {
    scene: Scene,
    random: Random,
    interval_ms: u64,
    /// Of the first reading, in ms after the sensor's first water.
    first_ms: u64,
    count: u64,
    /// Parts of a step with their time constants in min.
    parts: [(f64, f64); 2],
    step_ph: f64,
    rate: f64,
    phase: f64,
    noise_ph: f64,
}

impl Course {
    /// Sensor number `seed` of a scene.
    pub(super) fn drawn(scene: &Scene, interval_s: u32, seed: u64) -> Self {
        let interval_ms = u64::from(interval_s) * 1_000;
        // The scene's own name keeps its chances apart from the others'.
        let stream = scene.name.bytes().fold(u64::from(interval_s), |all, byte| {
            all.wrapping_mul(31).wrapping_add(u64::from(byte))
        });
        let mut random = Random::new(seed, stream);
        let slow_min = random.between(scene.tails_min.0, scene.tails_min.1);
        let quick_part = random.between(0.7, 0.9);
        let sign = if random.unit() < 0.5 { -1.0 } else { 1.0 };
        let rate = match scene.water {
            Water::Drifts(rate) => sign * rate,
            Water::Climbs(rate) => rate,
            Water::Still | Water::Day(_) => 0.0,
        };
        let step = random.between(0.5, 6.0) * if random.unit() < 0.5 { -1.0 } else { 1.0 };
        let interval_min = interval_ms as f64 / MS_PER_MIN;
        let first_min = random.between(0.0, interval_min.min(1.0));
        Self {
            interval_ms,
            first_ms: (first_min * MS_PER_MIN) as u64,
            count: ((scene.before_min + scene.for_min) / interval_min) as u64,
            parts: [(quick_part, QUICK_MIN), (1.0 - quick_part, slow_min)],
            step_ph: if scene.immersed { step } else { 0.0 },
            rate,
            phase: random.between(0.0, TAU),
            noise_ph: random.between(0.001, 0.003),
            scene: *scene,
            random,
        }
    }

    /// True pH, and what the lag hides of it.
    fn at(&self, minute: f64) -> (f64, f64) {
        let Self { scene, parts, step_ph, rate, phase, .. } = self;
        let weighed = |of: &dyn Fn(f64) -> f64| -> f64 {
            parts.iter().map(|(part, tau)| part * of(*tau)).sum()
        };
        if minute < 0.0 {
            // The water before stands still, and the sensor has long been in it.
            return (7.0 - step_ph, 0.0);
        }
        let decay = |tau: f64| if scene.immersed { libm::exp(-minute / tau) } else { 0.0 };
        let of_step = step_ph * weighed(&decay);
        let of_rate = rate * weighed(&|tau| tau * (1.0 - decay(tau)));
        let mut truth = 7.0 + rate * minute;
        let mut of_day = 0.0;
        if let Water::Day(amplitude) = scene.water {
            let omega = TAU / DAY_MIN;
            let at = omega * minute + phase;
            truth += amplitude * libm::sin(at);
            of_day = amplitude
                * weighed(&|tau| {
                    let behind = libm::atan(omega * tau);
                    libm::sin(at) - libm::sin(at - behind) * libm::cos(behind)
                });
        }
        (truth, of_step + of_rate + of_day)
    }
}

impl Iterator for Course {
    type Item = Reading;

    fn next(&mut self) -> Option<Reading> {
        self.count = self.count.checked_sub(1)?;
        let ms = self.first_ms;
        self.first_ms += self.interval_ms;
        let minute = ms as f64 / MS_PER_MIN - self.scene.before_min;
        let (truth, hidden_ph) = self.at(minute);
        let noise_ph = self.noise_ph;
        let noise = noise_ph * self.random.normal();
        let ph = truth - hidden_ph + noise;
        Some(Reading { ms, minute, ph, off_ph: hidden_ph - noise, hidden_ph, noise_ph })
    }
}

#[cfg(test)]
mod tests {
    use super::super::electrode::Scene;
    use super::Course;

    /// What is hidden obeys each lag's own differential equation: here by small steps of its own.
    #[test]
    fn a_lag_is_what_small_steps_give() {
        for scene in [Scene::STILL, Scene::CUP_20, Scene::DAY, Scene::LAKE] {
            let course = Course::drawn(&scene, 1, 3);
            let truth = |minute: f64| course.at(minute).0;
            let (from, step) = (0.5, 1e-4);
            // Each part on its own, begun where it is after half a minute.
            let alone = |index: usize| {
                let mut one = course.clone();
                one.parts = [(1.0, course.parts[index].1), (0.0, 1.0)];
                one
            };
            let mut shown = [0, 1].map(|index| {
                let (truth, hidden) = alone(index).at(from);
                truth - hidden
            });
            let mut minute = from;
            while minute < 4.0 {
                for (shown, (_, tau)) in shown.iter_mut().zip(course.parts) {
                    *shown += (truth(minute + 0.5 * step) - *shown) * step / tau;
                }
                minute += step;
            }
            let want: f64 =
                shown.iter().zip(course.parts).map(|(shown, (part, _))| part * shown).sum();
            let (truth, hidden) = course.at(minute);
            assert!(
                (truth - hidden - want).abs() < 2e-4,
                "{}: {}",
                scene.name,
                truth - hidden - want
            );
        }
    }
}
