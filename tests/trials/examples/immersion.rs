//! Prints how often *steady*, *moving* and *changing* are right, the table of
//! `tests/trials/IMMERSION.md`:
//!
//!     cargo run --release -p rillmark-trials --example immersion [-- SEEDS]
//!
//! SEEDS sensors in each scene (200), and an eighth of them whole probes. Ends with exit code 1 when a
//! promise is broken.

use std::process::ExitCode;
use std::thread;

use rillmark_metrology::motion::State;
use rillmark_trials::motion::electrode::{MV_PER_PH, Scene, run};
use rillmark_trials::motion::probe::{Signal, judge, readings};
use rillmark_trials::motion::{Tally, promise};

/// Whole probes take longer.
const PROBES_PART: u64 = 8;

/// Adds up what each seed gives, on all cores.
fn over<const N: usize>(seeds: u64, take: impl Fn(u64, &mut [Tally; N]) + Sync) -> [Tally; N] {
    let workers = thread::available_parallelism().map_or(1, |count| count.get() as u64);
    thread::scope(|scope| {
        let handles: Vec<_> = (0..workers)
            .map(|worker| {
                let take = &take;
                scope.spawn(move || {
                    let mut tallies = [(); N].map(|()| Tally::default());
                    (worker..seeds).step_by(workers as usize).for_each(|s| take(s, &mut tallies));
                    tallies
                })
            })
            .collect();
        let mut all = [(); N].map(|()| Tally::default());
        for handle in handles {
            let found = handle.join().expect("no trial panics");
            for (all, found) in all.iter_mut().zip(found) {
                *all = std::mem::take(all).with(found);
            }
        }
        all
    })
}

fn percent(part: Option<f64>) -> String {
    part.map_or("–".into(), |part| format!("{:.1}", 100.0 * part))
}

fn row(name: &str, interval_s: u32, u: &str, tally: &Tally, told: &str) {
    let parts = [State::NotKnown, State::Steady, State::Moving, State::Changing]
        .map(|state| percent(Some(tally.part(state))));
    let covered = [State::Steady, State::Moving, State::Changing].map(|state| {
        let of = tally.of(state);
        match of.covered() {
            None => "–".into(),
            covered => format!("{} ({})", percent(covered), percent(of.covered_bare())),
        }
    });
    let wide = tally.of(State::Moving).wide().map_or("–".into(), |wide| format!("{wide:.1}"));
    println!(
        "| {name} | {interval_s} s | {u} | {} | {} | {wide} | {} | {told} |",
        parts.join(" | "),
        covered.join(" | "),
        percent(tally.small_steady()),
    );
}

fn main() -> ExitCode {
    let seeds = std::env::args().nth(1);
    let seeds: u64 = seeds.map_or(200, |text| text.parse().expect("SEEDS is a whole number"));
    println!(
        "| water | every | u | not known | steady | moving | changing | steady covered | moving covered \
         | changing covered | width | small steady | told |"
    );
    println!("|---|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|--:|");
    let (mut broken, mut first) = (Vec::new(), Vec::new());
    for scene in Scene::PROMISED.into_iter().chain([Scene::SLOW_TAILS]) {
        for interval_s in [1, 10, 60] {
            let scene = scene.every(interval_s);
            for u_ph in [0.010, 0.018, 0.037] {
                let [tally] = over(seeds, |seed, [tally]| {
                    let judged = run(&scene, interval_s, u_ph, seed);
                    tally.take(&judged, MV_PER_PH * u_ph, interval_s);
                });
                if let Some(known) = tally.first_known().filter(|_| u_ph == 0.018) {
                    first.push(format!("{} % at {interval_s} s", percent(Some(known))));
                }
                let told = percent(Some(tally.told_in_time()));
                row(scene.name, interval_s, &format!("{u_ph:.3}"), &tally, &told);
                if scene != Scene::SLOW_TAILS.every(interval_s) {
                    let those = promise::broken(&scene, &tally).into_iter();
                    broken.extend(
                        those.map(|what| format!("{}, {interval_s} s, {u_ph}: {what}", scene.name)),
                    );
                }
            }
        }
    }
    for (name, before_min) in [("", 0), (", moved", 30)] {
        for interval_s in [10, 60] {
            let tallies: [Tally; 3] = over(seeds.div_ceil(PROBES_PART), |seed, tallies| {
                let readings = readings(interval_s, before_min, seed);
                for (tally, signal) in tallies.iter_mut().zip(Signal::ALL) {
                    tally.take(&judge(&readings, signal), signal.u(), interval_s);
                }
            });
            for (tally, signal) in tallies.iter().zip(Signal::ALL) {
                let name = format!("{}{name}", signal.name());
                row(&name, interval_s, signal.u_text(), tally, "–");
                let those = promise::uncovered(tally).into_iter();
                broken.extend(those.map(|what| format!("{name}, {interval_s} s: {what}")));
            }
        }
    }
    println!("\nFirst readings after a move of which something is said: {}.", first.join(", "));
    for what in &broken {
        eprintln!("broken: {what}");
    }
    if broken.is_empty() { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
