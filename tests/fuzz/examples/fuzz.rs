//! Tries every door through which something comes in from outside:
//! `cargo run --release -p rillmark-fuzz --example fuzz -- [TARGET|all [SEED [INPUTS]]]`.
//!
//! INPUTS are those of all targets together; of a single one they are its own. A *whole* input is one in which
//! something could be read. What fails is saved, and with `TARGET FILE` in place of numbers tried again.

use std::fs;
use std::process::ExitCode;
use std::time::Instant;

use rillmark_fuzz::targets::{all, by_name};
use rillmark_fuzz::{Target, portion, run};

/// The most failures of a target that are saved.
const SHOWN: usize = 5;

const USAGE: &str = "fuzz [TARGET|all [SEED [INPUTS]]], or fuzz TARGET FILE";

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let name = arguments.first().map_or("all", String::as_str);
    let targets: Vec<Target> =
        all().into_iter().filter(|target| name == "all" || name == target.name).collect();
    if let (Some(target), Some(Ok(input))) = (by_name(name), arguments.get(1).map(fs::read)) {
        println!("whole: {}", (target.check)(&input));
        return ExitCode::SUCCESS;
    }
    let number = |at: usize, usual| arguments.get(at).map_or(Ok(usual), |text| text.parse());
    let (Ok(seed), Ok(inputs)) = (number(1, 1_u64), number(2, 1_000_000_u64)) else {
        eprintln!("{USAGE}");
        return ExitCode::from(2);
    };
    if targets.is_empty() {
        let names: Vec<_> = all().iter().map(|target| target.name).collect();
        eprintln!("{USAGE}; TARGET is one of {}", names.join(", "));
        return ExitCode::from(2);
    }
    println!("seed {seed}");
    println!("  {:14} {:>11} {:>8} {:>9} {:>8}", "", "inputs", "whole", "a second", "failed");
    let (mut tried, mut failed, began) = (0, 0, Instant::now());
    for target in &targets {
        let own = if targets.len() == 1 { inputs } else { portion(target, inputs) };
        let (seen, took) = one(target, seed, own);
        let [a_second, percent] =
            [own as f64 / took, 100.0 * seen.whole as f64 / own.max(1) as f64];
        println!(
            "  {:14} {own:>11} {percent:>6.1} % {a_second:>9.0} {:>8}",
            target.name, seen.failed
        );
        for failure in seen.failures.iter().take(SHOWN) {
            let file = format!("{}-{seed}-{}.input", target.name, failure.number);
            let saved = fs::write(&file, &failure.input);
            println!("    {}", failure.said.replace('\n', "\n    "));
            match saved {
                Ok(()) => println!(
                    "    cargo run --release -p rillmark-fuzz --example fuzz -- {} {file}",
                    target.name
                ),
                Err(error) => println!("    input {} cannot be saved: {error}", failure.number),
            }
        }
        (tried, failed) = (tried + own, failed + seen.failed);
    }
    println!("  {:14} {tried:>11} in {:.0} s, {failed} failed", "", began.elapsed().as_secs_f64());
    if failed > 0 { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// What came of it, and how many seconds it took.
fn one(target: &Target, seed: u64, inputs: u64) -> (rillmark_fuzz::Report, f64) {
    let began = Instant::now();
    let report = run(target, seed, inputs);
    (report, began.elapsed().as_secs_f64())
}
