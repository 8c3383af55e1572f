//! The flash of a probe that was calibrated is damaged while it is off: bits, pairs, runs. Afterwards it is
//! used as if nothing were.

use std::fs;

use super::kill_calibrating::{FLASH, operator};
use crate::bench::{self, CALIBRATE_CELL, CALIBRATE_PH, CALIBRATE_THERMOMETER, SPEED};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::run::run;
use crate::state::{PATIENCE, State, used};

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    let healthy = bench::used(case);
    let mut flash = healthy.flash.clone();
    let what = damage(&mut flash, case);
    fs::write(case.path("probe.flash"), &flash).expect("there is room");
    fs::write(case.path("damaged.flash"), &flash).expect("there is room");
    fs::write(case.path("used.session"), &healthy.session).expect("there is room");
    // Off and on again: what is mended at the first start is said there.
    for start in 0..2 {
        let probe = case.probe(SPEED, &FLASH);
        let show = ["--json", "--port", &probe.port, "show"];
        let show = run(&mut case.rillmark(&show), "", PATIENCE);
        show.judge(&what, &mut outcome);
        let name = format!("{start}.session");
        let log = ["--port", &probe.port, "log", "--every", "0", "--count", "3", "--out", &name];
        let log = run(&mut case.rillmark(&log), "", PATIENCE);
        log.judge(&what, &mut outcome);
        if log.code != Some(0) {
            outcome.find(Wrong::Silent, format!("{what}: no log: {}", log.err));
        }
        let session = fs::read(case.path(&name)).unwrap_or_default();
        let (shorts, is_unflagged) = used(&session);
        let short = |short: &String| healthy.state.short().contains(short.as_str());
        let mut is_other = !shorts.iter().all(short) || shorts.len() != healthy.state.short().len();
        is_other |= case.plant;
        if is_unflagged && is_other {
            let why = format!("{what}: readings use {shorts:?} without a flag");
            outcome.find(Wrong::Silent, why);
        }
        let shown = State::of(&show.last());
        if show.code == Some(0) && shown != healthy.state {
            outcome.lost += 1;
            if is_unflagged {
                outcome.find(Wrong::Silent, format!("{what}: {shown:?} without a flag"));
            }
        }
    }
    way_back(case, &what, &mut outcome);
    outcome
}

/// Records are kept again and sensors calibrated anew, or that is refused in a sentence.
fn way_back(case: &mut Case<'_>, what: &str, outcome: &mut Outcome) {
    let mut probe = Some(case.probe(SPEED, &FLASH));
    let port = probe.as_ref().expect("started").port.clone();
    let keep = ["--json", "--port", &port, "keep", "used.session"];
    let keep = run(&mut case.rillmark(&keep), "", PATIENCE);
    keep.judge(&format!("{what}: keep"), outcome);
    let healthy = &bench::used(case).state;
    if keep.code == Some(0) {
        let Some(after) = State::ask(case, &port, outcome) else { return };
        let lacks = |id: &&String| after.records.get(*id).is_none_or(|(_, damaged)| *damaged);
        if let Some(id) = healthy.in_force.values().find(lacks) {
            outcome.find(Wrong::Silent, format!("{what}: {id} was said to be kept"));
        }
    }
    if !case.once_in(3) {
        return;
    }
    let operator = operator(case);
    let calibrate =
        *case.random.one_of(&[&CALIBRATE_PH[..], &CALIBRATE_CELL, &CALIBRATE_THERMOMETER]);
    let calibrate = [calibrate, &["--operator", &operator]].concat();
    let ran = bench::guide(case, &mut probe, &port, &calibrate, PATIENCE, |_, _| {});
    ran.judge(&format!("{what}: {}", calibrate[1]), outcome);
    if ran.code == Some(0) {
        let id = ran.last()["id"].as_str().unwrap_or_default().to_owned();
        let after = State::ask(case, &port, outcome);
        if after.is_some_and(|after| !after.in_force.values().any(|it| *it == id)) {
            outcome.find(Wrong::Silent, format!("{what}: {id} was said to be in force"));
        }
    }
}

/// Damages it, mostly where something is written; what was done.
fn damage(flash: &mut [u8], case: &mut Case<'_>) -> String {
    let written: Vec<usize> = (0..flash.len()).filter(|at| flash[*at] != 0xff).collect();
    let anywhere = case.once_in(8);
    let place = |case: &mut Case<'_>| match anywhere {
        true => case.random.below(flash.len()),
        false => *case.random.one_of(&written),
    };
    match case.random.below(4) {
        0 => {
            let (at, bit) = (place(case), case.random.below(8));
            flash[at] ^= 1 << bit;
            format!("bit {bit} of byte {at}")
        }
        1 | 2 => {
            let (one, bit) = (place(case), case.random.below(8));
            // Alike in two copies, or anywhere.
            let other = match case.once_in(2) {
                true => (one + *case.random.one_of(&[64, 128, 132, 256, 4096])) % flash.len(),
                false => place(case),
            };
            flash[one] ^= 1 << bit;
            flash[other] ^= 1 << bit;
            format!("bit {bit} of bytes {one} and {other}")
        }
        _ => {
            let (at, len) = (place(case), 1 + case.random.below(256));
            let to = *case.random.one_of(&[0x00, 0xff]);
            let end = flash.len().min(at + len);
            flash[at..end].fill(to);
            format!("{len} bytes {to:#04x} from {at}")
        }
    }
}
