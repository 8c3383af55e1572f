//! Twice the stated standard uncertainty covers the truth about as often as it should. The thorough
//! run is `cargo run --release -p rillmark-bench --example coverage`.

use rillmark_bench::trials::coverage::{Buffers, Coverage, Standards, cell, electrode};
use rillmark_proto::reference::ionic_strength::Class;

const RUNS: u64 = 1_000;
/// The thorough run wants 94 to 96.5 %; a thousand draws of 95 % scatter by √(0.95·0.05/1000) =
/// 0.7 %, so three times that is allowed on either side.
const WANTED: std::ops::RangeInclusive<f64> = 0.919..=0.986;

/// Runs that the thorough one does not have.
fn numbers() -> std::ops::Range<u64> {
    1_000_000..1_000_000 + RUNS
}

fn check(what: &str, coverage: &Coverage) {
    let part = coverage.part();
    println!("{what}: {:.1} % covered, median U {:.4}", 100.0 * part, coverage.median_expanded());
    assert!(WANTED.contains(&part), "{what}: {part}");
}

#[test]
fn ph_is_covered() {
    for buffers in Buffers::ALL {
        let mut found = Coverage::default();
        numbers().for_each(|number| found.push(electrode(buffers, Class::Ordinary, number)));
        check(&format!("{buffers:?}"), &found);
    }
}

#[test]
fn cell_constant_conductivity_and_specific_conductance_are_covered() {
    for standards in Standards::ALL {
        let mut found: [Coverage; 3] = Default::default();
        for number in numbers() {
            let one = cell(standards, number);
            let values = [one.cell_constant, one.conductivity, one.specific];
            found.iter_mut().zip(values).for_each(|(coverage, value)| coverage.push(value));
        }
        for (what, coverage) in ["cell constant", "conductivity", "at 25 °C"].iter().zip(&found) {
            check(&format!("{standards:?}, {what}"), coverage);
        }
    }
}

/// The check can fail: half the uncertainty does not cover.
#[test]
fn half_the_uncertainty_does_not_cover() {
    let mut found = Coverage::default();
    for number in numbers() {
        let mut one = electrode(Buffers::Three, Class::Ordinary, number);
        one.expanded /= 2.0;
        found.push(one);
    }
    assert!(!WANTED.contains(&found.part()), "{}", found.part());
}
