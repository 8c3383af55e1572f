//! A probe after its calibration was disturbed.

use std::fs;

use rillmark_tests::virtual_process::VirtualProcess;

use crate::bench::{self, CALIBRATE_CELL};
use crate::case::Case;
use crate::outcome::{Outcome, Wrong};
use crate::proxy::Proxy;
use crate::run::{Ran, run};
use crate::state::{PATIENCE, State, used};

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
    if case.plant {
        after.in_force.insert("ph".to_owned(), "0".repeat(32));
    }
    let mut silent = |why: String| outcome.find(Wrong::Silent, format!("{what}: {why}"));
    let equipped = what.contains("E-99");
    for (quantity, old) in &before.in_force {
        let now = after.in_force.get(quantity);
        let is_old = now == Some(old);
        let is_new = now.is_some_and(|id| {
            let made = after.records.get(id);
            made.is_some_and(|(by, _)| by == operator) && !before.records.contains_key(id)
        });
        let other_electrode = equipped && quantity == "ph" && after.fitted != before.fitted;
        let is_unfitted = other_electrode && now.is_none();
        if !(is_old && !other_electrode || is_new || is_unfitted) {
            silent(format!("in force for {quantity} is {now:?}, was {old}"));
        }
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
