//! Prints how often U (k = 2) covers a truth drawn from its own statements, with the median U:
//!
//!     cargo run --release -p rillmark-trials --example coverage [-- RUNS]
//!
//! RUNS simulated probes of each kind (20 000).

use std::thread;

use rillmark_trials::coverage::{Coverage, Found, Scene, Stated, run};

fn found(scene: Scene, runs: u64) -> Vec<Found> {
    let workers = thread::available_parallelism().map_or(1, |count| count.get() as u64);
    thread::scope(|scope| {
        let work = |worker: u64| {
            move || -> Vec<Found> {
                (0..runs)
                    .filter(|number| number % workers == worker)
                    .flat_map(|number| run(scene, number))
                    .collect()
            }
        };
        let handles: Vec<_> = (0..workers).map(|worker| scope.spawn(work(worker))).collect();
        handles.into_iter().flat_map(|handle| handle.join().expect("no trial panics")).collect()
    })
}

fn main() {
    let runs = std::env::args().nth(1);
    let runs = runs.map_or(20_000, |text| text.parse().expect("RUNS is a whole number"));
    println!(
        "{:<48} {:<22} {:>7} {:>9} {:>14} {:>8}",
        "calibration and sample", "stated", "runs", "covered", "median U(k=2)", "rms of u"
    );
    for scene in Scene::ALL {
        let all = found(scene, runs);
        for stated in Stated::ALL {
            let those: Vec<Found> =
                all.iter().filter(|found| found.stated == stated).copied().collect();
            if let Some(coverage) = Coverage::of(&those) {
                println!(
                    "{:<48} {:<22} {:>7} {:>7.2} % {:>9.4} {:<4} {:>8.3}",
                    scene.name(),
                    stated.name(),
                    coverage.runs,
                    100.0 * coverage.covered,
                    coverage.median_u,
                    stated.unit(),
                    coverage.scaled,
                );
            }
        }
    }
}
