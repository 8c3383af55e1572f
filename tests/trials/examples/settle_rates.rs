//! Prints how often the settle rules accept too early, and how much time they waste:
//!
//!     cargo run --release -p rillmark-trials --example settle_rates [-- RUNS [tuned]]
//!
//! RUNS of each kind (1000). Seeds and time constants are none of those that the rules were tuned
//! with; `tuned` takes those instead.

use std::thread;

use rillmark_trials::settle::{Case, Course, Kind, Rates, run};

fn courses(kind: Kind, runs: u64, tuned: bool) -> Vec<Course> {
    let workers = thread::available_parallelism().map_or(1, |count| count.get() as u64);
    thread::scope(|scope| {
        let work = |worker: u64| {
            move || -> Vec<Course> {
                let mine = (0..runs).filter(|number| number % workers == worker);
                mine.map(|number| run(&Case::drawn(kind, number, tuned))).collect()
            }
        };
        let handles: Vec<_> = (0..workers).map(|worker| scope.spawn(work(worker))).collect();
        handles.into_iter().flat_map(|handle| handle.join().expect("no trial panics")).collect()
    })
}

fn main() {
    let mut arguments = std::env::args().skip(1);
    let runs = arguments.next().map_or(1_000, |text| text.parse().expect("RUNS is a whole number"));
    let tuned = arguments.next().is_some_and(|text| text == "tuned");
    let set = if tuned { "the seeds and time constants of the tuning" } else { "unseen ones" };
    println!("{runs} approaches of each kind, with {set}.\n");
    println!(
        "{:<40} {:<12} {:>6} {:>8} {:>8} {:>8} {:>8} {:>8} {:>9} {:>8} {:>8}",
        "approach",
        "judged",
        "limit",
        "too",
        "patience",
        "ended",
        "wasted",
        "wasted",
        "95 % had",
        "bound",
        "estimate"
    );
    println!(
        "{:<40} {:<12} {:>6} {:>8} {:>8} {:>8} {:>8} {:>8} {:>9} {:>8} {:>8}",
        "", "", "", "early", "in vain", "rightly", "median", "90 %", "to come", "held", "within 2×"
    );
    for kind in Kind::ALL {
        let courses = courses(kind, runs, tuned);
        for &judged in kind.judged() {
            let rates = Rates::of(&courses, judged);
            let percent = |count: usize| 100.0 * count as f64 / rates.runs as f64;
            let limit = format!("{} {}", judged.limit(), judged.unit());
            println!(
                "{:<40} {:<12} {limit:>6} {:>6.1} % {:>6.1} % {:>6.1} % {:>6.1} s {:>6.1} s {:>9.3} {:>6.1} % {}",
                kind.name(),
                format!("{judged:?}").to_lowercase(),
                percent(rates.false_accepts),
                percent(rates.timed_out_in_vain),
                percent(rates.timed_out_rightly),
                rates.wasted_s.0,
                rates.wasted_s.1,
                rates.accepted_with,
                100.0 * rates.bounded,
                rates.estimated.map_or("     -".into(), |part| format!("{:>6.1} %", 100.0 * part)),
            );
        }
    }
}
