//! `kill -9` of a log at any moment, and what its file holds afterwards.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Child, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::proxy::Proxy;
use crate::run::{run, wait};
use crate::truth::{Number, Truth, readings, spoil};

/// Longer than a start and some readings take.
const PATIENCE: Duration = Duration::from_secs(40);

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let seed = case.random.below(1_000).to_string();
    let mut probe = case.probe("1000", &["--seed", &seed]);
    let proxy = Proxy::to(&probe.port, case.seed);
    let file = case.path("a.session");
    let is_paced = case.once_in(2) || case.is_planted("lost-behind");
    proxy.pace(is_paced.then(|| file.clone()));
    let kills = 1 + case.random.below(4);
    let mut owed = BTreeSet::new();
    for _ in 0..kills {
        let (before, connection) = (size(&file), proxy.travelled().delivered.len());
        let mut log = start(case, &proxy.port, &file, &[]);
        let mut power_cut = false;
        match case.random.below(5) {
            // At the very start.
            0 => thread::sleep(Duration::from_micros(case.random.below(30_000) as u64)),
            1 if size(&file) == before => {
                grown(&file, before, 1);
                thread::sleep(Duration::from_micros(case.random.below(2_000) as u64));
            }
            2 => {
                grown(&file, before, 400 + case.random.below(1_500) as u64);
                power_cut = true;
                for order in ["unplug", "power-cycle", "plug"] {
                    probe.order(order);
                }
                let so_far = size(&file);
                grown(&file, so_far, 1 + case.random.below(600) as u64);
            }
            _ => {
                // Without a pace some run for longer than what came last is not judged.
                let most = if !is_paced && case.once_in(3) { 60_000 } else { 4_000 };
                grown(&file, before, 400 + case.random.below(most) as u64);
                thread::sleep(Duration::from_micros(case.random.below(3_000) as u64));
            }
        }
        let killed = Instant::now();
        let _ = log.kill();
        let _ = log.wait();
        outcome.tried += 1;
        if is_paced && !power_cut {
            owed.extend(under_way(case, before, &proxy, connection, killed, &mut outcome));
        }
        let travelled = proxy.travelled();
        let delivered = travelled.delivered.iter().skip(connection);
        owed.extend(delivered.flat_map(|it| it.owed(killed)));
    }
    if case.once_in(3) {
        let connection = proxy.travelled().delivered.len();
        let mut log = start(case, &proxy.port, &file, &["--count", "3"]);
        match wait(&mut log, PATIENCE) {
            (Some(0), _) => {}
            (_, true) => outcome.find(Wrong::Hung, "log --continue --count 3"),
            (code, _) => outcome.find(Wrong::Silent, format!("log --continue ends with {code:?}")),
        }
        let travelled = proxy.travelled();
        let awaited = travelled.delivered.iter().skip(connection).flat_map(|it| it.awaited());
        owed.extend(awaited.take(3).map(|(number, _)| number));
    }
    let mut bytes = fs::read(&file).unwrap_or_default();
    spoil(&mut bytes, case);
    let truth = Truth::of(&proxy.travelled().from_probe);
    let summary = truth.judge(&bytes, &owed, &mut outcome);
    // The program as a person runs it says the same.
    if let Some(summary) = summary.filter(|_| case.once_in(4)) {
        let ran = run(&mut case.rillmark(&["--json", "replay", "a.session"]), "", PATIENCE);
        ran.judge("replay", &mut outcome);
        let told = &ran.last()["summary"]["missing_readings"];
        if (ran.code == Some(0)) != summary.verified() || *told != summary.missing_readings {
            outcome.find(Wrong::Silent, format!("replay ends with {:?}: {}", ran.code, ran.out));
        }
    }
    if !outcome.findings.is_empty() {
        outcome.keep("from-probe", proxy.travelled().from_probe.clone());
    }
    outcome
}

fn start(case: &Case<'_>, port: &str, file: &Path, more: &[&str]) -> Child {
    let mut log = case.rillmark(&["--port", port, "log", "--continue", "--every", "0", "--out"]);
    log.arg(file).args(more).stdout(Stdio::null()).stderr(Stdio::null());
    log.spawn().expect("the binary starts")
}

/// Waits until the file has grown by so many bytes, or a while.
fn grown(file: &Path, before: u64, by: u64) {
    let until = Instant::now() + PATIENCE;
    while size(file) < before + by && Instant::now() < until {
        thread::sleep(Duration::from_micros(500));
    }
}

fn size(file: &Path) -> u64 {
    fs::metadata(file).map_or(0, |metadata| metadata.len())
}

/// At most the reading under way is lost to a kill: the paced line hands out the next one when the file
/// holds the one before. All others that came are owed.
fn under_way(
    case: &Case<'_>,
    before: u64,
    proxy: &Proxy,
    connection: usize,
    killed: Instant,
    outcome: &mut Outcome,
) -> BTreeSet<Number> {
    let bytes = fs::read(case.path("a.session")).unwrap_or_default();
    let run = readings(bytes.get(before as usize..).unwrap_or_default());
    let behind = if case.is_planted("lost-behind") { 2 } else { 0 };
    let held: BTreeSet<_> =
        run[..run.len().saturating_sub(behind)].iter().map(|(number, _)| *number).collect();
    let travelled = proxy.travelled();
    let awaited = travelled.delivered.iter().skip(connection).flat_map(|it| it.awaited());
    let mut came: Vec<_> =
        awaited.filter(|(_, at)| *at <= killed).map(|(number, _)| number).collect();
    let lost = came.iter().filter(|number| !held.contains(number)).count();
    outcome.lost += lost as u64;
    if lost > 1 {
        outcome.find(Wrong::Silent, format!("{lost} readings are lost to a kill"));
    }
    came.pop();
    came.into_iter().collect()
}
