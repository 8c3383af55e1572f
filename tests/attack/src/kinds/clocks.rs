//! The computer's clock is set, and the computer sleeps, while it logs: a reading's UTC is what that clock
//! said when the reading came, to a second, or it is told that the clock was set.

mod steered;

use std::collections::BTreeMap;
use std::fs;
use std::rc::Rc;

use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark::session::log::{Plan, log};
use rillmark::session::replay::{open, replay};
use rillmark::session::writer::Writer;
use rillmark_bench::Setup;
use rillmark_proto::wire::message::Sampling;

use self::steered::{Steered, Step};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::truth::Number;

/// How far a time may be off unsaid, in ms: a second, and what a reading takes to come.
const MOST_MS: i64 = 1_000 + 50;

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let file = case.path("a.session");
    let came = Rc::default();
    // The moment of the bench at which each run begins, and how far its clock is set off.
    let (mut begins, mut set_ms) = (0_u64, 0_i64);
    let flash = case.path("probe.flash");
    let runs = 1 + case.random.below(3);
    for run in 0..runs {
        let count = 1 + case.random.below(4);
        let mut steps: Vec<_> =
            (0..count).map(|_| (case.random.below(900_000) as u64, step(case))).collect();
        steps.sort_by_key(|(at, _)| std::cmp::Reverse(*at));
        outcome.tried += steps.len() as u64;
        let late_ms = steps.iter().map(|(_, step)| match step {
            Step::Sleep(ms) => *ms,
            Step::Set(_) => 0,
        });
        let longest = 1_000_000 + late_ms.sum::<u64>();
        let setup = Setup { flash: Some(flash.clone()), seed: case.seed >> 1, ..Setup::default() };
        let line = VirtualLink::with(setup, "bench").expect("a bench");
        let line = Steered {
            line,
            steps,
            set_ms: set_ms.saturating_add(begins as i64),
            slept_ms: 0,
            came: Rc::clone(&came),
            open: Vec::new(),
        };
        let mut probe = match Probe::connect(Box::new(line)) {
            Ok(probe) => probe,
            Err(why) => {
                outcome.find(Wrong::Silent, why.to_string());
                return outcome;
            }
        };
        let interval = *case.random.one_of(&[0, 5_000, 30_000, 120_000]);
        let plan = Plan {
            sampling: Sampling::Full { interval_ms: interval },
            count: None,
            for_ms: Some(300_000 + case.random.below(700_000) as u64),
            note: None,
            junction_ph: None,
        };
        let board = probe.answer().board;
        let writer = match run {
            0 => Writer::create(&file),
            _ => Writer::resume(&file, board),
        };
        let mut writer = writer.expect("there is room");
        if let Err(why) = log(&mut probe, &mut writer, &plan, &|| false, &mut |_| Ok(())) {
            outcome.find(Wrong::Silent, format!("the log fails: {why}"));
        }
        // Between two runs anything may happen to the clock too.
        begins += longest;
        if case.once_in(2) {
            outcome.tried += 1;
            if let Step::Set(by_ms) = step(case) {
                set_ms = set_ms.saturating_add(by_ms);
            }
        }
    }
    let bytes = fs::read(&file).unwrap_or_default();
    judge(&bytes, &came.borrow(), case.plant, &mut outcome);
    outcome
}

/// By ms to years, either way; a sleep of up to an hour.
fn step(case: &mut Case<'_>) -> Step {
    let random = &mut case.random;
    let most = *random.one_of(&[10_usize, 900, 1_100, 5_000, 60_000, 3_600_000, 86_400_000]);
    let most = if random.below(10) == 0 { 1_000_000_000_000 } else { most };
    let ms = 1 + random.below(most);
    match random.below(5) {
        0 => Step::Sleep(ms.min(3_600_000) as u64),
        1 | 2 => Step::Set(ms as i64),
        _ => Step::Set(-(ms as i64)),
    }
}

fn judge(file: &[u8], came: &BTreeMap<Number, (i64, i64)>, plant: bool, outcome: &mut Outcome) {
    let Ok(session) = open(file) else {
        outcome.find(Wrong::Silent, "no session is left");
        return;
    };
    let mut dated = Vec::new();
    let replayed = replay(file, &session, &[], |it| {
        dated.push(((it.reading.time.boot, it.reading.running), it.utc_ms));
    });
    let summary = replayed.expect("bytes can be read");
    if let Some((_, Some(utc_ms))) = dated.last_mut().filter(|_| plant) {
        *utc_ms += 5_000;
    }
    let told =
        |number: Number| summary.clock_sets.iter().any(|set| (set.boot, set.running) == number);
    let mut before: Option<i64> = None;
    for (number, utc_ms) in dated {
        let (Some((truth, _)), Some(utc_ms)) = (came.get(&number), utc_ms) else {
            outcome.find(Wrong::Invented, format!("reading {number:?} with the time {utc_ms:?}"));
            continue;
        };
        let off = utc_ms - truth;
        if off.abs() > MOST_MS {
            outcome.find(Wrong::Silent, format!("reading {number:?} is dated {off} ms off"));
        }
        if before.is_some_and(|before| utc_ms < before) && !told(number) {
            outcome.find(Wrong::Silent, format!("UTC runs backwards at {number:?} unsaid"));
        }
        before = Some(utc_ms);
    }
}
