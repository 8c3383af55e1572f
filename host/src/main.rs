//! The `rillmark` command.

use std::io::{self, Write};
use std::process::ExitCode;

use clap::Parser;
use rillmark::cli::{self, Cli};
use rillmark::command::Context;

fn main() -> ExitCode {
    let Cli { json, port, probe, command } = Cli::parse();
    let (mut out, mut progress) = (io::stdout().lock(), io::stderr().lock());
    let mut answers = io::stdin().lock();
    let mut context = Context {
        json,
        port,
        probe,
        out: &mut out,
        progress: &mut progress,
        answers: &mut answers,
    };
    let result = cli::run(command, &mut context);
    match result {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            let _ = writeln!(io::stderr(), "rillmark: {failure}");
            ExitCode::from(failure.exit as u8)
        }
    }
}
