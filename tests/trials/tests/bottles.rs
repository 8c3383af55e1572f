//! What is said of bottles, sachets and air covers what really happens to them, and says no more than
//! that. Read the table with `cargo test -p rillmark-bench --test bottles -- --nocapture`.

use rillmark_proto::record::{Vessel, Water};
use rillmark_trials::bottles::{Believed, Practice, run};
use rillmark_trials::coverage::{Coverage, Found};

/// Twice the stated uncertainty is to cover at least so many of the truths.
const LEAST: f64 = 0.9;
/// The median of what is stated is at most so many times what the truths would need.
const WIDEST: f64 = 2.0;

/// Coverage, and the U that 95 % of the truths need.
fn of(practice: Practice, believed: Believed) -> (Coverage, f64) {
    let found: Vec<Found> = (0..2_000).map(|number| run(practice, believed, number)).collect();
    let mut off: Vec<f64> = found.iter().map(|one| one.off.abs()).collect();
    off.sort_by(f64::total_cmp);
    (Coverage::of(&found).expect("some"), off[off.len() * 95 / 100])
}

#[test]
fn what_is_said_of_bottles_covers_what_happens_to_them() {
    for practice in Practice::ALL {
        let (published, _) = of(practice, Believed::OfTheSolution);
        let (coverage, needed) = of(practice, Believed::OfTheBottle);
        let Coverage { covered, median_u, .. } = coverage;
        println!(
            "{practice:?}: {:.1} % covered by U {median_u:.4} ({needed:.4} needed); {:.1} % by what is \
             published of the solution, U {:.4}",
            100.0 * covered,
            100.0 * published.covered,
            published.median_u
        );
        assert!(covered >= LEAST, "{practice:?}: {coverage:?}");
        assert!(median_u <= WIDEST * needed, "{practice:?}: {median_u} for {needed}");
    }
}

/// The check can fail: what is published of a solution says nothing of what air or a cup does to it.
#[test]
fn what_is_published_of_a_solution_does_not_cover_what_happens_to_it() {
    for practice in [
        Practice::OpenSomeTime,
        Practice::Open(120),
        Practice::Sachet(Vessel::ByEye, Water::Deionised),
    ] {
        let (coverage, _) = of(practice, Believed::OfTheSolution);
        assert!(coverage.covered < LEAST, "{practice:?}: {coverage:?}");
    }
}
