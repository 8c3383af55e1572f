//! What is promised of any signal whatever.

use std::vec::Vec;

use proptest::prelude::*;

use super::{Kinetics, Motion, Movement, State};

const U: f64 = 1.0;

/// Boot, ms, value, standard uncertainty.
type Push = (u32, u64, f64, f64);

fn all(motion: &mut Motion, pushes: &[Push]) -> Vec<Movement> {
    pushes.iter().map(|&(boot, ms, value, u)| motion.push(boot, ms, value, u)).collect()
}

fn fresh() -> Motion {
    Motion::new(Kinetics::ELECTRODE)
}

/// Noise that is the same every time.
fn noise(n: u64) -> f64 {
    0.1 * ((n * 7_919 % 101) as f64 / 101.0 - 0.5)
}

fn any_value() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -400.0..400.0,
        2 => any::<f64>(),
        1 => Just(f64::NAN),
        1 => Just(f64::INFINITY),
        1 => Just(1e6),
        1 => Just(0.0),
    ]
}

/// Anything that could come: times that fall, stand or leap, several starts, all floats.
fn anything() -> impl Strategy<Value = Vec<Push>> {
    let ms = prop_oneof![3 => 0_u64..100_000, 1 => any::<u64>(), 1 => Just(u64::MAX)];
    proptest::collection::vec((0_u32..3, ms, any_value(), any_value()), 0..60)
}

/// Readings that follow each other, as intervals in ms and values.
fn course() -> impl Strategy<Value = Vec<(u64, f64)>> {
    let interval = prop_oneof![
        6 => 250_u64..20_000,
        1 => Just(60_000),
        1 => 100_000_u64..4_000_000,
    ];
    let value = prop_oneof![6 => -0.3..0.3, 1 => -50.0..50.0, 1 => any_value()];
    proptest::collection::vec((interval, value), 1..120)
}

fn pushes(boot: u32, from_ms: u64, course: &[(u64, f64)], u: f64) -> Vec<Push> {
    let mut ms = from_ms;
    course
        .iter()
        .map(|&(interval, value)| {
            ms += interval;
            (boot, ms, value, u)
        })
        .collect()
}

proptest! {
    /// Nothing panics, and what is said is a number.
    #[test]
    fn bears_anything(pushes in anything()) {
        for movement in all(&mut fresh(), &pushes) {
            let known = movement.state != State::NotKnown;
            prop_assert_eq!(movement.response_u.is_some(), known);
            prop_assert_eq!(movement.rate_per_min.is_some(), known);
            prop_assert!(movement.response_u.is_none_or(|u| u.is_finite() && u >= 0.0));
            prop_assert!(movement.rate_per_min.is_none_or(f64::is_finite));
        }
    }

    /// What was before a start of the probe makes no difference.
    #[test]
    fn a_start_forgets_everything(before in anything(), course in course()) {
        let after = pushes(7, 0, &course, U);
        let mut used = fresh();
        all(&mut used, &before);
        prop_assert_eq!(all(&mut used, &after), all(&mut fresh(), &after));
    }

    /// A reading is judged by raw signals and its own uncertainty: those of others, the hour and the sign
    /// make no difference.
    #[test]
    fn depends_on_nothing_else(course in course(), later in 0_u64..1 << 60, us in any_value()) {
        let plain = all(&mut fresh(), &pushes(1, 0, &course, U));
        prop_assert_eq!(&all(&mut fresh(), &pushes(1, later, &course, U)), &plain);

        let mut others = pushes(1, 0, &course, us);
        if let Some(last) = others.last_mut() {
            last.3 = U;
        }
        let judged = all(&mut fresh(), &others);
        prop_assert_eq!(judged.last(), plain.last());

        let mirrored: Vec<_> = course.iter().map(|&(interval, value)| (interval, -value)).collect();
        for (a, b) in plain.iter().zip(all(&mut fresh(), &pushes(1, 0, &mirrored, U))) {
            prop_assert_eq!((a.state, a.response_u), (b.state, b.response_u));
        }
    }

    /// Readings that are not there, and those of the same moment, are passed over.
    #[test]
    fn passes_over_what_is_missing(course in course(), missing in any::<u64>()) {
        let finite: Vec<_> = course
            .into_iter()
            .map(|(interval, value)| (interval, if value.abs() <= 400.0 { value } else { 0.0 }))
            .collect();
        let readings = pushes(1, 0, &finite, U);
        let mut motion = fresh();
        for (n, (&push, want)) in readings.iter().zip(all(&mut fresh(), &readings)).enumerate() {
            if missing >> (n % 64) & 1 == 1 {
                let lost = motion.push(push.0, push.1 - 100, f64::NAN, U);
                prop_assert_eq!(lost, Movement::default());
            }
            prop_assert_eq!(motion.push(push.0, push.1, push.2, push.3), want);
            prop_assert_eq!(motion.push(push.0, push.1, 9.0, push.3), want);
        }
    }

    /// Without noise the bound holds for any two time constants up to the slowest, on still water and on
    /// one that goes the same way, however the readings are spaced.
    #[test]
    fn no_more_is_to_come_than_it_says(
        tau_min in (0.05..5.0, 0.05..5.0),
        size in (1.0..300.0, 1.0..300.0),
        rate in 0.0..1.0,
        interval_ms in prop_oneof![250_u64..5_000, 5_000_u64..90_000],
        jitter in proptest::collection::vec(0.5..1.0, 17),
    ) {
        let mut motion = fresh();
        let mut ms = 0;
        for n in 0..400 {
            let minute = ms as f64 / 60_000.0;
            let tail = |size: f64, tau: f64| size * libm::exp(-minute / tau);
            let (a, b) = (tail(size.0, tau_min.0), tail(size.1, tau_min.1));
            let movement = motion.push(1, ms, rate * minute - a - b, U);
            if let Some(u) = movement.response_u {
                // The quick part lags 15 s, the slow one the slowest time constant.
                let of_rate = rate * Kinetics::ELECTRODE.lag_s / 60.0;
                let hidden = a + b + of_rate;
                prop_assert!(u * libm::sqrt(3.0) >= 0.98 * hidden, "{n}: {u} for {hidden}");
            }
            ms += (jitter[n % jitter.len()] * interval_ms as f64) as u64 + 1;
        }
    }
}

fn feed(
    motion: &mut Motion,
    ms: core::ops::Range<u64>,
    every: usize,
    at: impl Fn(u64) -> f64,
) -> Movement {
    let mut last = Movement::default();
    for ms in ms.step_by(every) {
        last = motion.push(1, ms, at(ms) + noise(ms / every as u64), U);
    }
    last
}

#[test]
fn a_signal_that_stands_is_steady_from_a_minute_on() {
    let mut motion = fresh();
    assert_eq!(feed(&mut motion, 0..55_000, 1_000, |_| 12.0).state, State::NotKnown);
    let known = feed(&mut motion, 55_000..65_000, 1_000, |_| 12.0);
    assert_eq!(known.state, State::Steady, "{known:?}");
    let later = feed(&mut motion, 65_000..600_000, 1_000, |_| 12.0);
    assert_eq!(later.state, State::Steady, "{later:?}");
    assert!(later.response_u.unwrap() < 0.2 * known.response_u.unwrap(), "{later:?}");
}

#[test]
fn a_reading_off_the_line_is_not_known_and_leaves_no_trace() {
    let (mut with, mut without) = (fresh(), fresh());
    feed(&mut with, 0..600_000, 1_000, |_| 0.0);
    feed(&mut without, 0..600_000, 1_000, |_| 0.0);
    assert_eq!(with.push(1, 599_500, 8.0, U), Movement::default());
    for ms in (600_000..700_000).step_by(1_000) {
        let push = |motion: &mut Motion| motion.push(1, ms, noise(ms / 1_000), U);
        assert_eq!(push(&mut with), push(&mut without));
    }
}

#[test]
fn a_move_begins_anew_and_is_seen_at_once() {
    let mut motion = fresh();
    assert_eq!(feed(&mut motion, 0..1_200_000, 10_000, |_| 0.0).state, State::Steady);
    let fall = |ms: u64| 100.0 * libm::exp(-((ms - 1_200_000) as f64) / 15_000.0);
    assert_eq!(motion.push(1, 1_203_000, fall(1_203_000), U).state, State::NotKnown);
    for ms in (1_213_000..1_260_000).step_by(10_000) {
        assert_eq!(motion.push(1, ms, fall(ms), U).state, State::Moving, "{ms}");
    }
}

#[test]
fn a_pause_begins_anew_and_a_regular_interval_does_not() {
    for (every, pause_ms) in [(1_000, 11_000), (60_000, 400_000), (3_600_000, 20_000_000)] {
        let mut motion = fresh();
        let end = 200 * every as u64;
        assert_ne!(feed(&mut motion, 0..end, every, |_| 0.0).state, State::NotKnown);
        let next = motion.push(1, end + pause_ms, 0.0, U);
        assert_eq!(next.state, State::NotKnown, "{every}");
        let few = motion.push(1, end + pause_ms + 5_000.max(every as u64), 20.0, U);
        assert_eq!(few.state, State::Moving, "{every}");
    }
}

/// A pause does not make the next, shorter one look regular; another interval soon does.
#[test]
fn every_pause_begins_anew_and_another_interval_is_no_pause() {
    let mut motion = fresh();
    feed(&mut motion, 0..200_000, 1_000, |_| 0.0);
    feed(&mut motion, 3_800_000..3_804_000, 1_000, |_| 0.0);
    assert_eq!(motion.push(1, 5_604_000, 100.0, U).state, State::NotKnown);

    let mut motion = fresh();
    feed(&mut motion, 0..200_000, 1_000, |_| 0.0);
    assert_ne!(feed(&mut motion, 260_000..1_200_000, 60_000, |_| 0.0).state, State::NotKnown);
}

#[test]
fn a_clock_that_steps_back_begins_anew() {
    let mut motion = fresh();
    feed(&mut motion, 1_000_000..1_600_000, 1_000, |_| 0.0);
    assert_eq!(feed(&mut motion, 500_000..540_000, 1_000, |_| 0.0).state, State::NotKnown);
    assert_ne!(feed(&mut motion, 540_000..580_000, 1_000, |_| 0.0).state, State::NotKnown);
}

#[test]
fn a_water_that_goes_on_one_way_is_changing_and_a_slow_lake_steady() {
    // 0.01 and 0.002 pH/min in mV.
    for (mv_per_min, state) in [(0.59, State::Changing), (0.118, State::Steady)] {
        for (every, sign) in [(1_000, 1.0), (10_000, -1.0), (60_000, 1.0)] {
            let climbs = |ms: u64| sign * mv_per_min * ms as f64 / 60_000.0;
            let found = feed(&mut fresh(), 0..3_600_000, every, climbs);
            assert_eq!(found.state, state, "{mv_per_min} every {every}: {found:?}");
            let rate = found.rate_per_min.unwrap() * sign;
            assert!((rate / mv_per_min - 1.0).abs() < 0.2, "{found:?}");
        }
    }
}

#[test]
fn a_slower_curve_lengthens_what_is_allowed_for() {
    // Ten minutes, though the kinetics allow for five.
    let tail = |ms: u64| 60.0 * libm::exp(-(ms as f64) / 600_000.0);
    for minutes in [15_u64, 20, 25] {
        let end = minutes * 60_000;
        let found = feed(&mut fresh(), 0..end, 1_000, tail);
        let bound = found.response_u.unwrap() * libm::sqrt(3.0);
        assert!(bound > tail(end), "{minutes} min: {bound} for {}", tail(end));
    }
}

#[test]
fn without_an_uncertainty_nothing_is_steady() {
    for u in [f64::NAN, f64::INFINITY, 0.0, -1.0] {
        let mut motion = fresh();
        feed(&mut motion, 0..600_000, 1_000, |_| 0.0);
        assert_eq!(motion.push(1, 600_000, noise(600), u).state, State::Moving, "{u}");
    }
}

#[test]
fn other_kinetics_leave_the_past() {
    let mut motion = fresh();
    let before = feed(&mut motion, 0..900_000, 10_000, |_| 0.0);
    let weak =
        Kinetics::electrode([], Some(rillmark_proto::units::MicrosiemensPerCm::new(50.0)), None);
    motion.set_kinetics(weak);
    let after = feed(&mut motion, 900_000..910_000, 10_000, |_| 0.0);
    assert_ne!(after.state, State::NotKnown);
    assert!(after.response_u > before.response_u);
}

#[test]
fn the_past_stays_small() {
    for every in [1, 250, 10_000] {
        let mut motion = fresh();
        feed(&mut motion, 0..30_000 * every as u64, every, |ms| (ms as f64 * 1e-6).sin());
        let (cells, held) = (motion.past.cells(), motion.stretches.held());
        assert!(cells <= 600 && held <= 300, "{every} ms: {cells} cells, {held} bounds");
    }
}
