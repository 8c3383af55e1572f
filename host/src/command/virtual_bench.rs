//! `rillmark virtual`: serves the virtual bench to other programs, paced by real time.

mod control;
mod endpoint;
#[cfg(unix)]
mod pseudo_terminal;
mod serve;

use std::path::PathBuf;
use std::sync::mpsc;
use std::thread;

use clap::Args;
use rillmark_bench::{Setup, Truth};
use serde_json::json;

use self::endpoint::Place;
use self::serve::{Request, Serving};
use super::{Context, input, output};
use crate::exit::{Exit, Failure};
use crate::link::virtual_link::DEFAULT_SEED;
use crate::words::en::virtual_bench as words;

/// `rillmark virtual …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// Serve on a pseudo-terminal, like a serial port (the default).
    #[arg(long, conflicts_with = "tcp")]
    pty: bool,
    /// Serve on TCP instead, at this address; port 0 takes a free one.
    #[arg(long, value_name = "ADDR")]
    tcp: Option<String>,
    /// Keep a symbolic link with this name to the pseudo-terminal, also over unplug and plug.
    #[arg(long, value_name = "PATH")]
    link: Option<PathBuf>,
    /// Simulated time runs this many times as fast as real time; the time of day stays that of the
    /// computer that logs.
    #[arg(long, value_name = "N", default_value_t = 1.0)]
    speed: f64,
    /// File that holds the probe's flash; without it everything ends with this command.
    #[arg(long, value_name = "FILE")]
    flash: Option<PathBuf>,
    /// Which sensors and which noise: equal seeds are equal probes.
    #[arg(long, value_name = "N", default_value_t = DEFAULT_SEED)]
    seed: u64,
    /// What the sensors stand in at first.
    #[arg(long, value_name = "NAME", default_value = "lake")]
    beaker: String,
    /// A 10 kΩ thermistor (beta 3934 K) in place of the Pt1000: to be calibrated before it tells a
    /// temperature.
    #[arg(long)]
    thermistor: bool,
    /// End when standard input ends.
    #[arg(long)]
    until_eof: bool,
}

/// Whether this is a control line; the error is a sentence.
pub(super) fn understood(line: &str) -> Result<(), String> {
    control::parse(line).map(drop)
}

/// Serves until it is told to quit.
///
/// # Errors
/// [`Exit::BadInput`] for options that cannot be used, [`Exit::Port`] when the place to serve at
/// cannot be made, [`Exit::Storage`] when the flash file or the output cannot be used.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    control::check_speed(options.speed).map_err(|why| Failure::new(Exit::BadInput, why))?;
    let place = match (options.tcp, options.link) {
        (Some(_), Some(_)) => {
            return Err(Failure::new(Exit::BadInput, words::LINK_NEEDS_PSEUDO_TERMINAL));
        }
        (Some(address), None) => Place::Tcp(address),
        (None, link) => Place::PseudoTerminal { link },
    };
    let serving = Serving {
        setup: Setup {
            seed: options.seed,
            flash: options.flash,
            truth: options
                .thermistor
                .then(|| Truth::seeded(options.seed).with_thermistor(options.seed)),
            ..Setup::default()
        },
        place,
        speed: options.speed,
        beaker: options.beaker,
    };
    // The bench lives on its own thread, since this one waits for lines.
    let (requests, inbox) = mpsc::channel();
    let (started, start) = mpsc::channel();
    let bench = thread::spawn(move || serve::serve(serving, &started, &inbox));
    let ended = || Failure::new(Exit::Port, words::BENCH_ENDED);
    let start = start.recv().map_err(|_| ended())??;
    if context.json {
        let line = json!({
            "serving": start.at, "board": start.board.to_string(), "seed": options.seed
        });
        output::json(context.out, &line)?;
    } else {
        output::line(context.out, &words::serving(&start.board, &start.at))?;
    }

    let quit = take_lines(&requests, context)?;
    if quit || options.until_eof {
        drop(requests);
    } else {
        // Nobody is left to speak to it: it serves until the process is ended.
        std::mem::forget(requests);
    }
    bench.join().map_err(|_| ended())
}

/// Passes lines on and answers them until they end; true when told to quit.
fn take_lines(
    requests: &mpsc::Sender<Request>,
    context: &mut Context<'_>,
) -> Result<bool, Failure> {
    loop {
        let line = match input::line(context.answers) {
            Ok(None) | Err(_) => return Ok(false),
            Ok(Some(line)) if line.is_empty() => continue,
            Ok(Some(line)) => line,
        };
        if line == "quit" {
            answer(context, Ok(control::Reply::Done))?;
            return Ok(true);
        }
        let (reply, replied) = mpsc::channel();
        let request = Request { line, reply };
        let ended = || Failure::new(Exit::Port, words::BENCH_ENDED);
        requests.send(request).map_err(|_| ended())?;
        answer(context, replied.recv().map_err(|_| ended())?)?;
    }
}

fn answer(context: &mut Context<'_>, reply: Result<control::Reply, String>) -> Result<(), Failure> {
    if context.json {
        let value = match reply {
            Ok(reply) => reply.json(),
            Err(why) => json!({"ok": false, "sentence": why}),
        };
        output::json(context.out, &value)
    } else {
        let line = match reply {
            Ok(reply) => reply.text(),
            Err(why) => words::not_done(&why),
        };
        output::line(context.out, &line)
    }
}
