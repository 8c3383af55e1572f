//! The program of a Raspberry Pi Pico: hands the board to the firmware library.
#![cfg_attr(target_os = "none", no_std, no_main)]

#[cfg(target_os = "none")]
mod board;

/// On a computer there is nothing to run.
#[cfg(not(target_os = "none"))]
fn main() -> std::process::ExitCode {
    eprintln!("This is the program of a board: `cargo image` builds it.");
    std::process::ExitCode::FAILURE
}
