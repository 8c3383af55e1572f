//! Prints how the diagnoses of many sick and healthy probes compare with the truth.
//!
//!     cargo run --release -p rillmark-bench --example fault_table -- [SEEDS [FIRST]]
//!
//! The limits were tuned on seeds 0 to 999; the first seed is 100 000 unless another one is given.
//! Every seed is one visit for each of twelve faults at ten severities, ten to a healthy probe and two
//! for each pair of faults, at four extents of evidence. With FAULT_TABLE_VERBOSE set, the answers to
//! pairs and every wrong answer with its signs are printed too. Ends with exit code 1 when, with the full
//! evidence, more than 2 % of the answers are wrong, more than 2 % of the healthy probes alarmed, or
//! more than 25 % unsure at severity 0.5 and more.

use std::process::ExitCode;
use std::{env, thread};

use fault_table::chance::Chance;
use fault_table::table::{Run, Tally, pairs, singles};
use fault_table::visit::Extent;

#[path = "../tests/fault_table/mod.rs"]
mod fault_table;

fn row(name: &str, tally: &Tally) {
    println!(
        "{name:<44}{:>7}{:>8.1}{:>11.1}{:>9.1}{:>8.1}",
        tally.count(),
        tally.percent(tally.right),
        tally.percent(tally.permitted),
        tally.percent(tally.unsure),
        tally.percent(tally.wrong)
    );
}

fn main() -> ExitCode {
    let mut arguments = env::args().skip(1).map(|word| word.parse::<u64>().expect("a number"));
    let seeds = arguments.next().unwrap_or(50);
    let first = arguments.next().unwrap_or(100_000);
    let verbose = env::var_os("FAULT_TABLE_VERBOSE").is_some();
    let mut within = true;
    for extent in [Extent::Full, Extent::Calibration, Extent::FirstTime, Extent::Readings] {
        let run = whole(first, seeds, extent);
        println!("\n{extent:?}: seeds {first} to {}", first + seeds - 1);
        println!(
            "{:<44}{:>7}{:>8}{:>11}{:>9}{:>8}",
            "truth", "visits", "right %", "permitted %", "unsure %", "wrong %"
        );
        for (name, tally) in run.scores.iter().filter(|(name, _)| !name.contains('+')) {
            row(name, tally);
        }
        row("one fault, severity 0.5 and more", &run.single_medium);
        row("two faults", &run.pairs);
        row("two faults, severity 0.5 and more", &run.pairs_medium);
        println!(
            "wrong {:.2} %, healthy alarmed {:.2} %, unsure at 0.5 and more {:.1} %",
            run.wrong_percent(),
            run.alarmed_percent(),
            run.unsure_percent()
        );
        if extent == Extent::Full {
            within = run.wrong_percent() <= 2.0
                && run.alarmed_percent() <= 2.0
                && run.unsure_percent() <= 25.0;
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
}
