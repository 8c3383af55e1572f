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
        let mut report = run(target, case.seed, portion(target, A_CASE));
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
