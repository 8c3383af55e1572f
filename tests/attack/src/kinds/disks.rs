//! A disk that is full, or fails, at any byte: what was written is whole, what was there stays.

mod storage;

use std::collections::BTreeSet;
use std::fs;
use std::process::Command;

use rillmark::exit::Exit;
use rillmark_proto::wire::frame::MAX_FRAME;

use super::kill_calibrating::FLASH;
use crate::bench::{self, SPEED};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::proxy::Proxy;
use crate::run::{Ran, run};
use crate::state::{PATIENCE, State};
use crate::truth::{Number, Truth, readings};

/// Bytes of a block of the shell's, by POSIX.
const BLOCK: usize = 512;
/// By so much the numbers in front of a first reading differ in length.
const LENGTHS: usize = 16;
/// Stood there before.
const THERE: &[u8] = b"somebody's only copy";

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    fs::write(case.path("there"), THERE).expect("there is room");
    let which = match case.plant {
        Some("clean-end") => 0,
        Some("lost") => 1,
        _ => case.random.below(6),
    };
    match which {
        0 => storage::sync_fails_once(case, &mut outcome),
        1 => logged(case, &mut outcome),
        3 => storage::storage(case, &mut outcome),
        2 => replayed(case, &mut outcome),
        _ => shown(case, &mut outcome),
    }
    if case.is_planted("there") {
        fs::write(case.path("there"), "").expect("there is room");
    }
    if fs::read(case.path("there")).ok().as_deref() != Some(THERE) {
        outcome.find(Wrong::Silent, "a file that was there before is another");
    }
    outcome
}

/// The command where no file may be longer than so many blocks of the shell's, as on a disk that is full
/// then.
fn full(case: &Case<'_>, blocks: usize, arguments: &[&str]) -> Ran {
    let mut command = Command::new("sh");
    command.args(["-c", &format!("trap '' XFSZ; ulimit -f {blocks}; exec \"$@\""), "sh"]);
    command.arg(case.binary).args(arguments).current_dir(case.folder);
    run(&mut command, "", PATIENCE)
}

/// It failed with one sentence.
fn is_told(ran: &Ran, what: &str, outcome: &mut Outcome) {
    ran.judge(what, outcome);
    if ran.code != Some(Exit::Storage as i32) {
        outcome.find(Wrong::Silent, format!("{what}: ends with {:?}: {}", ran.code, ran.err));
    }
}

fn logged(case: &mut Case<'_>, outcome: &mut Outcome) {
    let probe = case.probe(SPEED, &["--seed", "3"]);
    let proxy = Proxy::to(&probe.port, case.seed);
    let blocks = case.random.below(40);
    let log = ["--port", &proxy.port, "log", "--every", "0", "--out", "a.session"];
    let ran = full(case, blocks, &log);
    is_told(&ran, &format!("log into {blocks} blocks"), outcome);
    let mut bytes = fs::read(case.path("a.session")).unwrap_or_default();
    if case.is_planted("lost") {
        bytes.truncate(bytes.len() / 2);
    }
    // One frame did not fit.
    let room = blocks * BLOCK;
    if !bytes.is_empty() && bytes.len() + MAX_FRAME < room {
        let why = format!("{} bytes are held where there is room for {room}", bytes.len());
        outcome.find(Wrong::Silent, why);
    }
    // All that came, up to that frame.
    let held = readings(&bytes);
    let awaited = || -> Vec<Number> {
        let travelled = proxy.travelled();
        let awaited = travelled.delivered.iter().flat_map(|it| it.awaited());
        awaited.map(|(number, _)| number).collect()
    };
    let mut owed: BTreeSet<Number> = awaited().into_iter().take(held.len()).collect();
    let before = awaited().len();
    let truth = Truth::of(&proxy.travelled().from_probe);
    let summary = truth.judge(&bytes, &owed, outcome);
    if summary.is_some_and(|it| it.damaged_bytes + it.torn_bytes > 0) {
        outcome.find(Wrong::Silent, "the session of a full disk does not end with a whole frame");
    }
    if case.path("a.session").exists() && readings(&bytes).is_empty() {
        outcome.find(Wrong::Silent, "a log without a reading leaves a file");
    }
    // With room again it goes on.
    let more = [&log[..], &["--continue", "--count", "3"]].concat();
    let ran = run(&mut case.rillmark(&more), "", PATIENCE);
    ran.judge("log --continue", outcome);
    let bytes = fs::read(case.path("a.session")).unwrap_or_default();
    if ran.code != Some(0) {
        outcome.find(Wrong::Silent, format!("log --continue fails: {}", ran.err));
    }
    owed.extend(awaited().into_iter().skip(before).take(3));
    Truth::of(&proxy.travelled().from_probe).judge(&bytes, &owed, outcome);
    // The first reading stands where it would have before.
    let first = readings(&bytes)
        .first()
        .and_then(|(_, raw)| Some(bytes.windows(raw.len()).position(|it| it == raw)? + raw.len()));
    if held.is_empty() && first.is_some_and(|end| end + LENGTHS < room) {
        outcome.find(Wrong::Silent, format!("{room} bytes had no room for the first {first:?}"));
    }
}

/// A new file is there whole, or not at all.
fn all_or_nothing(case: &Case<'_>, ran: &Ran, name: &str, whole: &[u8], outcome: &mut Outcome) {
    match fs::read(case.path(name)) {
        Ok(bytes) if bytes == whole && ran.code == Some(0) => {}
        Err(_) if ran.code != Some(0) => is_told(ran, name, outcome),
        Ok(bytes) => {
            let (is, of) = (bytes.len(), whole.len());
            let why = format!("{name}: {is} bytes of {of}, exit {:?}", ran.code);
            outcome.find(Wrong::Silent, why);
        }
        Err(_) => outcome.find(Wrong::Silent, format!("{name} is not there, exit {:?}", ran.code)),
    }
    let strangers = fs::read_dir(case.folder).expect("it is there").flatten();
    if strangers.into_iter().any(|it| it.file_name().to_string_lossy().starts_with(".rillmark-")) {
        outcome.find(Wrong::Silent, format!("{name}: an unfinished file is left"));
    }
}

fn replayed(case: &mut Case<'_>, outcome: &mut Outcome) {
    fs::write(case.path("a.session"), &bench::used(case).session).expect("there is room");
    let replay = |csv| ["replay", "a.session", "--csv", csv];
    let good = run(&mut case.rillmark(&replay("whole.csv")), "", PATIENCE);
    good.judge("replay --csv", outcome);
    let whole = fs::read(case.path("whole.csv")).unwrap_or_default();
    let blocks = case.random.below(4);
    let ran = full(case, blocks, &replay("a.csv"));
    all_or_nothing(case, &ran, "a.csv", &whole, outcome);
    is_told(&full(case, 99, &replay("there")), "replay --csv over a file", outcome);
}

fn shown(case: &mut Case<'_>, outcome: &mut Outcome) {
    let used = bench::used(case);
    fs::write(case.path("probe.flash"), &used.flash).expect("there is room");
    fs::write(case.path("a.session"), &used.session).expect("there is room");
    let probe = case.probe(SPEED, &FLASH);
    let record = used.state.in_force["ph"].as_str();
    let export = |to| ["--port", &probe.port, "show", "--record", record, "--export", to];
    let image = |to| ["--port", &probe.port, "show", "--image", to];
    let (name, most) = *case.random.one_of(&[("record", 2), ("image", 150)]);
    let blocks = case.random.below(most);
    let (good, ran) = match name {
        "record" => {
            let good = run(&mut case.rillmark(&export("whole")), "", PATIENCE);
            (good, full(case, blocks, &export(name)))
        }
        _ => {
            let good = run(&mut case.rillmark(&image("whole")), "", PATIENCE);
            (good, full(case, blocks, &image(name)))
        }
    };
    good.judge(name, outcome);
    let whole = fs::read(case.path("whole")).unwrap_or_default();
    all_or_nothing(case, &ran, name, &whole, outcome);
    is_told(&full(case, 999, &image("there")), "show --image over a file", outcome);
    // An output that takes nothing, of a command that changes the probe.
    let mut keep = Command::new("sh");
    keep.args(["-c", "exec \"$@\" >/dev/full", "sh"]).arg(case.binary);
    keep.args(["--port", &probe.port, "keep", "a.session"]).current_dir(case.folder);
    is_told(&run(&mut keep, "", PATIENCE), "keep onto a full disk", outcome);
    let after = State::ask(case, &probe.port, outcome);
    if after.is_some_and(|after| after != used.state) {
        outcome.find(Wrong::Silent, "keep onto a full disk has changed the probe");
    }
}
