//! A probe after its calibration was disturbed.

use std::collections::BTreeSet;
use std::fs;

use rillmark::words::en::routine as words;
use rillmark_tests::virtual_process::VirtualProcess;

use crate::bench::{self, CALIBRATE_CELL};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::proxy::Proxy;
use crate::run::{Ran, run};
use crate::state::{PATIENCE, State, used};

/// How it is said that all is as it was.
const UNCHANGED: [&str; 4] = [
    "nothing in the probe was changed",
    "nothing was changed",
    "nothing in it was changed",
    "keeps what it kept before",
];

/// The probe afterwards: old or new, whole, as readings say too, and it can be calibrated again.
#[allow(clippy::too_many_arguments)] // what was before, what was done, and where to look
pub(crate) fn judge(
    case: &mut Case<'_>,
    before: &State,
    operator: &str,
    ran: &Ran,
    what: &str,
    probe: &mut Option<VirtualProcess>,
    proxy: &Proxy,
    outcome: &mut Outcome,
) {
    let Some(mut after) = State::ask(case, &proxy.port, outcome) else { return };
    let mut ran = ran.clone();
    match case.plant {
        Some("other-in-force") => drop(after.in_force.insert("ph".to_owned(), "0".repeat(32))),
        Some("said-unchanged") => {
            ran.err.push_str(words::NOTHING_CHANGED);
            after.records.insert("0".repeat(32), (operator.to_owned(), false));
        }
        _ => {}
    }
    let mut silent = |why: String| outcome.find(Wrong::Silent, format!("{what}: {why}"));
    let equipped = what.contains("E-99");
    let asked = bench::used(case).state.in_force.clone();
    let said = format!("{}{}", ran.out, ran.err);
    let quantities: BTreeSet<_> = before.in_force.keys().chain(after.in_force.keys()).collect();
    for quantity in quantities {
        let (old, now) = (before.in_force.get(quantity), after.in_force.get(quantity));
        let is_new = now.is_some_and(|id| {
            let made = after.records.get(id);
            made.is_some_and(|(by, _)| by == operator) && !before.records.contains_key(id)
        });
        // What a file asked for, where that is said.
        let is_kept = what.contains("\"keep\"")
            && now.is_some_and(|id| asked.get(quantity) == Some(id) && said.contains(&id[..8]));
        let other_electrode = equipped && quantity == "ph" && after.fitted != before.fitted;
        let is_unfitted = other_electrode && now.is_none();
        if !(now == old && !other_electrode || is_new || is_kept || is_unfitted) {
            silent(format!("in force for {quantity} is {now:?}, was {old:?}"));
        }
    }
    // Who is told that nothing was changed does nothing about it.
    if UNCHANGED.iter().any(|it| said.to_lowercase().contains(it)) && after != *before {
        silent(format!("it is said that nothing was changed: {}", ran.err));
    }
    if let Some((id, _)) = after.records.iter().find(|(_, (_, is_damaged))| *is_damaged) {
        silent(format!("record {id} is damaged"));
    }
    let asked_for =
        [serde_json::Value::from("E-99"), before.fitted[1].clone(), before.fitted[2].clone()];
    if after.fitted != before.fitted && !(equipped && after.fitted == asked_for) {
        silent(format!("fitted is {:?}", after.fitted));
    }
    // What the program said that it did is so.
    if ran.code == Some(0) {
        let id = ran.last()["id"].as_str().unwrap_or_default().to_owned();
        if what.contains("calibrate") && !after.in_force.values().any(|it| *it == id) {
            silent(format!("{id} was said to be in force"));
        }
        if what.contains("verify") && !after.records.contains_key(&id) {
            silent(format!("{id} was said to be kept"));
        }
        if what.contains("\"keep\"")
            && let Some(id) = asked.values().find(|id| !after.records.contains_key(*id))
        {
            silent(format!("{id} was said to be kept"));
        }
        if equipped && after.fitted != asked_for {
            silent("E-99 was said to be fitted".to_owned());
        }
    }
    let log = ["--port", &proxy.port, "log", "--every", "0", "--count", "2", "--out", "after"];
    let logged = run(&mut case.rillmark(&log), "", PATIENCE);
    logged.judge("log afterwards", outcome);
    let (shorts, is_unflagged) = used(&fs::read(case.path("after")).unwrap_or_default());
    if shorts.iter().any(|short| !after.short().contains(short.as_str())) || !is_unflagged {
        let why = format!("{what}: readings afterwards use {shorts:?}, flag-free {is_unflagged}");
        outcome.find(Wrong::Silent, why);
    }
    let next = bench::guide(case, probe, &proxy.port, &CALIBRATE_CELL, PATIENCE, |_, _| {});
    next.judge("the next calibration", outcome);
    if next.code != Some(0) {
        outcome.find(Wrong::Silent, format!("{what}: the next calibration fails: {}", next.err));
    }
}
