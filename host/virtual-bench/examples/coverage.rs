//! Prints how often twice the stated standard uncertainty covers the truth:
//!
//!     cargo run --release -p rillmark-bench --example coverage [-- RUNS]
//!
//! RUNS simulated calibrations of each kind (10 000). Fails unless each covers 94 to 96.5 %.

use std::process::ExitCode;

use rillmark_bench::trials::coverage::{Buffers, Coverage, Standards, cell, electrode};
use rillmark_proto::reference::ionic_strength::Class;

/// What a coverage factor of 2 should cover: 95.45 % of a normal distribution, with room for errors
/// that are not normal.
const WANTED: std::ops::RangeInclusive<f64> = 0.94..=0.965;

fn main() -> ExitCode {
    let argument = std::env::args().nth(1);
    let runs = argument.map_or(10_000, |text| text.parse().expect("RUNS is a whole number"));
    println!("{runs} calibrations of each kind.\n");
    println!("{:<28} {:<26} {:>9}  {:>14}", "calibration", "value", "covered", "median U (k=2)");
    let mut good = true;
    let mut line = |kind: &str, value: &str, coverage: &Coverage, scale: f64, unit: &str| {
        let part = coverage.part();
        good &= WANTED.contains(&part);
        let median = scale * coverage.median_expanded();
        println!("{kind:<28} {value:<26} {:>8.2}%  {median:>9.3} {unit}", 100.0 * part);
    };
    for buffers in Buffers::ALL {
        for class in Class::ALL {
            let mut found = Coverage::default();
            (0..runs).for_each(|number| found.push(electrode(buffers, class, number)));
            let kind = format!("{} buffers", buffers.names().len());
            line(&kind, &format!("pH of {} water", class.name()), &found, 1.0, "");
        }
    }
    for standards in Standards::ALL {
        let (mut constant, mut as_is, mut specific) =
            (Coverage::default(), Coverage::default(), Coverage::default());
        for number in 0..runs {
            let found = cell(standards, number);
            constant.push(found.cell_constant);
            as_is.push(found.conductivity);
            specific.push(found.specific);
        }
        let kind = standards.names().join(", ");
        line(&kind, "cell constant", &constant, 100.0, "%");
        line(&kind, "conductivity", &as_is, 100.0, "%");
        line(&kind, "specific conductance", &specific, 100.0, "%");
    }
    if good {
        ExitCode::SUCCESS
    } else {
        println!("\nSome coverage lies outside 94 to 96.5 %.");
        ExitCode::FAILURE
    }
}
