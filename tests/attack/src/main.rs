//! The campaign: attacks the `rillmark` program in every way that we can think of and counts what comes of
//! it. Run by `tests/campaign`; see DEVELOPERS.md.

mod bench;
mod cable;
mod campaign;
mod case;
mod delivered;
mod kinds;
mod liar;
mod outcome;
mod proxy;
mod run;
mod state;
mod table;
mod truth;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::Parser;

use crate::campaign::Campaign;
use crate::kinds::Kind;

/// Attacks `rillmark` and prints what came of it.
#[derive(Debug, Parser)]
struct Options {
    /// The program to attack.
    #[arg(long, value_name = "FILE")]
    binary: PathBuf,
    /// How long; what an hour has to try at least shrinks with it.
    #[arg(long, value_name = "N", default_value_t = 0.5)]
    minutes: f64,
    /// Everything random comes from this number [default: the time].
    #[arg(long, value_name = "N")]
    seed: Option<u64>,
    /// Cases at a time: more than there are cores, since most of them wait.
    #[arg(long, value_name = "N", default_value_t = 4)]
    workers: usize,
    /// What is attacked, for the table.
    #[arg(long, value_name = "TEXT", default_value = "unknown")]
    commit: String,
    /// Where failing cases are kept.
    #[arg(long, value_name = "FOLDER", default_value = "target/campaign")]
    into: PathBuf,
    /// This kind alone.
    #[arg(long, value_name = "KIND", value_parser = kind)]
    only: Option<&'static Kind>,
    /// Plant this fault in every case of the kind before it is judged: the campaign has to fail.
    #[arg(long, value_name = "FAULT", requires = "only")]
    plant: Option<String>,
    /// List the kinds, each with the faults that can be planted.
    #[arg(long)]
    kinds: bool,
    /// Repeat one case, and keep what it leaves.
    #[arg(long, num_args = 2, value_names = ["KIND", "SEED"])]
    repeat: Option<Vec<String>>,
}

fn kind(name: &str) -> Result<&'static Kind, String> {
    let names = || kinds::ALL.iter().map(|kind| kind.name).collect::<Vec<_>>().join(", ");
    kinds::ALL.iter().find(|kind| kind.name == name).ok_or_else(|| format!("one of {}", names()))
}

fn main() -> ExitCode {
    let options = Options::parse();
    if options.kinds {
        let line = |kind: &Kind| println!("{} {}", kind.name, kind.plants.join(" "));
        kinds::ALL.iter().for_each(line);
        return ExitCode::SUCCESS;
    }
    let binary = options.binary.canonicalize();
    let Ok(binary) = binary.inspect_err(|why| eprintln!("{}: {why}", options.binary.display()))
    else {
        return ExitCode::from(2);
    };
    let plants = options.only.map_or(&[][..], |kind| kind.plants);
    let plant = options.plant.map(|fault| {
        plants.iter().find(|plant| **plant == fault).copied().ok_or_else(|| plants.join(", "))
    });
    let Ok(plant) = plant.transpose().inspect_err(|plants| eprintln!("one of {plants}")) else {
        return ExitCode::from(2);
    };
    let campaign = Campaign {
        binary,
        into: options.into,
        seed: options.seed.unwrap_or_else(|| jiff::Timestamp::now().as_millisecond() as u64),
        minutes: options.minutes,
        workers: options.workers.max(1),
        commit: options.commit,
        plant,
    };
    let is_good = match options.repeat.as_deref() {
        Some([name, seed]) => match (kind(name), seed.parse()) {
            (Ok(kind), Ok(seed)) => campaign.repeat(kind, seed),
            (Err(why), _) => {
                eprintln!("{why}");
                return ExitCode::from(2);
            }
            (_, Err(why)) => {
                eprintln!("{seed}: {why}");
                return ExitCode::from(2);
            }
        },
        _ => campaign.run(options.only),
    };
    if is_good { ExitCode::SUCCESS } else { ExitCode::FAILURE }
}
