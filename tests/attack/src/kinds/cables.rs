//! Commands over a bad cable: it cuts, delays, drops, bites, doubles, flips, inserts, trickles and reorders.

use std::collections::BTreeSet;
use std::fs;
use std::process::Stdio;
use std::thread;
use std::time::{Duration, Instant};

use rillmark::words::en::session as words;

use super::afterwards::judge;
use super::kill_calibrating::{FLASH, action, begin, operator};
use crate::bench;
use crate::cable::{Cable, Trouble};
use crate::case::Case;
use crate::delivered::MOMENT;
use crate::outcome::{Outcome, Wrong};
use crate::proxy::Proxy;
use crate::run::{end_on_purpose, run, wait};
use crate::state::State;
use crate::truth::{Truth, spoil};

/// What passes here in a second has to pass a slow cable too.
const SLOWER: &str = "200";
/// In this time every command ends over any cable that is used here.
const PATIENCE: Duration = Duration::from_secs(120);

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let troubles = (0..=case.random.below(3)).map(|_| *case.random.one_of(&Trouble::ALL)).collect();
    let one_in = *case.random.one_of(&[3, 8, 20, 60, 200]);
    match case.random.below(3) {
        // One that waits for every answer would never end over the worst.
        0 => command(case, Cable { troubles, one_in: one_in.max(20) }),
        _ => log(case, Cable { troubles, one_in }),
    }
}

fn log(case: &mut Case<'_>, cable: Cable) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    let seed = case.random.below(1_000).to_string();
    let probe = case.probe(SLOWER, &["--seed", &seed]);
    let proxy = Proxy::to(&probe.port, case.seed);
    let mut log = case.rillmark(&["--port", &proxy.port, "log", "--every", "0", "--out"]);
    let said = fs::File::create(case.path("said")).expect("there is room");
    let log = log.arg("a.session").stdout(Stdio::null()).stderr(said).spawn();
    let mut log = log.expect("the binary starts");
    let file = case.path("a.session");
    let size = || fs::metadata(&file).map_or(0, |metadata| metadata.len());
    for _ in 0..400 {
        if size() > 600 {
            break;
        }
        thread::sleep(Duration::from_millis(5));
    }
    for _ in 0..=case.random.below(3) {
        proxy.over(cable.clone());
        thread::sleep(Duration::from_millis(50 + case.random.below(400) as u64));
        // With no trouble in between, or right on into the end.
        if !case.once_in(3) {
            proxy.over(Cable::default());
            thread::sleep(Duration::from_millis(case.random.below(800) as u64));
        }
    }
    // At times long enough that all that came before is owed.
    if case.once_in(3) {
        thread::sleep(MOMENT);
    }
    let interrupted = Instant::now();
    end_on_purpose(&log);
    let (code, hung) = wait(&mut log, PATIENCE);
    match code {
        _ if hung => outcome.find(Wrong::Hung, format!("log over {cable:?}")),
        None | Some(101) => outcome.find(Wrong::Panic, format!("log over {cable:?}: {code:?}")),
        _ => {}
    }
    let mut bytes = fs::read(&file).unwrap_or_default();
    // One that did not come so far as to say that it logs owes nothing, and leaves nothing.
    let said = fs::read_to_string(case.path("said")).unwrap_or_default();
    let owed = match said.lines().any(|line| line == words::logging_into("a.session")) {
        true => {
            let travelled = proxy.travelled();
            travelled.delivered.iter().flat_map(|it| it.owed(interrupted)).collect()
        }
        false if code == Some(0) || !bytes.is_empty() => {
            outcome.find(Wrong::Silent, format!("a log ends with {code:?} and: {said}"));
            BTreeSet::new()
        }
        false => BTreeSet::new(),
    };
    spoil(&mut bytes, case);
    let truth = Truth::of(&proxy.travelled().from_probe);
    let summary = truth.judge(&bytes, &owed, &mut outcome);
    if code == Some(0) && summary.is_none_or(|summary| summary.end.is_none()) {
        outcome.find(Wrong::Silent, "an interrupted log that ended well has no end");
    }
    keep(&proxy, &mut outcome);
    outcome
}

fn command(case: &mut Case<'_>, cable: Cable) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    let arguments = match case.once_in(4) {
        true => vec!["show".to_owned()],
        false => action(case),
    };
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let before = begin(case, &arguments);
    let mut probe = Some(case.probe(SLOWER, &FLASH));
    let proxy = Proxy::to(&probe.as_ref().expect("started").port, case.seed);
    proxy.over(cable.clone());
    let what = format!("{arguments:?} over {cable:?}");
    let ran = match arguments[0] {
        "show" => {
            let show = [&["--json", "--port", &proxy.port], &arguments[..]].concat();
            run(&mut case.rillmark(&show), "", PATIENCE)
        }
        _ => bench::guide(case, &mut probe, &proxy.port, &arguments, PATIENCE, |_, _| {}),
    };
    ran.judge(&what, &mut outcome);
    if arguments[0] == "show" && ran.code == Some(0) && State::of(&ran.last()) != *before {
        outcome.find(Wrong::Silent, format!("{what}: {}", ran.out));
    }
    proxy.over(Cable::default());
    let operator = operator(case);
    judge(case, before, &operator, &ran, &what, &mut probe, &proxy, &mut outcome);
    keep(&proxy, &mut outcome);
    outcome
}

fn keep(proxy: &Proxy, outcome: &mut Outcome) {
    if !outcome.findings.is_empty() {
        let travelled = proxy.travelled();
        outcome.keep("from-probe", travelled.from_probe.clone());
        outcome.keep("to-probe", travelled.to_probe.clone());
        let delivered = travelled.delivered.iter().flat_map(|it| it.bytes.clone());
        outcome.keep("delivered", delivered.collect::<Vec<_>>());
    }
}
