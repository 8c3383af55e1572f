//! Holds the page of the error budget, and what the README quotes of it, to the program that writes them.
//!
//! `RILLMARK_REGOLD=1 cargo test -p rillmark-metrology --test front_end_budget` writes both anew.

#[path = "../examples/front_end_budget.rs"]
mod program;

use rillmark_metrology::uncertainty::temperature::uncalibrated_k;
use rillmark_proto::units::Celsius;
use std::fs;
use std::path::{Path, PathBuf};

fn file(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").join(name)
}

fn check(name: &str, is: &str, wanted: &str) {
    if std::env::var_os("RILLMARK_REGOLD").is_some() {
        fs::write(file(name), wanted).expect("the folder is writable");
        return;
    }
    assert!(is == wanted, "{name} is stale: see this test's head");
}

#[test]
fn the_page_is_what_the_program_writes() {
    let name = "hardware-notes/error-budget.md";
    check(name, &fs::read_to_string(file(name)).unwrap_or_default(), &program::page());
}

#[test]
fn the_readme_quotes_the_program() {
    const FROM: &str = "<!-- written by shared-proto/metrology/tests/front_end_budget.rs -->\n";
    const TO: &str = "<!-- end -->\n";
    let name = "README.md";
    let is = fs::read_to_string(file(name)).expect("a README");
    let (before, rest) = is.split_once(FROM).expect("the README quotes the budget");
    let (_, after) = rest.split_once(TO).expect("the quotation ends");
    check(name, &is, &format!("{before}{FROM}{}{TO}{after}", program::short()));
}

/// And what it says of a thermometer that nobody calibrated.
#[test]
fn the_readme_knows_an_uncalibrated_thermometer() {
    let is = fs::read_to_string(file("README.md")).expect("a README");
    let wanted = format!("{:.2} K at 25 °C (k = 1)", uncalibrated_k(Celsius::new(25.0)));
    assert!(is.contains(&wanted), "{wanted}");
}
