//! Prints how the diagnoses of many sick and healthy probes compare with the truth.
//!
//!     cargo run --release -p rillmark-bench --example fault_table -- [SEEDS [FIRST]]
//!
//! The limits were tuned on seeds 0 to 999; the first seed is 100 000 unless another one is given.
//! Every seed is one visit for each fault and each trouble that the rules do not know at ten severities,
//! ten to a healthy probe, two for each pair of faults, and one for each unknown trouble beside a fault,
//! at five extents of evidence. The columns:
//!
//! - right: exactly what is true; for an unknown trouble "cannot be named", for a healthy probe "nothing";
//! - told: the evidence cannot show the fault, and the answer says that it did not look or cannot tell;
//! - slight: below the severity from which the fault has to show, and not found;
//! - unsure: unsure or unclear, the true cause among the candidates;
//! - missed: it has to show and was not found, or the answer rules out what is there;
//! - wrong: another cause was named, or a healthy probe alarmed.
//!
//! With FAULT_TABLE_VERBOSE set, the answers to pairs and every wrong or missed answer with its signs are
//! printed too. Ends with exit code 1 when, with the full evidence, a bound of `BOUNDS` is exceeded.

use std::process::ExitCode;
use std::{env, thread};

use fault_table::chance::Chance;
use fault_table::table::{Run, Tally, mixed, pairs, singles};
use fault_table::visit::Extent;

#[path = "../tests/fault_table/mod.rs"]
mod fault_table;

/// With the full evidence, in percent at most: faults of known kinds named wrongly and missed, unknown
/// troubles given a name, healthy probes alarmed and unclear, unsure at severity 0.5 and more.
const BOUNDS: [f64; 6] = [2.0, 2.0, 5.0, 0.5, 10.0, 25.0];

fn row(name: &str, tally: &Tally) {
    let percent = |of| tally.percent(of);
    println!(
        "{name:<42}{:>6}{:>7.1}{:>7.1}{:>7.1}{:>7.1}{:>7.1}{:>7.1}",
        tally.count(),
        percent(tally.right),
        percent(tally.permitted),
        percent(tally.slight),
        percent(tally.unsure),
        percent(tally.missed),
        percent(tally.wrong)
    );
}

fn main() -> ExitCode {
    let mut arguments = env::args().skip(1).map(|word| word.parse::<u64>().expect("a number"));
    let seeds = arguments.next().unwrap_or(50);
    let first = arguments.next().unwrap_or(100_000);
    let verbose = env::var_os("FAULT_TABLE_VERBOSE").is_some();
    let mut within = true;
    for extent in Extent::ALL {
        let run = whole(first, seeds, extent);
        println!("\n{extent:?}: seeds {first} to {}", first + seeds - 1);
        println!(
            "{:<42}{:>6}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}",
            "percent of visits", "visits", "right", "told", "slight", "unsure", "missed", "wrong"
        );
        for (name, tally) in run.scores.iter().filter(|(name, _)| !name.contains('+')) {
            row(name, tally);
        }
        row("one known fault", &run.single);
        row("one known fault, severity 0.5 and more", &run.single_medium);
        row("two known faults", &run.pairs);
        row("two known faults, severity 0.5 and more", &run.pairs_medium);
        row("an unknown trouble", &run.unknown);
        row("an unknown trouble, severity 0.5 and more", &run.unknown_medium);
        row("an unknown trouble beside a known fault", &run.mixed);
        let reached = [
            run.wrong_percent(),
            run.missed_percent(),
            run.falsely_named_percent(),
            run.alarmed_percent(),
            run.unclear_percent(),
            run.unsure_percent(),
        ];
        println!(
            "known faults: {:.2} % wrong, {:.2} % missed; unknown troubles named {:.2} %; healthy: \
             {:.2} % alarmed, {:.2} % unclear; unsure at 0.5 and more {:.1} %",
            reached[0], reached[1], reached[2], reached[3], reached[4], reached[5]
        );
        if extent == Extent::Full {
            within = reached.iter().zip(BOUNDS).all(|(is, bound)| *is <= bound);
        }
        println!("\nanswers to one fault or none");
        for (truth, answers) in
            run.answers.iter().filter(|(name, _)| verbose || !name.contains('+'))
        {
            let mut answers: Vec<_> = answers.iter().collect();
            answers.sort_by_key(|(_, count)| std::cmp::Reverse(**count));
            let text: Vec<_> =
                answers.iter().map(|(name, count)| format!("{name} {count}")).collect();
            println!("  {truth}: {}", text.join(", "));
        }
        if verbose {
            for (seed, truth, answer) in &run.wrong {
                println!("wrong: seed {seed}, {truth:?}: {answer}");
            }
        }
    }
    if within { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}

/// All cases of all seeds, on as many threads as there are cores.
fn whole(first: u64, seeds: u64, extent: Extent) -> Run {
    let threads = thread::available_parallelism().map_or(1, usize::from) as u64;
    thread::scope(|scope| {
        let parts: Vec<_> = (0..threads)
            .map(|part| {
                scope.spawn(move || {
                    let mut run = Run::default();
                    for seed in (first..first + seeds).filter(|seed| seed % threads == part) {
                        visits(&mut run, seed, extent);
                    }
                    run
                })
            })
            .collect();
        parts.into_iter().map(|part| part.join().expect("no visit fails")).fold(
            Run::default(),
            |mut all, part| {
                all.merge(part);
                all
            },
        )
    })
}

fn visits(run: &mut Run, seed: u64, extent: Extent) {
    let mut chance = Chance::new(seed, 9);
    // As many healthy visits as there are of one fault.
    for visit in 0..10 {
        run.take(seed | visit << 40, &Vec::new(), extent);
    }
    for truth in singles() {
        run.take(seed, &truth, extent);
    }
    for (one, other) in pairs() {
        let mut severity = || chance.between(0.1, 1.0);
        run.take(seed, &vec![(one, severity()), (other, severity())], extent);
        let mut severity = || chance.between(0.5, 1.0);
        run.take(seed, &vec![(one, severity()), (other, severity())], extent);
    }
    for truth in mixed(&mut chance) {
        run.take(seed, &truth, extent);
    }
}
