//! Damages stores with three generations of records in every way that a chip does, and counts what comes of
//! it: `cargo run --release -p rillmark-fuzz --example store_damage -- [SEED [PAIRS [RUNS [STEP]]]]`.
//! With a step of more than 1 not every bit is turned.
//!
//! *Not hit*: readings and records are as before, and nothing is said. *Mended*: the same, and the first start
//! says so. *Missing*: a record or what is fitted is not there, every start says so. *Refused*: the store is,
//! at every start. *Silent*: readings would be computed otherwise, or the boot count went back, unsaid.
//!
//! With `NAME DAMAGE` in place of numbers, as a failure prints them, that one alone.

use std::process::ExitCode;

use rillmark_fuzz::random::Random;
use rillmark_fuzz::store::{Damage, Generations, Verdict, generations};

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let all = generations();
    if let [name, damage] = arguments.as_slice()
        && let Some(damage) = Damage::from_text(damage)
    {
        for store in all.iter().filter(|store| store.name == name) {
            println!("{:?}", store.verdict(damage));
        }
        return ExitCode::SUCCESS;
    }
    let number = |at: usize, usual| arguments.get(at).map_or(Ok(usual), |text| text.parse());
    let numbers = [number(0, 1), number(1, 20_000), number(2, 20_000), number(3, 1)];
    let [Ok(seed), Ok(pairs), Ok(runs), Ok(step)] = numbers else {
        eprintln!("store_damage [SEED [PAIRS [RUNS [STEP]]]], or store_damage NAME DAMAGE");
        return ExitCode::from(2);
    };
    println!("seed {seed}, one bit in {step}, stores of {} bytes", all[0].size());
    println!(
        "  {:18} {:>7} {:>8} {:>8} {:>8} {:>8} {:>7} {:>6}",
        "", "tried", "not hit", "mended", "missing", "refused", "silent", "panics"
    );
    std::panic::set_hook(Box::new(|_| {}));
    let mut is_bad = false;
    for store in &all {
        let mut random = Random::new(seed as u64);
        let random_pairs: Vec<Damage> = (0..pairs).map(|_| store.pair(&mut random)).collect();
        let random_runs: Vec<Damage> = (0..runs).map(|_| store.run(&mut random)).collect();
        println!("{}", store.name);
        let bits = (0..store.size() * 8).step_by(step.max(1)).map(|at| Damage::Bit { at });
        is_bad |= row(store, "bits", bits);
        is_bad |= row(store, "pairs anywhere", random_pairs.into_iter());
        is_bad |= row(store, "pairs alike", store.alike().into_iter());
        is_bad |= row(store, "runs of 00 or ff", random_runs.into_iter());
    }
    if is_bad { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// Tries all of these and prints what came of them; true when something was silent or panicked.
fn row(store: &Generations, what: &str, damages: impl Iterator<Item = Damage>) -> bool {
    let [mut not_hit, mut mended, mut missing, mut refused, mut silent, mut panics] = [0; 6];
    for damage in damages {
        let verdict = store.verdict(damage);
        *match &verdict {
            Verdict::Whole { said: false } => &mut not_hit,
            Verdict::Whole { said: true } => &mut mended,
            Verdict::Missing => &mut missing,
            Verdict::Refused => &mut refused,
            Verdict::Silent(_) => &mut silent,
            Verdict::Panic(_) => &mut panics,
        } += 1;
        let is_bad = matches!(verdict, Verdict::Silent(_) | Verdict::Panic(_));
        if is_bad && silent + panics <= 5 {
            println!("    store_damage '{}' {damage}: {verdict:?}", store.name);
        }
    }
    let tried = not_hit + mended + missing + refused + silent + panics;
    println!(
        "  {what:18} {tried:>7} {not_hit:>8} {mended:>8} {missing:>8} {refused:>8} {silent:>7} {panics:>6}"
    );
    silent + panics > 0
}
