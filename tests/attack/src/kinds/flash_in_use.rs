//! The flash of a probe that was calibrated is damaged while it is off: bits, pairs, runs. Afterwards it is
//! used as if nothing were.

use std::fs;

use rillmark::exit::Exit;

use super::kill_calibrating::{FLASH, operator};
use crate::bench::{self, CALIBRATE_CELL, CALIBRATE_PH, CALIBRATE_THERMOMETER, EQUIP, SPEED};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::run::{Ran, run};
use crate::state::{PATIENCE, State, used};

const ONE_BIT: &str = "one bit:";
/// A store that is refused as a whole, which is another thing than a record that is damaged.
const REFUSED: &str = "store is damaged, and nothing in it was changed";

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    let healthy = bench::used(case);
    let mut flash = healthy.flash.clone();
    let what = damage(&mut flash, case);
    if case.is_planted("older") {
        flash.clone_from(&healthy.older_flash);
    }
    fs::write(case.path("probe.flash"), &flash).expect("there is room");
    fs::write(case.path("damaged.flash"), &flash).expect("there is room");
    fs::write(case.path("used.session"), &healthy.session).expect("there is room");
    let mut is_refused = false;
    // Off and on again: what is mended at the first start is said there.
    for start in 0..2 {
        let probe = case.probe(SPEED, &FLASH);
        let show = ["--json", "--port", &probe.port, "show"];
        let mut show = run(&mut case.rillmark(&show), "", PATIENCE);
        if case.is_planted("refused") {
            show.code = Some(Exit::Refused as i32);
            show.err = "the probe's record is damaged".to_owned();
        }
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
        let is_other = !shorts.iter().all(short) || shorts.len() != healthy.state.short().len();
        if is_unflagged && is_other {
            let why = format!("{what}: readings use {shorts:?} without a flag");
            outcome.find(Wrong::Silent, why);
        }
        // One damaged record is listed and the rest goes on; a store of which nothing can be read is refused,
        // which the readings say too. No single bit does that.
        is_refused = refuses(&show);
        if show.code != Some(0) && (!is_refused || is_unflagged || what.starts_with(ONE_BIT)) {
            outcome.find(Wrong::Silent, format!("{what}: show fails: {}", show.err));
        }
        let shown = State::of(&show.last());
        if show.code == Some(0) && shown != healthy.state {
            outcome.lost += 1;
            if is_unflagged {
                outcome.find(Wrong::Silent, format!("{what}: {shown:?} without a flag"));
            }
        }
    }
    way_back(case, &what, is_refused, &mut outcome);
    outcome
}

fn refuses(ran: &Ran) -> bool {
    ran.code == Some(Exit::Refused as i32) && ran.err.contains(REFUSED)
}

/// Sensors are said, records kept again and sensors calibrated anew: at once, or where the store is refused on
/// one that was erased, as the README says.
fn way_back(case: &mut Case<'_>, what: &str, is_refused: bool, outcome: &mut Outcome) {
    let mut probe = Some(case.probe(SPEED, &FLASH));
    let mut port = probe.as_ref().expect("started").port.clone();
    let keep = |port: &str| {
        run(&mut case.rillmark(&["--json", "--port", port, "keep", "used.session"]), "", PATIENCE)
    };
    if is_refused {
        let kept = keep(&port);
        if !refuses(&kept) {
            let why = format!("{what}: a store that is refused ends keep: {kept:?}");
            outcome.find(Wrong::Silent, why);
        }
        probe = None;
        fs::remove_file(case.path("probe.flash")).expect("it is there");
        port.clone_from(&probe.insert(case.probe(SPEED, &FLASH)).port);
    }
    let equip = run(&mut case.rillmark(&[&["--port", &port], &EQUIP[..]].concat()), "", PATIENCE);
    let kept = keep(&port);
    for (done, ran) in [("equip", &equip), ("keep", &kept)] {
        ran.judge(&format!("{what}: {done}"), outcome);
        if ran.code != Some(0) {
            outcome.find(Wrong::Silent, format!("{what}: {done} fails: {}", ran.err));
        }
    }
    let healthy = &bench::used(case).state;
    let Some(after) = State::ask(case, &port, outcome) else { return };
    let lacks = |id: &&String| after.records.get(*id).is_none_or(|(_, damaged)| *damaged);
    if let Some(id) = healthy.in_force.values().find(lacks) {
        outcome.find(Wrong::Silent, format!("{what}: {id} was said to be kept"));
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
    if ran.code != Some(0) {
        outcome.find(Wrong::Silent, format!("{what}: {} fails: {}", calibrate[1], ran.err));
        return;
    }
    let id = ran.last()["id"].as_str().unwrap_or_default().to_owned();
    let after = State::ask(case, &port, outcome);
    if after.is_some_and(|after| !after.in_force.values().any(|it| *it == id)) {
        outcome.find(Wrong::Silent, format!("{what}: {id} was said to be in force"));
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
            format!("{ONE_BIT} {bit} of byte {at}")
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
            format!("bits {bit} of bytes {one} and {other}")
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
