//! The program, the probe or the cable ends at any moment of a calibration: afterwards the old or the new
//! calibration is in force, whole.

use std::fs;
use std::thread;
use std::time::{Duration, Instant};

use super::afterwards::judge;
use crate::bench::{
    self, CALIBRATE_CELL, CALIBRATE_PH, CALIBRATE_THERMOMETER, SEED, SPEED, VERIFY,
};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::proxy::Proxy;
use crate::state::{PATIENCE, State};

/// Longer than an undisturbed calibration takes at this speed.
const ALL_MS: usize = 450;
/// Beside the store's writing simulated time runs so much slower that a cut falls within it.
const SLOW: &str = "speed 2";

/// What ends.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Ends {
    Program,
    /// The probe's power, within whatever it does.
    Power,
    /// The same, its computer and all: what was not written is gone.
    Bench,
    Cable,
}

/// When.
#[derive(Clone, Copy, Debug)]
enum When {
    After(Duration),
    /// So long after the probe was told to keep something.
    Keeping(Duration),
}

/// Several records.
const KEEP: [&str; 2] = ["keep", "used.session"];

pub(crate) const FLASH: [&str; 4] = ["--seed", SEED, "--flash", "probe.flash"];

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    let arguments = action(case);
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let before = begin(case, &arguments);
    let mut probe = Some(case.probe(SPEED, &FLASH));
    let mut proxy = Proxy::to(&probe.as_ref().expect("started").port, case.seed);
    let ends = *case.random.one_of(&[Ends::Program, Ends::Power, Ends::Bench, Ends::Cable]);
    let when = match case.random.below(2) {
        0 => When::After(Duration::from_millis(case.random.below(ALL_MS) as u64)),
        _ => {
            // As a rule it takes some ms, and some ten where the flash is erased.
            let most = 1 + case.random.below(20_000);
            When::Keeping(Duration::from_micros(case.random.below(most) as u64))
        }
    };
    proxy.hold(matches!(when, When::Keeping(_)));
    let (began, port) = (Instant::now(), proxy.port.clone());
    let (mut keeping, mut has_ended) = (None, false);
    let ran = bench::guide(case, &mut probe, &port, &arguments, PATIENCE, |guided, probe| {
        if has_ended {
            return;
        }
        let wait = match when {
            When::After(after) => after.checked_sub(began.elapsed()).map(|_| None),
            When::Keeping(after) => {
                if keeping.is_none() && proxy.is_held() {
                    if let Some(probe) = probe {
                        probe.order(SLOW);
                    }
                    keeping = Some(Instant::now());
                    proxy.hold(false);
                }
                match keeping {
                    Some(since) => after.checked_sub(since.elapsed()).map(Some),
                    None => Some(None),
                }
            }
        };
        match wait {
            Some(None) => return,
            Some(Some(rest)) => thread::sleep(rest),
            None => {}
        }
        has_ended = true;
        match ends {
            Ends::Program => drop(guided.child.kill()),
            Ends::Cable => proxy.cut(),
            Ends::Bench => *probe = None,
            Ends::Power => {
                if let Some(probe) = probe {
                    for order in ["unplug", "power-cycle", "plug"] {
                        probe.order(order);
                    }
                }
            }
        }
    });
    let what = format!("{arguments:?}, {ends:?} {when:?}");
    if ends != Ends::Program {
        ran.judge(&what, &mut outcome);
    } else if ran.hung {
        outcome.find(Wrong::Hung, &what);
    }
    match &mut probe {
        Some(probe) => drop(probe.order(&format!("speed {SPEED}"))),
        None => {
            let again = case.probe(SPEED, &FLASH);
            proxy = Proxy::to(&again.port, case.seed);
            probe = Some(again);
        }
    }
    let operator = operator(case);
    judge(case, before, &operator, &ran, &what, &mut probe, &proxy, &mut outcome);
    if !outcome.findings.is_empty() {
        outcome.keep("to-probe", proxy.travelled().to_probe.clone());
        outcome.keep("from-probe", proxy.travelled().from_probe.clone());
    }
    outcome
}

/// What the probe has before this is done to it: two generations of records, or the first one where those of
/// the second are in the file that it is to keep.
pub(crate) fn begin(case: &Case<'_>, arguments: &[&str]) -> &'static State {
    let used = bench::used(case);
    fs::write(case.path("used.session"), &used.session).expect("there is room");
    let (flash, state) = match arguments == KEEP {
        true => (&used.older_flash, &used.older),
        false => (&used.flash, &used.state),
    };
    fs::write(case.path("probe.flash"), flash).expect("there is room");
    state
}

/// Who signs what this case makes.
pub(crate) fn operator(case: &Case<'_>) -> String {
    format!("{:016x}", case.seed)
}

/// What is done to the probe.
pub(crate) fn action(case: &mut Case<'_>) -> Vec<String> {
    let operator = operator(case);
    let signed = |arguments: &[&str]| {
        let all = arguments.iter().copied().chain(["--operator", &operator]);
        all.map(ToOwned::to_owned).collect()
    };
    match case.random.below(10) {
        0..=2 => signed(&CALIBRATE_PH),
        3 | 4 => signed(&CALIBRATE_CELL),
        5 => signed(&CALIBRATE_THERMOMETER),
        6 => signed(&VERIFY),
        7 => ["equip", "--electrode", "E-99"].map(ToOwned::to_owned).to_vec(),
        _ => KEEP.map(ToOwned::to_owned).to_vec(),
    }
}
