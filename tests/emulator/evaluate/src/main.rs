//! Evaluates one case after the other on the processor, with a breakpoint for whoever runs it where
//! it waits for a case, where the evaluation begins, and where it ends.
#![cfg_attr(target_os = "none", no_std, no_main)]

#[cfg(target_os = "none")]
mod processor;

/// On a computer there is nothing to run.
#[cfg(not(target_os = "none"))]
fn main() -> std::process::ExitCode {
    eprintln!("This is a program for the emulated processor: `tests/emulator` runs it.");
    std::process::ExitCode::FAILURE
}
