//! The reference electrode's junction: what motion, clogging and contamination do to its potential.
//!
//! The sizes are invented within what the trade tells (common practice, no source); only the rule
//! that a healthy junction shows less than 0.02 pH of the water's motion is published (Covington and
//! Davison in the CRC Handbook; seen).

use super::wandering::{Stream, sign, uniform, wandering};
use crate::faults::{Ailment, Ailments};
use crate::truth::Truth;

/// What a clogged junction shows of the water's motion, in mV at severity 1: the thin film before it
/// is exchanged in motion and depletes at rest.
const CLOGGED_STIR_MV: f64 = 8.0;
/// How restless it is, in mV: the filling solution comes through now and then.
const CLOGGED_WANDERING_MV: f64 = 2.0;
/// Within this time, in s.
const CLOGGED_WANDERING_S: f64 = 12.0;
/// How far a new solution throws it off, in mV.
const CLOGGED_STEP_MV: f64 = 25.0;
/// How fast it forgets the last solution, in s at severity 0 and more at 1.
const CLOGGED_FORGETS_S: (f64, f64) = (40.0, 120.0);
/// What stays of its offset, in mV.
const CLOGGED_OFFSET_MV: f64 = 15.0;
/// Offset of a contaminated junction, in mV: another salt or a precipitate, so another potential.
const CONTAMINATED_OFFSET_MV: f64 = 60.0;
/// How far its offset moves on in every solution, in mV: what got in is washed out and comes back.
const CONTAMINATED_MOVES_MV: f64 = 40.0;
/// Within this time, in s.
const CONTAMINATED_MOVES_S: f64 = 900.0;
/// How far a reference swings, in mV.
const SWING_MV: f64 = 12.0;
/// In a time between these, in s.
const SWING_S: (f64, f64) = (90.0, 400.0);
/// Motion matters this many times more in water without salt …
const DILUTE_FACTOR: f64 = 4.0;
/// … fading over this conductivity, in µS/cm.
const DILUTE_US_CM: f64 = 50.0;
/// How fast the film before the junction follows the stirrer, in s.
pub(crate) const STIR_S: f64 = 3.0;

/// Where the junction is and since when.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Scene {
    /// Seed of the bench.
    pub(crate) seed: u64,
    /// Time in s.
    pub(crate) s: f64,
    /// How long it has stood in this solution, in s.
    pub(crate) age_s: f64,
    /// Number of the solution, counted from the bench's start.
    pub(crate) placing: u64,
    /// How much of the water's motion it has taken up, 0 to 1.
    pub(crate) stirred: f64,
    /// Conductivity of the solution in µS/cm.
    pub(crate) conductivity_us_cm: f64,
}

/// Potential of the junction in mV beside the healthy one at rest, which is part of the offset.
pub(crate) fn potential_mv(scene: &Scene, truth: &Truth, ailments: &Ailments) -> f64 {
    let Scene { seed, s, age_s, placing, stirred, conductivity_us_cm } = *scene;
    let clogged = ailments.of(Ailment::CloggedJunction);
    let contaminated = ailments.of(Ailment::ContaminatedJunction);
    let dilute = 1.0 + DILUTE_FACTOR * libm::exp(-conductivity_us_cm / DILUTE_US_CM);
    let direction = sign(seed, Stream::Signs, 1);
    let mut mv = stirred * dilute * direction * (truth.stir_mv + CLOGGED_STIR_MV * clogged);
    if clogged > 0.0 {
        let (least_s, more_s) = CLOGGED_FORGETS_S;
        let step = CLOGGED_STEP_MV
            * sign(seed, Stream::JunctionStep, placing)
            * (0.6 + 0.8 * uniform(seed, Stream::Junction, placing));
        mv += clogged
            * (sign(seed, Stream::Signs, 2) * CLOGGED_OFFSET_MV
                + step * libm::exp(-age_s / (least_s + more_s * clogged))
                + CLOGGED_WANDERING_MV * wandering(seed, Stream::Junction, s, CLOGGED_WANDERING_S));
    }
    if contaminated > 0.0 {
        let moved = 1.0 - libm::exp(-age_s / CONTAMINATED_MOVES_S);
        mv += contaminated
            * sign(seed, Stream::Signs, 3)
            * (CONTAMINATED_OFFSET_MV + CONTAMINATED_MOVES_MV * moved);
    }
    mv + swing_mv(seed, s, ailments)
}

/// A reference that swings, at any hour and in any solution alike.
fn swing_mv(seed: u64, s: f64, ailments: &Ailments) -> f64 {
    let severity = ailments.of(Ailment::SwingingReference);
    if severity == 0.0 {
        return 0.0;
    }
    let (shortest_s, longest_s) = SWING_S;
    let period_s = shortest_s * libm::pow(longest_s / shortest_s, uniform(seed, Stream::Swing, 0));
    let turns = s / period_s + uniform(seed, Stream::Swing, 1);
    severity * SWING_MV * libm::sin(core::f64::consts::TAU * turns)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scene(stirred: f64, age_s: f64) -> Scene {
        Scene { seed: 6, s: 100.0 + age_s, age_s, placing: 2, stirred, conductivity_us_cm: 6e3 }
    }

    #[test]
    fn a_healthy_junction_shows_less_than_0_02_ph_of_the_waters_motion() {
        for seed in 0..200 {
            let at = |stirred| {
                let scene = Scene { seed, ..scene(stirred, 60.0) };
                potential_mv(&scene, &Truth::seeded(seed), &Ailments::default())
            };
            // 0.02 pH at 58 mV per pH (Covington and Davison, CRC Handbook; seen).
            assert!((at(1.0) - at(0.0)).abs() < 0.02 * 58.0);
            assert_eq!(at(0.0), 0.0);
        }
    }

    #[test]
    fn clogging_shows_in_motion_and_in_every_new_solution() {
        let truth = Truth::seeded(6);
        let at = |severity, stirred, age_s| {
            let ailments = Ailments::only(Ailment::CloggedJunction, severity);
            potential_mv(&scene(stirred, age_s), &truth, &ailments)
        };
        let stir = |severity| (at(severity, 1.0, 300.0) - at(severity, 0.0, 300.0)).abs();
        assert!(stir(0.2) < stir(0.6) && stir(0.6) < stir(1.0) && stir(0.5) > 3.0);
        assert!((at(1.0, 0.0, 0.0) - at(1.0, 0.0, 900.0)).abs() > 5.0);
    }

    #[test]
    fn contamination_shifts_the_offset_and_moves_it_on() {
        let truth = Truth::seeded(6);
        let at = |severity, age_s| {
            let ailments = Ailments::only(Ailment::ContaminatedJunction, severity);
            potential_mv(&scene(0.0, age_s), &truth, &ailments).abs()
        };
        assert!(at(0.5, 0.0) > 20.0 && at(1.0, 0.0) > at(0.5, 0.0));
        let per_min = at(0.5, 60.0) - at(0.5, 0.0);
        assert!((0.5..2.0).contains(&per_min), "{per_min}");
    }

    #[test]
    fn a_swing_turns_and_grows_with_its_severity() {
        let most = |severity| {
            let ailments = Ailments::only(Ailment::SwingingReference, severity);
            let at = |s: u32| swing_mv(6, f64::from(s), &ailments);
            let (low, high) =
                (0..400).map(at).fold((0.0, 0.0), |(l, h), mv| (mv.min(l), mv.max(h)));
            assert!(severity == 0.0 || low < 0.0 && high > 0.0);
            high - low
        };
        assert!(most(0.0) == 0.0 && most(0.3) < most(0.6) && most(1.0) > 20.0);
    }
}
