//! Simulates the front end and prints the page of its results.

use std::process::ExitCode;

use rillmark_circuit::{Results, page};

fn main() -> ExitCode {
    match Results::simulate() {
        Ok(results) => {
            print!("{}", page::of(&results));
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{error}");
            ExitCode::FAILURE
        }
    }
}
