//! Guided routines with an operator who has hands at the virtual bench, and a probe that was used before.

use std::fs;
use std::io::{BufRead, BufReader, Write};
use std::process::{Child, Stdio};
use std::sync::OnceLock;
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::thread;
use std::time::{Duration, Instant};

use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

use crate::case::Case;
use crate::run::{Ran, wait};
use crate::state::{PATIENCE, State};

/// The probe of all cases that need one with a history.
pub(crate) const SEED: &str = "11";
/// Simulated time runs so many times as fast.
pub(crate) const SPEED: &str = "1000";

pub(crate) const EQUIP: [&str; 7] =
    ["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"];
pub(crate) const CALIBRATE_PH: [&str; 6] = [
    "calibrate",
    "ph",
    "--standard",
    "phosphate-1-1,lot=B1",
    "--standard",
    "phthalate-1977,lot=B2",
];
pub(crate) const CALIBRATE_CELL: [&str; 4] =
    ["calibrate", "conductivity", "--standard", "1413,lot=A1"];
pub(crate) const CALIBRATE_THERMOMETER: [&str; 4] =
    ["calibrate", "temperature", "--standard", "reference,lot=R1"];
pub(crate) const VERIFY: [&str; 4] =
    ["verify", "ph", "--standard", "borax,lot=D1,single-use,tolerance=0.02"];

/// A guided command on its way.
pub(crate) struct Guided {
    pub(crate) child: Child,
    /// All that it said so far, a line each.
    pub(crate) said: Vec<String>,
}

/// Runs a guided command to its end: `look` sees it every few milliseconds, and answers are what a willing
/// operator gives.
pub(crate) fn guide(
    case: &Case<'_>,
    probe: &mut Option<VirtualProcess>,
    port: &str,
    arguments: &[&str],
    patience: Duration,
    mut look: impl FnMut(&mut Guided, &mut Option<VirtualProcess>),
) -> Ran {
    let mut command = case.rillmark(&[&["--json", "--port", port], arguments].concat());
    let file = fs::File::create(case.path("said")).expect("there is room");
    let child = command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(file).spawn();
    let mut child = child.expect("the binary starts");
    let mut answers = child.stdin.take().expect("a pipe");
    let out = BufReader::new(child.stdout.take().expect("a pipe"));
    let (lines, inbox) = channel();
    thread::spawn(move || {
        for line in out.lines().map_while(Result::ok) {
            let _ = lines.send(line);
        }
    });
    let (until, mut guided) = (Instant::now() + patience, Guided { child, said: Vec::new() });
    loop {
        look(&mut guided, probe);
        match inbox.recv_timeout(Duration::from_millis(1)) {
            Ok(line) => {
                let value: Value = serde_json::from_str(&line).unwrap_or_default();
                guided.said.push(line);
                if let Some(answer) = answer(&value, probe) {
                    // A command that was killed takes no answer.
                    let _ = writeln!(answers, "{answer}");
                }
            }
            Err(RecvTimeoutError::Timeout) if Instant::now() < until => {}
            Err(_) => break,
        }
    }
    let (code, hung) = wait(&mut guided.child, until.saturating_duration_since(Instant::now()));
    let err = fs::read_to_string(case.path("said")).unwrap_or_default();
    Ran { code, out: guided.said.join("\n"), err, hung, interrupted: false }
}

/// What the operator does, without a probe nothing.
fn answer(asked: &Value, probe: &mut Option<VirtualProcess>) -> Option<String> {
    let step = asked["step"].as_str()?;
    match (step, probe) {
        ("place", Some(probe)) => {
            let beaker = match asked["standard"].as_str()? {
                "reference" => "bath 25".to_owned(),
                bottle => format!("{bottle} 21"),
            };
            probe.order(&format!("beaker {beaker}"));
            Some("done".to_owned())
        }
        ("reference", Some(probe)) => Some(probe.order("status")["reference_c"].to_string()),
        ("place" | "reference", None) => Some("cancel".to_owned()),
        ("decide", _) => {
            let choices = asked["choices"].as_array()?;
            let wished = ["continue", "leave", "retry", "cancel"];
            wished.into_iter().find(|it| choices.iter().any(|choice| choice == it)).map(Into::into)
        }
        _ => None,
    }
}

/// A probe with two generations of calibrations of everything, made once.
#[derive(Debug)]
pub(crate) struct Used {
    /// The same with the first generation alone.
    pub(crate) older_flash: Vec<u8>,
    pub(crate) older: State,
    pub(crate) flash: Vec<u8>,
    pub(crate) state: State,
    /// A session that holds the records in force.
    pub(crate) session: Vec<u8>,
}

/// The used probe.
///
/// # Panics
/// When it cannot be made.
pub(crate) fn used(case: &Case<'_>) -> &'static Used {
    static USED: OnceLock<Used> = OnceLock::new();
    USED.get_or_init(|| {
        let folder = tempfile::tempdir().expect("a folder");
        let case = Case {
            folder: folder.path(),
            random: case.random.clone(),
            binary: case.binary,
            ..*case
        };
        let read = |name: &str| fs::read(case.path(name)).expect("written");
        let generation = |equip: bool| {
            let mut probe = Some(case.probe(SPEED, &["--seed", SEED, "--flash", "probe.flash"]));
            let port = probe.as_ref().expect("started").port.clone();
            let mut done = |arguments: &[&str]| {
                let ran = guide(&case, &mut probe, &port, arguments, PATIENCE, |_, _| {});
                assert_eq!(ran.code, Some(0), "{arguments:?}: {}", ran.err);
                ran.last()
            };
            if equip {
                done(&EQUIP);
            }
            done(&CALIBRATE_THERMOMETER);
            done(&CALIBRATE_CELL);
            done(&CALIBRATE_PH);
            let name = if equip { "older.session" } else { "used.session" };
            done(&["log", "--every", "0", "--count", "2", "--out", name]);
            let state = State::of(&done(&["show"]));
            drop(probe);
            (read("probe.flash"), state)
        };
        let (older_flash, older) = generation(true);
        let (flash, state) = generation(false);
        Used { older_flash, older, flash, state, session: read("used.session") }
    })
}
