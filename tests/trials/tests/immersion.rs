//! Steady, moving and changing are right as often as is promised, and U covers, on a smaller scale than
//! `cargo run --release -p rillmark-trials --example immersion`.

use rillmark_metrology::motion::State;
use rillmark_trials::motion::electrode::{MV_PER_PH, Scene, run};
use rillmark_trials::motion::probe::{Signal, judge, readings};
use rillmark_trials::motion::{Judged, Tally, promise};

/// Sensors of each scene, none of which the thorough run has.
const SEEDS: std::ops::Range<u64> = 1_000_000..1_000_020;

fn tally(scene: &Scene, interval_s: u32, u_ph: f64) -> Tally {
    let mut tally = Tally::default();
    for seed in SEEDS {
        let judged = run(&scene.every(interval_s), interval_s, u_ph, seed);
        tally.take(&judged, MV_PER_PH * u_ph, interval_s);
    }
    tally
}

#[test]
fn what_is_promised_holds() {
    for scene in Scene::PROMISED {
        for interval_s in [1, 10, 60] {
            for u_ph in [0.010, 0.018, 0.037] {
                let tally = tally(&scene, interval_s, u_ph);
                let broken = promise::broken(&scene, &tally);
                assert!(broken.is_empty(), "{}, {interval_s} s, {u_ph}: {broken:?}", scene.name);
            }
        }
    }
}

/// The first reading in other water has only the other water before it, so nothing is said of it, unless it
/// was taken before the sensor had begun to follow.
#[test]
fn the_first_reading_after_a_move_is_not_known() {
    for (interval_s, most) in [(1, 0.25), (10, 0.05), (60, 0.05)] {
        let known = tally(&Scene::MOVED, interval_s, 0.018).first_known().unwrap();
        assert!(known <= most, "{interval_s} s: {known}");
    }
}

/// The check can fail: without the response U does not cover a moving reading, and tails slower than
/// those that are allowed for are covered by nobody.
#[test]
fn what_is_not_covered_is_noticed() {
    let still = tally(&Scene::STILL, 10, 0.018);
    let bare = still.of(State::Moving).covered_bare().unwrap();
    assert!(bare < promise::MOVING_COVERED, "{bare}");
    let slow = tally(&Scene::SLOW_TAILS, 10, 0.018);
    assert!(!promise::uncovered(&slow).is_empty());
}

/// A log that begins right after an immersion, and one during which the probe is moved: what is far from
/// its end is moving, in all three signals, from the third reading on at the latest; before it is not known.
#[test]
fn a_probe_in_new_water_is_moving() {
    for before_min in [0, 30] {
        for interval_s in [10, 60] {
            let mut tallies = [(); 3].map(|()| Tally::default());
            for seed in 1_000_000..1_000_004 {
                let readings = readings(interval_s, before_min, seed);
                for (tally, signal) in tallies.iter_mut().zip(Signal::ALL) {
                    let judged = judge(&readings, signal);
                    tally.take(&judged, signal.u(), interval_s);
                    let there = judged.iter().filter(|judged| judged.minute >= 0.0);
                    let far = |judged: &&Judged| judged.off.abs() > 3.0 * signal.u();
                    // The very first one may have been taken before anything followed.
                    for (n, judged) in there.enumerate().skip(1).filter(|(_, judged)| far(judged)) {
                        let state = judged.movement.state;
                        let right = state == State::Moving || n == 1 && state == State::NotKnown;
                        assert!(right, "{signal:?}, seed {seed}, {interval_s} s, {n}: {judged:?}");
                    }
                }
            }
            for (tally, signal) in tallies.iter().zip(Signal::ALL) {
                let uncovered = promise::uncovered(tally);
                assert!(uncovered.is_empty(), "{signal:?}, {interval_s} s: {uncovered:?}");
            }
        }
    }
}
