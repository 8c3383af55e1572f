//! Stated uncertainties hold against truths that they did not make: a small run of the table in
//! `REALITY.md`, which `cargo run --release -p rillmark-trials --example reality` prints.

use std::fs;
use std::path::Path;

use rillmark_trials::reality::{Asked, Finding, Outcome, Stated, all, see};

/// Lives of each row, none of which the printed table has; of dear ones a part.
const LIVES: u64 = 240;
const FIRST: u64 = 1_000_000;

#[test]
fn every_row_of_the_table_holds_or_is_named() {
    let mut failed = Vec::new();
    for (number, trial) in (0..).zip(&all()) {
        let seen = see(number, trial, FIRST, LIVES / trial.cost);
        for (index, row) in trial.rows.iter().enumerate() {
            let outcomes = Stated::ALL.map(|stated| (stated, seen.outcome(index, stated)));
            assert!(outcomes.iter().any(|(_, it)| it.is_some()), "{row:?} is about nothing");
            for (stated, outcome) in outcomes {
                let Some(outcome) = outcome else { continue };
                if !outcome.keeps(row.asked) {
                    failed.push(format!("{} {} {stated:?} {outcome:?}", row.name, row.size));
                }
            }
        }
        // Good probes are not stopped at their calibration.
        if trial.rows.iter().any(|row| row.asked == Asked::Good) {
            assert!(seen.stopped_part() < 0.05, "{}: {:?}", trial.topic, seen.stopped);
        }
    }
    assert!(failed.is_empty(), "{}", failed.join("\n"));
}

/// A quarter of the uncertainty does not hold, nor does three times of it, nor a flag on every reading.
#[test]
fn a_wrong_statement_is_noticed() {
    let (number, trial) = (0..)
        .zip(all())
        .find(|(_, trial)| trial.rows.iter().any(|row| row.asked == Asked::Good))
        .expect("there are good readings");
    let seen = see(number, &trial, FIRST, LIVES);
    let with = |change: fn(&mut Finding)| {
        let mut found: Vec<Finding> =
            seen.found.iter().filter(|one| one.stated == Stated::Ph).copied().collect();
        found.iter_mut().for_each(change);
        Outcome::of(&found, LIVES as usize, 0).expect("a pH is stated")
    };
    assert!(with(|_| {}).keeps(Asked::Good));
    for asked in [Asked::Good, Asked::Realistic] {
        assert!(!with(|one| one.u *= 0.25).keeps(asked));
        assert!(!with(|one| one.u *= 3.0).keeps(asked));
    }
    assert!(!with(|one| one.flagged = true).keeps(Asked::Good));
}

/// A truth that borrowed a number from the statements would agree with them.
#[test]
fn what_is_true_knows_nothing_of_the_budgets() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/reality");
    let files: Vec<_> = fs::read_dir(folder.join("nature")).expect("its folder").collect();
    assert!(files.len() >= 6);
    let paths = files.into_iter().map(|file| file.expect("a file").path());
    for path in paths.chain([folder.join("nature.rs"), folder.join("specimen.rs")]) {
        let text = fs::read_to_string(&path).expect("a text");
        for of_a_budget in ["calibration::", "circuit", "metrology", "uncertainty(", "DEFAULT_"] {
            assert!(!text.contains(of_a_budget), "{}: {of_a_budget}", path.display());
        }
    }
}

#[test]
fn the_page_has_every_row_and_says_that_none_fails() {
    let page = Path::new(env!("CARGO_MANIFEST_DIR")).join("REALITY.md");
    let page = fs::read_to_string(page).expect("the printed table");
    for row in all().iter().flat_map(|trial| &trial.rows) {
        let begins = format!("| {} | {} |", row.name, row.size);
        assert!(page.contains(&begins), "not in REALITY.md: {begins}");
    }
    assert!(page.contains("of which 0 fail.") && !page.contains("**fails**"));
}
