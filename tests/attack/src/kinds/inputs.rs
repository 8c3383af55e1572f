//! Everything that comes in from outside, altered, in this process.

use std::sync::OnceLock;

use rillmark_fuzz::{Target, portion, run, targets};

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// Inputs of a case: each target has its portion.
const A_CASE: u64 = 50_000;

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    static TARGETS: OnceLock<Vec<Target>> = OnceLock::new();
    let mut outcome = Outcome::default();
    for target in TARGETS.get_or_init(targets::all) {
        let target = match case.is_planted("panic") {
            true => Target { check: panics, ..*target },
            false => Target { ..*target },
        };
        let report = run(&target, case.seed, portion(&target, A_CASE));
        outcome.tried += report.inputs;
        for failure in &report.failures {
            let number = failure.number;
            outcome.find(Wrong::Panic, format!("{} {number}: {}", target.name, failure.said));
            outcome.keep(&format!("{}-{number}", target.name), failure.input.clone());
        }
        if report.failed > 0 && report.failures.is_empty() {
            outcome.find(Wrong::Panic, format!("{}: {} inputs", target.name, report.failed));
        }
    }
    outcome
}

/// Planted: one that some inputs bring to a panic.
fn panics(input: &[u8]) -> bool {
    assert!(input.len() % 64 != 5, "planted");
    true
}
