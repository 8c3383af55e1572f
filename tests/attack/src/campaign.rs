//! Many cases of all kinds, until the time is over and every kind has tried its least.

use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use rillmark_fuzz::random::Random;

use crate::case::Case;
use crate::kinds::{self, Kind, Least};
use crate::outcome::{Outcome, Wrong};
use crate::table::{Row, table};

/// What has to be tried is tried in so many times the time at most, else the campaign fails; a short pass on a
/// machine with other work has a little longer.
const TIMES_OVER: f64 = 1.5;
const SHORT: Duration = Duration::from_secs(80);
const LINE_EVERY: Duration = Duration::from_secs(20);
/// So many failing cases of a kind are kept.
const KEPT: u64 = 20;

/// What is to be done.
#[derive(Debug)]
pub(crate) struct Campaign {
    pub(crate) binary: PathBuf,
    pub(crate) into: PathBuf,
    pub(crate) seed: u64,
    pub(crate) minutes: f64,
    pub(crate) workers: usize,
    pub(crate) commit: String,
    pub(crate) plant: Option<&'static str>,
}

/// What is shared among the workers.
struct Shared {
    rows: Vec<Row>,
    /// Cases of each kind that were begun.
    begun: Vec<u64>,
    said: Instant,
}

impl Campaign {
    /// Runs cases, of one kind alone if it is named; true when nothing was found that must not be.
    pub(crate) fn run(&self, only: Option<&'static Kind>) -> bool {
        let began = Instant::now();
        let kinds: Vec<&Kind> =
            kinds::ALL.iter().filter(|kind| only.is_none_or(|it| it.name == kind.name)).collect();
        let rows: Vec<Row> = kinds.iter().map(|kind| Row::of(kind, self.minutes)).collect();
        let shared = Mutex::new(Shared { begun: vec![0; rows.len()], rows, said: began });
        eprintln!("campaign: seed {}, {} minutes, {}", self.seed, self.minutes, self.commit);
        if self.plant.is_none() {
            // A panic in this process is caught and told with its case.
            std::panic::set_hook(Box::new(|_| {}));
        }
        thread::scope(|scope| {
            for _ in 0..self.workers {
                scope.spawn(|| self.work(&kinds, &shared, began));
            }
        });
        let shared = shared.into_inner().unwrap_or_else(PoisonError::into_inner);
        let head = format!(
            "{}, {:.1} minutes, seed {}, {}",
            jiff::Timestamp::now().strftime("%Y-%m-%d %H:%M UTC"),
            began.elapsed().as_secs_f64() / 60.0,
            self.seed,
            self.commit
        );
        print!("{}", table(&head, &shared.rows));
        let bad: Vec<&Row> = shared.rows.iter().filter(|row| !row.is_good()).collect();
        for row in &bad {
            println!("failed: {}", row.why());
        }
        bad.is_empty()
    }

    /// Does one case once more.
    pub(crate) fn repeat(&self, kind: &'static Kind, seed: u64) -> bool {
        let (outcome, kept) = self.case(kind, seed, true);
        for finding in &outcome.findings {
            println!("{finding}");
        }
        let Outcome { tried, lost, findings, .. } = &outcome;
        println!("{tried} {}, {lost} lost, {} findings", kind.what, findings.len());
        println!("{}", kept.display());
        outcome.findings.is_empty()
    }

    fn work(&self, kinds: &[&'static Kind], shared: &Mutex<Shared>, began: Instant) {
        let locked = || shared.lock().unwrap_or_else(PoisonError::into_inner);
        let minutes = Duration::from_secs_f64(self.minutes * 60.0);
        loop {
            let chosen = {
                let mut shared = locked();
                let elapsed = began.elapsed();
                let is_over = elapsed >= minutes.mul_f64(TIMES_OVER).max(SHORT);
                let done = elapsed >= minutes && shared.rows.iter().all(Row::is_enough);
                // The one that is furthest from its least.
                let open = shared.rows.iter().enumerate().filter(|(_, row)| !row.is_all());
                let next = open.min_by(|(_, a), (_, b)| a.part().total_cmp(&b.part()));
                let next = next.map(|(at, _)| at).filter(|_| !is_over && !done);
                if let Some(at) = next {
                    shared.rows[at].under_way += 1;
                    shared.begun[at] += 1;
                }
                next.map(|at| (at, shared.begun[at] - 1))
            };
            let Some((at, number)) = chosen else { return };
            let kind = kinds[at];
            let seed = match kind.least {
                Least::All(_) => number,
                Least::So(_) => case_seed(self.seed, kind.name, number),
            };
            let (outcome, _) = self.case(kind, seed, locked().rows[at].failing < KEPT);
            let mut shared = locked();
            shared.rows[at].add(&outcome);
            if shared.said.elapsed() >= LINE_EVERY {
                shared.said = Instant::now();
                let done = shared.rows.iter().map(Row::brief).collect::<Vec<_>>().join(", ");
                eprintln!("campaign: {:.0} s: {done}", began.elapsed().as_secs_f64());
            }
        }
    }

    /// One case; where what it left is kept, if it is.
    fn case(&self, kind: &'static Kind, seed: u64, keep: bool) -> (Outcome, PathBuf) {
        let folder = tempfile::Builder::new().prefix("rillmark-attack-").tempdir();
        let folder = folder.expect("the system has a folder for a while");
        let mut case = Case {
            seed,
            random: Random::new(seed),
            folder: folder.path(),
            plant: self.plant,
            binary: &self.binary,
        };
        let outcome = catch_unwind(AssertUnwindSafe(|| (kind.attack)(&mut case)));
        let outcome = outcome.unwrap_or_else(|panic| {
            let mut outcome = Outcome::default();
            let text = panic.downcast_ref::<String>().cloned();
            let text = text.or_else(|| panic.downcast_ref::<&str>().map(|it| (*it).to_owned()));
            outcome.find(Wrong::NotJudged, text.unwrap_or_default());
            outcome
        });
        let kept = self.into.join(format!("{}-{seed}", kind.name));
        if keep && !outcome.findings.is_empty() {
            if let Err(why) = save(&outcome, folder.path(), &kept, kind, seed) {
                eprintln!("campaign: {}: {why}", kept.display());
            }
            eprintln!(
                "campaign: FAILED {} {seed}: {}\n  {}\n  bash tests/campaign --repeat {} {seed}",
                kind.name,
                outcome.findings[0],
                kept.display(),
                kind.name
            );
        }
        (outcome, kept)
    }
}

/// The seed of a case.
fn case_seed(seed: u64, name: &str, number: u64) -> u64 {
    let name =
        name.bytes().fold(0_u64, |sum, byte| sum.wrapping_mul(131).wrapping_add(byte.into()));
    Random::new(seed ^ name.rotate_left(32) ^ number.wrapping_mul(0x9e37_79b9)).bits()
}

/// Keeps all that a failing case left.
fn save(outcome: &Outcome, from: &Path, to: &Path, kind: &Kind, seed: u64) -> std::io::Result<()> {
    fs::create_dir_all(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        if entry.file_type()?.is_file() {
            fs::copy(entry.path(), to.join(entry.file_name()))?;
        }
    }
    for (name, bytes) in &outcome.evidence {
        fs::write(to.join(name), bytes)?;
    }
    let mut text = format!("bash tests/campaign --repeat {} {seed}\n", kind.name);
    for finding in &outcome.findings {
        text.push_str(&format!("{finding}\n"));
    }
    fs::write(to.join("what-was-found.txt"), text)
}
