//! `rillmark demo`: the whole job once, on a simulated probe in an invented lake.

mod check;
mod summary;

use std::fs;
use std::path::{Path, PathBuf};

use clap::Args;
use rillmark_bench::Setup;
use rillmark_procedures::routine::plan::Plan;
use rillmark_procedures::routine::step::Choice;
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::ph::DEFAULT_ISOPOTENTIAL;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{Operator, Quantity};
use rillmark_proto::reference::compensation::DEFAULT_PER_KELVIN;
use rillmark_proto::wire::message::Sampling;
use serde_json::Value;

use self::summary::Outcome;
use super::calibrate::finished;
use super::calibrate::guide::{Done, guide};
use super::calibrate::spec::Spec;
use super::guided::report::Report;
use super::guided::{Answer, Drive};
use super::{Context, output, replay};
use crate::exit::{Exit, Failure, after_verdict};
use crate::link::probe::Probe;
use crate::link::virtual_link::VirtualLink;
use crate::session::log::{Plan as LogPlan, log};
use crate::session::writer::Writer;
use crate::words::en::demo as words;

/// Which sensors, front end and noise; any seed will do.
const SEED: u64 = 2027;
/// From reading to reading of the log.
const INTERVAL_MS: u32 = 10_000;
/// From the check standard into the lake.
const SOAK_MS: u64 = 60_000;
/// Length of the log in probe time.
const LOG_MS: u64 = 600_000;

/// `rillmark demo …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// A new folder for the files it leaves [default: rillmark-demo, or the next free name].
    #[arg(long, value_name = "DIR")]
    dir: Option<PathBuf>,
}

/// Equips, calibrates, power-cycles, checks, logs, replays; leaves its files in a folder.
///
/// # Errors
/// [`Exit::Storage`] when the folder exists or cannot be made; [`Exit::Mismatch`] when what was
/// stored does not come back identical or a check reads off.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let folder = folder(options.dir)?;
    let setup = Setup { seed: SEED, flash: Some(folder.join("probe.flash")), ..Setup::default() };
    let link = VirtualLink::with(setup, "virtual")?;
    let mut probe = Probe::connect(Box::new(link))?;
    let json = context.json;
    // Progress that cannot be shown is no reason to stop half-way.
    let mut say = |text: String| {
        if !json {
            let _ = output::text(context.progress, &format!("{text}\n"));
        }
    };

    say(words::began(&folder.display(), &probe.answer().board));
    let serial = |text: &str| text.try_into().ok();
    let fitted =
        Fitted { electrode: serial("E-17"), cell: serial("K-3"), thermometer: serial("T-2") };
    let utc_ms = probe.link().utc_ms();
    probe.equip(Equipment { fitted, utc_ms })?;
    probe.set_clock()?;
    say(words::EQUIPPED.to_owned());

    let mut spoken = Vec::new();
    let cell = calibrate(
        &mut probe,
        Quantity::Conductivity,
        &["1413,lot=C-0417,expires=2028-06-30,at=22.0"],
        &mut spoken,
    )?;
    say(words::calibrated(&super::record_view::calibration_brief(&cell.record), &cell.id.short()));
    let ph = calibrate(
        &mut probe,
        Quantity::Ph,
        &[
            "phosphate-1-1,lot=B-1102,expires=2028-03-31,at=21.0",
            "phthalate-1977,lot=B-1107,expires=2028-03-31,at=20.0",
            "borax,lot=B-1113,expires=2027-12-31,at=22.5",
        ],
        &mut spoken,
    )?;
    say(words::calibrated(&super::record_view::calibration_brief(&ph.record), &ph.id.short()));
    write(&folder.join("calibration.txt"), &spoken)?;

    power_cycle(&mut probe, &[&cell, &ph])?;
    say(words::power_cycled(probe.answer().boot));
    for done in [&cell, &ph] {
        write(&folder.join(format!("{}.record", done.id.short())), &probe.record(done.id)?)?;
    }

    let checks = [
        check::conductivity(&mut probe, "kcl-0.001-mol-per-l", 20.0)?,
        check::ph(&mut probe, "phosphate-1-3.5", 20.0)?,
    ];
    for check in &checks {
        say(words::checked(check.standard, check.expected, check.found, check.unit()));
    }

    let session = folder.join("lake.session");
    lake(&mut probe, &session)?;
    say(words::logged(LOG_MS / 60_000));
    let csv = folder.join("lake.csv");
    let mut replayed = Vec::new();
    let mut inner = Context {
        json: false,
        port: None,
        probe: None,
        out: &mut replayed,
        progress: &mut std::io::sink(),
        answers: &mut std::io::empty(),
    };
    replay::run(replay::Options::into_csv(session.clone(), csv), &mut inner)?;
    write(&folder.join("replay.txt"), &replayed)?;

    let outcome = Outcome::of(&folder, &session, [cell, ph], checks)?;
    let printed = match json {
        true => output::json(context.out, &outcome.json()),
        false => output::text(context.out, &outcome.text()),
    };
    let verdict = match outcome.checks.iter().find(|check| !check.within()) {
        None => Ok(()),
        Some(check) => Err(Failure::new(Exit::Mismatch, words::check_off(check.standard))),
    };
    after_verdict(verdict, printed)
}

/// A folder that was not there before.
fn folder(wanted: Option<PathBuf>) -> Result<PathBuf, Failure> {
    let failed = |path: &Path, error: &std::io::Error| {
        Failure::new(Exit::Storage, words::cannot_make_folder(&path.display(), error))
    };
    if let Some(path) = wanted {
        if let Some(parent) = path.parent() {
            fs::create_dir_all(parent).map_err(|error| failed(parent, &error))?;
        }
        fs::create_dir(&path).map_err(|error| failed(&path, &error))?;
        return Ok(path);
    }
    for n in 1.. {
        let path = match n {
            1 => PathBuf::from("rillmark-demo"),
            n => PathBuf::from(format!("rillmark-demo-{n}")),
        };
        match fs::create_dir(&path) {
            Ok(()) => return Ok(path),
            Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
            Err(error) => return Err(failed(&path, &error)),
        }
    }
    unreachable!("a free number is found before they end")
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    fs::write(path, bytes)
        .map_err(|error| Failure::new(Exit::Storage, words::cannot_write(&path.display(), &error)))
}

/// One guided calibration with a bench that has hands; every warning ends it.
fn calibrate(
    probe: &mut Probe,
    quantity: Quantity,
    standards: &[&str],
    spoken: &mut Vec<u8>,
) -> Result<Done, Failure> {
    let mut specs = Vec::new();
    for text in standards {
        let bad = |sentence| Failure::new(Exit::BadInput, sentence);
        specs.push(Spec::parse(text, quantity).map_err(bad)?);
    }
    let beakers: Vec<_> = specs.iter().map(|spec| spec.on_bench.clone()).collect();
    let plan = Plan {
        quantity,
        standards: specs.into_iter().map(|spec| spec.planned).collect(),
        operator: Operator::try_from(words::OPERATOR).unwrap_or_default(),
        checks_apart: false,
        due_in_days: Some(7),
        compensation: Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN },
        isopotential: DEFAULT_ISOPOTENTIAL,
        zero_in_air: false,
        thermometer: None,
        tolerance: None,
        nominal_cell_constant: None,
        incident: None,
        stored_days: None,
    };
    let (mut lines, mut results) = (Vec::new(), Vec::new());
    let mut report = Report::plain(&mut results, &mut lines);
    let mut cancel = |_: &_, _| Ok(Answer::Choice(Choice::Cancel));
    let drive = Drive { beakers: &beakers, ask_after_ms: None, interrupted: &|| false };
    let result = guide(probe, plan, &drive, &mut |sight| report.step(sight), &mut cancel);
    if let Ok(done) = &result {
        report.end(&Value::Null, &finished(done), quantity)?;
    }
    spoken.append(&mut lines);
    spoken.append(&mut results);
    spoken.push(b'\n');
    result
}

/// A second without power, then everything the probe keeps has to be what it was.
fn power_cycle(probe: &mut Probe, kept: &[&Done]) -> Result<(), Failure> {
    let mut before = Vec::new();
    for done in kept {
        before.push(probe.record(done.id)?);
    }
    let boot = probe.answer().boot;
    let cut = probe.link_mut().power_cycle();
    let after = probe.hello()?;
    let mut same = cut && after.boot == boot + 1;
    for (done, before) in kept.iter().zip(&before) {
        same &= probe.record(done.id)? == *before;
    }
    let in_force = probe.records()?.iter().filter(|listed| listed.in_force).count();
    match same && in_force == kept.len() {
        true => Ok(()),
        false => Err(Failure::new(Exit::Mismatch, words::NOT_IDENTICAL)),
    }
}

/// Ten minutes of the invented lake into a session.
fn lake(probe: &mut Probe, path: &Path) -> Result<(), Failure> {
    probe.link_mut().place("lake", None)?;
    // What the probe carries over from the check standard has to wash out first.
    probe.link_mut().wait(SOAK_MS);
    let plan = LogPlan {
        sampling: Sampling::Full { interval_ms: INTERVAL_MS },
        count: None,
        for_ms: Some(LOG_MS),
        note: Some(words::INVENTED.to_owned()),
        junction_ph: None,
        measured: None,
    };
    let mut writer = Writer::create(path)?;
    log(probe, &mut writer, &plan, &|| false, &mut |_| Ok(()))?;
    Ok(())
}

impl From<crate::link::LinkError> for Failure {
    fn from(error: crate::link::LinkError) -> Self {
        Self::new(Exit::Port, error.to_string())
    }
}
