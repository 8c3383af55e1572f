//! Everything that comes in from outside, altered, in this process.

use std::sync::OnceLock;

use rillmark_fuzz::{Target, portion, run, targets};

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};

/// Inputs of a case: each target has its portion.
const A_CASE: u64 = 50_000;
/// Those that have less of a thousand inputs than this take most of the time: here they have less still,
/// since sessions and stores are damaged bit by bit besides.
const FEW: u64 = 20;
const FEWER: u64 = 8;

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    static TARGETS: OnceLock<Vec<Target>> = OnceLock::new();
    let mut outcome = Outcome::default();
    for target in TARGETS.get_or_init(targets::all) {
        let inputs = match target.weight {
            0..=FEW => portion(target, A_CASE / FEWER),
            _ => portion(target, A_CASE),
        };
        let mut report = run(target, case.seed, inputs);
        if case.plant {
            report.failed += 1;
        }
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
