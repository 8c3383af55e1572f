//! The `rillmark` command.

use std::io::{self, IsTerminal};
use std::process::ExitCode;

use clap::Parser;
use rillmark::cli::{self, Cli};
use rillmark::command::interrupt::Person;
use rillmark::command::{Context, output};
use rillmark::exit::{Exit, Failure};

fn main() -> ExitCode {
    let Cli { json, port, probe, command } = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) if error.use_stderr() && std::env::args_os().any(|word| word == "--json") => {
            return end(Err(Failure::new(Exit::Usage, error.to_string().trim_end())), true);
        }
        Err(error) if error.use_stderr() => {
            // Nobody is left to tell when standard error is closed too.
            let _ = output::text(&mut io::stderr(), &error.render().to_string());
            return ExitCode::from(Exit::Usage as u8);
        }
        Err(help) => help.exit(),
    };
    let result = {
        let (mut out, mut progress) = (io::stdout().lock(), io::stderr().lock());
        let mut answers = Person::default();
        let mut context = Context {
            json,
            port,
            probe,
            out: &mut out,
            progress: &mut progress,
            answers: &mut answers,
        };
        cli::run(command, &mut context)
    };
    end(result, json)
}

/// Tells a failure on standard error, as a sentence or as JSON, and gives the exit code.
fn end(result: Result<(), Failure>, json: bool) -> ExitCode {
    match result {
        Ok(()) => ExitCode::SUCCESS,
        // A reader that closed our pipe has seen all it wanted.
        Err(Failure { exit: Exit::Success, .. }) => ExitCode::SUCCESS,
        Err(failure) => {
            let err = &mut io::stderr();
            let _ = match json {
                true => output::json_line(err, &failure.json()),
                // What reads it from a file finds it on one line.
                false if err.is_terminal() => {
                    output::text(err, &output::folded(&format!("rillmark: {failure}"), 2))
                }
                false => output::line(err, &format!("rillmark: {failure}")),
            };
            ExitCode::from(failure.exit as u8)
        }
    }
}
