//! The computer's clock is set, and the computer sleeps, while it logs: a reading's UTC is what that clock
//! said when the reading came, to a second, or it is told that the clock was set.

mod steered;

use std::collections::BTreeMap;
use std::fs;
use std::rc::Rc;

use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark::session::log::{Event, Plan, log};
use rillmark::session::replay::{open, replay};
use rillmark::session::time::{ClockSet, Why};
use rillmark::session::writer::Writer;
use rillmark_bench::Setup;
use rillmark_proto::wire::message::Sampling;

use self::steered::{Steered, Step};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::truth::Number;

/// What a reading takes to come, in ms.
const LATE_MS: i64 = 50;
/// How far a time may be off unsaid, in ms.
const MOST_MS: i64 = PARTED_MS + LATE_MS;
/// What is less is said of no clock.
const PARTED_MS: i64 = 1_000;

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome::default();
    let file = case.path("a.session");
    let came = Rc::default();
    let mut sets = Vec::new();
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
            run,
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
            measured: None,
        };
        let board = probe.answer().board;
        let writer = match run {
            0 => Writer::create(&file),
            _ => Writer::resume(&file, board),
        };
        let mut writer = writer.expect("there is room");
        let mut watch = |event: Event<'_>| {
            if let Event::ClockSet(set) = event {
                sets.push(in_log(*set));
            }
            Ok(())
        };
        if let Err(why) = log(&mut probe, &mut writer, &plan, &|| false, &mut watch) {
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
    judge(&bytes, sets, &came.borrow(), case, &mut outcome);
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

/// What a reading met on its way.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Arrival {
    /// What the computer's clock said when it came, in ms.
    utc_ms: i64,
    /// How far that was set off then, in ms.
    set_ms: i64,
    /// For how long the computer had slept since the run began, in ms.
    slept_ms: i64,
    /// Number of the run.
    run: usize,
}

fn judge(
    file: &[u8],
    mut sets: Vec<ClockSet>,
    came: &BTreeMap<Number, Arrival>,
    case: &Case<'_>,
    outcome: &mut Outcome,
) {
    let Ok(session) = open(file) else {
        outcome.find(Wrong::Silent, "no session is left");
        return;
    };
    let mut dated = Vec::new();
    let replayed = replay(file, &session, &[], |it| {
        let time = it.reading.time;
        dated.push(((time.boot, it.reading.running), time.ms as i64, it.utc_ms));
    });
    let summary = replayed.expect("bytes can be read");
    // A replay holds the first and the last ones, and knows of what lies between two runs; the log said all others.
    let held = &summary.clock_sets;
    if held.count() < sets.len() as u64 {
        outcome.find(Wrong::Silent, format!("the log said {sets:?}, and its replay {held:?}"));
    }
    for set in held.iter().map(|set| in_log(*set)) {
        if !sets.contains(&set) {
            sets.push(set);
        }
    }
    spoil(&mut dated, &mut sets, came, case);
    let mut before: Option<(Arrival, i64, i64)> = None;
    // By how much the clock was set since that was last said, and by how much UTC parted from the probe's clock
    // and from the monotonic one, reading by reading, the newest first. They differ where the computer slept and
    // readings waited: there either is all that can be known. A mark that is due takes up what is less than a
    // second.
    let (mut set, mut parted, mut counted) = (Vec::new(), Vec::new(), Vec::new());
    for (number, probe_ms, utc_ms) in dated {
        let (Some(&arrival), Some(utc_ms)) = (came.get(&number), utc_ms) else {
            outcome.find(Wrong::Invented, format!("reading {number:?} with the time {utc_ms:?}"));
            continue;
        };
        let off = utc_ms - arrival.utc_ms;
        if off.abs() > MOST_MS {
            outcome.find(Wrong::Silent, format!("reading {number:?} is dated {off} ms off"));
        }
        let at = sets.iter().position(|set| (set.boot, set.running) == number);
        let said = at.map(|at| sets.remove(at));
        let last = before.replace((arrival, probe_ms, utc_ms));
        let back = last.map_or(0, |(_, _, last)| (utc_ms - last).min(0));
        let Some((last, last_probe_ms, _)) = last.filter(|(last, _, _)| last.run == arrival.run)
        else {
            // Between two runs nobody counted: only time that runs backwards can be said, and has to be.
            (set, parted, counted) = (Vec::new(), Vec::new(), Vec::new());
            if said.map_or(0, |set| set.by_ms) != back {
                let why = format!("{back} ms back at the beginning {number:?} is said as {said:?}");
                outcome.find(Wrong::Silent, why);
            }
            continue;
        };
        let by_ms = arrival.set_ms - last.set_ms;
        let parted_ms = (arrival.utc_ms - last.utc_ms) - (probe_ms - last_probe_ms);
        set.insert(0, by_ms);
        parted.insert(0, parted_ms);
        let counted_ms = by_ms + arrival.slept_ms - last.slept_ms;
        counted.insert(0, counted_ms);
        let is_seen = [by_ms, parted_ms, counted_ms].iter().all(|by| by.abs() > MOST_MS);
        match said {
            None if is_seen || back < 0 => {
                let why = format!("the clock was set by {by_ms} ms before {number:?}, unsaid");
                outcome.find(Wrong::Silent, why);
            }
            None => {}
            Some(it) if it.why == Why::Back && it.by_ms == back && -back <= MOST_MS => {}
            Some(it)
                if it.by_ms.abs() > PARTED_MS
                    && [&set, &parted, &counted].iter().any(|parts| adds_up(parts, it)) =>
            {
                (set, parted, counted) = (Vec::new(), Vec::new(), Vec::new());
            }
            Some(it) => {
                let why =
                    format!("at {number:?} it is said {it:?}, and it was {set:?}, {parted:?}");
                outcome.find(Wrong::Silent, why);
            }
        }
    }
    for set in sets {
        outcome.find(Wrong::Silent, format!("{set:?} is said of no reading"));
    }
}

/// A log knows of its own run alone.
const fn in_log(set: ClockSet) -> ClockSet {
    ClockSet { run: 0, ..set }
}

/// Whether the last of these are what is said.
fn adds_up(parts: &[i64], said: ClockSet) -> bool {
    let sums = parts.iter().scan(0_i64, |sum, by| {
        *sum += by;
        Some(*sum)
    });
    sums.into_iter().any(|sum| (sum - said.by_ms).abs() <= LATE_MS)
}

/// Spoils what a replay says, before it is judged.
fn spoil(
    dated: &mut [(Number, i64, Option<i64>)],
    sets: &mut Vec<ClockSet>,
    came: &BTreeMap<Number, Arrival>,
    case: &Case<'_>,
) {
    let set = |forward: bool| {
        let mut sets = sets.iter();
        sets.position(|set| set.why == Why::Set && (set.by_ms > 0) == forward)
    };
    match case.plant {
        Some("off") => {
            if let Some((_, _, Some(utc_ms))) = dated.last_mut() {
                *utc_ms += 5_000;
            }
        }
        Some("unsaid-forward") => drop(set(true).map(|at| sets.remove(at))),
        Some("unsaid-back") => drop(set(false).map(|at| sets.remove(at))),
        Some("made-up") => {
            let is_said = |it: &(u32, u32)| sets.iter().any(|set| (set.boot, set.running) == *it);
            let quiet = came.keys().rev().find(|it| !is_said(it));
            sets.extend(quiet.map(|(boot, running)| ClockSet {
                run: 0,
                utc_ms: 0,
                boot: *boot,
                running: *running,
                by_ms: 60_000,
                why: Why::Set,
            }));
        }
        _ => {}
    }
}
