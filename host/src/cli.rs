//! The command line: which commands there are and what they take.

use clap::{Parser, Subcommand};

use crate::command::{
    self, Context, calibrate, check_board, demo, diagnose, equip, fit, keep, log, probes,
    recognise, reference, replay, show, stir_check, verify, virtual_bench, watch,
};
use crate::exit::Failure;

/// Calibrate, verify, log and replay home-built pH and conductivity probes.
#[derive(Debug, Parser)]
#[command(name = "rillmark", version, propagate_version = true, after_help = command::EXAMPLE)]
pub struct Cli {
    /// Print JSON for machines instead of a table for people.
    #[arg(long, global = true)]
    pub json: bool,
    /// Serial port of the probe, `tcp:HOST:PORT`, or `virtual` for the simulated bench.
    #[arg(long, global = true, value_name = "PORT")]
    pub port: Option<String>,
    /// Board id of the probe, when several are connected.
    #[arg(long, global = true, value_name = "SERIAL")]
    pub probe: Option<String>,
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// List serial ports and the probes among them.
    Probes(probes::Options),
    /// Say what is fitted to the board, or ask.
    Equip(equip::Options),
    /// Calibrate the cell or the electrode in guided steps.
    Calibrate(calibrate::Options),
    /// Check a calibration in a check standard: pass, fail or cannot tell.
    Verify(verify::Options),
    /// Which standard the probe stands in.
    Recognise(recognise::Options),
    /// Who the probe is, what is fitted, and which calibrations it keeps.
    Show(show::Options),
    /// Have the probe keep records from files again.
    Keep(keep::Options),
    /// Readings as they come, kept nowhere.
    Watch(watch::Options),
    /// Compare a water's pH stirred and still: what the junction makes of it.
    StirCheck(stir_check::Options),
    /// Readings into a session file.
    Log(log::Options),
    /// Read a session back, compute every reading again, compare, export.
    Replay(replay::Options),
    /// Published values: buffers, conductivity standards, salinity, compensation, Nernst, RTD.
    Reference(reference::Options),
    /// A calibration from a table of points, without a probe.
    Fit(fit::Options),
    /// The whole job once, on a simulated probe in an invented lake.
    Demo(demo::Options),
    /// What is wrong with a probe: evidence, likely causes, what to do next.
    Diagnose(diagnose::Options),
    /// Check a board that was just built: loads in place of sensors, and what is likely wrong.
    CheckBoard(check_board::Options),
    /// Serve a virtual probe on a pseudo-terminal or on TCP.
    Virtual(virtual_bench::Options),
}

/// Carries out one command.
///
/// # Errors
/// A [`Failure`] with the exit code and a sentence for the person.
pub fn run(command: Command, context: &mut Context<'_>) -> Result<(), Failure> {
    match command {
        Command::Probes(options) => probes::run(options, context),
        Command::Equip(options) => equip::run(options, context),
        Command::Calibrate(options) => calibrate::run(options, context),
        Command::Verify(options) => verify::run(options, context),
        Command::Recognise(options) => recognise::run(options, context),
        Command::Show(options) => show::run(options, context),
        Command::Keep(options) => keep::run(options, context),
        Command::Watch(options) => watch::run(options, context),
        Command::StirCheck(options) => stir_check::run(options, context),
        Command::Log(options) => log::run(options, context),
        Command::Replay(options) => replay::run(options, context),
        Command::Reference(options) => reference::run(options, context),
        Command::Fit(options) => fit::run(options, context),
        Command::Demo(options) => demo::run(options, context),
        Command::Diagnose(options) => diagnose::run(options, context),
        Command::CheckBoard(options) => check_board::run(options, context),
        Command::Virtual(options) => virtual_bench::run(options, context),
    }
}
