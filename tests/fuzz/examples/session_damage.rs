//! Damages session files in every way that a disk does, and counts what comes of it:
//! `cargo run --release -p rillmark-fuzz --example session_damage -- [SEED [PAIRS [RUNS [PIECES [STEP]]]]]`.
//! With a step of more than 1 not every bit is turned and not every cut is made.
//!
//! *Told*: something is missing or doubtful, and replay says so. *Invented*: a reading, a note or a record that
//! never was, or one whose time or doubt is another than it was. *Silent*: something is missing unsaid. *Lost*:
//! the most readings that one damage cost.
//!
//! With `NAME DAMAGE` in place of numbers, as a failure prints them, that one alone.

use std::process::ExitCode;

use rillmark_fuzz::random::Random;
use rillmark_fuzz::session::{Counts, Damage, Original, Verdict, originals};

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let all = originals();
    if let [name, damage] = arguments.as_slice()
        && let Some(damage) = Damage::from_text(damage)
    {
        for session in all.iter().filter(|session| session.name == name) {
            println!("{:?}", session.verdict(damage));
        }
        return ExitCode::SUCCESS;
    }
    let number = |at: usize, usual| arguments.get(at).map_or(Ok(usual), |text| text.parse());
    let numbers =
        [number(0, 1), number(1, 20_000), number(2, 20_000), number(3, 20_000), number(4, 1)];
    let [Ok(seed), Ok(pairs), Ok(runs), Ok(pieces), Ok(step)] = numbers else {
        eprintln!(
            "session_damage [SEED [PAIRS [RUNS [PIECES [STEP]]]]], or session_damage NAME DAMAGE"
        );
        return ExitCode::from(2);
    };
    let step = step.max(1);
    println!("seed {seed}, one bit and one cut in {step}");
    println!(
        "  {:18} {:>7} {:>9} {:>7} {:>8} {:>7} {:>6} {:>5}",
        "", "tried", "unchanged", "told", "invented", "silent", "panics", "lost"
    );
    std::panic::set_hook(Box::new(|_| {}));
    let mut is_bad = false;
    for session in &all {
        let mut random = Random::new(seed as u64);
        println!("{}, {} bytes", session.name, session.size());
        let bits = (0..session.size() * 8).step_by(step).map(|at| Damage::Bit { at });
        is_bad |= row(session, "bits", bits);
        is_bad |= row(session, "pairs", (0..pairs).map(|_| session.pair(&mut random)));
        is_bad |= row(session, "runs of 00 or ff", (0..runs).map(|_| session.run(&mut random)));
        let cuts = (0..session.size()).step_by(step).map(|at| Damage::Cut { at });
        is_bad |= row(session, "cuts", cuts);
        is_bad |= row(session, "pieces", (0..pieces).map(|_| session.piece(&mut random)));
    }
    if is_bad { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

/// Tries all of these and prints what came of them; true when something was invented or silent or panicked.
fn row(session: &Original, what: &str, damages: impl Iterator<Item = Damage>) -> bool {
    let mut counts = Counts::default();
    for damage in damages {
        let verdict = session.verdict(damage);
        let was_bad = counts.invented + counts.silent + counts.panics;
        counts.add(&verdict);
        let is_bad = !matches!(verdict, Verdict::Unchanged | Verdict::Told { .. });
        if is_bad && was_bad < 5 {
            println!("    session_damage '{}' {damage}: {verdict:?}", session.name);
        }
    }
    println!(
        "  {what:18} {:>7} {:>9} {:>7} {:>8} {:>7} {:>6} {:>5}",
        counts.tried,
        counts.unchanged,
        counts.told,
        counts.invented,
        counts.silent,
        counts.panics,
        counts.readings_lost_most,
    );
    counts.is_bad()
}
