//! A probe that lies, against every command that asks one: it ends, says no more than a sentence, and
//! believes no record of another identity.

use std::collections::BTreeMap;
use std::fs;
use std::process::Command;
use std::time::Duration;

use rillmark::session::reader::{Item, items};
use rillmark::session::replay::open;
use rillmark_proto::record::codec;
use rillmark_proto::record::fitted::Fitted;

use crate::bench::{self, CALIBRATE_CELL, CALIBRATE_PH, EQUIP, VERIFY};
use crate::case::Case;
use crate::liar::{Liar, Lie, Story};
use crate::outcome::{Outcome, Wrong};
use crate::run::{Ran, run, run_until};

/// A command that waits for nothing ends by itself in this time: hellos take 5 s, an order 15 s in all, and none
/// says more than six that all take so long.
const ENDS: Duration = Duration::from_secs(95);
/// One that takes readings until it has enough is ended by a person after so long, if no reading comes.
const INTERRUPT: Duration = Duration::from_secs(20);
/// It ends so long after the interruption: hellos, an order and the one that ends the sampling.
const ENDS_THEN: Duration = Duration::from_secs(40);

/// What a person types, whatever is asked.
const TYPED: &str = "done\n25\ncontinue\ndone\n25\nleave\ndone\n";

pub(crate) fn attack(case: &mut Case<'_>) -> Outcome {
    let mut outcome = Outcome { tried: 1, ..Outcome::default() };
    let story = story(case);
    let (record, ph) = (story.records[0].0.to_string(), story.records.len());
    let mut lie = *case.random.one_of(&Lie::ALL);
    // What takes a minute comes less often.
    if lie == Lie::Silent && !case.once_in(3) {
        lie = Lie::OtherRecord;
    }
    fs::write(case.path("used.session"), &bench::used(case).session).expect("there is room");
    let liar = Liar::start(lie, story, case.seed);
    let arguments = command(case, &record);
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let json = if case.once_in(2) { &["--json"][..] } else { &[] };
    let all = [json, &["--port", &liar.port], &arguments].concat();
    let (mut command, mut ends) = (case.rillmark(&all), ENDS);
    // Planted: one that goes on whatever comes, and less patience with it.
    if case.is_planted("endless") {
        command = Command::new("sh");
        command.args(["-c", "trap '' INT; while :; do sleep 0.1; done"]);
        ends = Duration::from_secs(1);
    }
    // Whoever asks for a number of readings waits for them.
    let waits = arguments.contains(&"--count") && !case.is_planted("endless");
    let mut ran = match waits {
        true => run_until(&mut command, TYPED, INTERRUPT, INTERRUPT + ENDS_THEN),
        false => run(&mut command, TYPED, ends),
    };
    if case.is_planted("terminal") {
        ran.out.push('\u{1b}');
    }
    let what = format!("{arguments:?} {json:?} of a probe that lies: {lie:?}");
    ran.judge(&what, &mut outcome);
    if lie == Lie::OtherRecord && ph > 1 {
        believes_nothing(case, &arguments, &ran, !json.is_empty(), &what, &mut outcome);
    }
    if !outcome.findings.is_empty() {
        outcome.keep("out", ran.out);
        outcome.keep("err", ran.err);
    }
    outcome
}

/// What the liar tells where it tells the truth.
fn story(case: &Case<'_>) -> Story {
    let bytes = &bench::used(case).session;
    let session = open(&bytes[..]).expect("it was made as one");
    let held: BTreeMap<_, _> = session.records.values().map(|it| (it.id, &it.record)).collect();
    let records: Vec<_> =
        held.into_iter().filter_map(|(id, it)| Some((id, it.as_ref().ok()?.clone()))).collect();
    let readings = items(&bytes[..]).map_while(Result::ok).filter_map(|(_, item)| match item {
        Item::Reading(reading) => Some(*reading),
        _ => None,
    });
    let fitted = session.headers.first().and_then(|header| header.equipment.clone());
    let fitted: Fitted = fitted.expect("it was equipped").fitted;
    let board = session.headers[0].board;
    Story { board, records, fitted, readings: readings.collect() }
}

/// One of the commands that take a port.
fn command(case: &mut Case<'_>, record: &str) -> Vec<String> {
    let export = ["show", "--record", &record[..8], "--export", "record"];
    let log = ["log", "--every", "0", "--out", "a.session"];
    let all: [Vec<&str>; 16] = [
        vec!["show"],
        vec!["show", "--record", &record[..8]],
        export.to_vec(),
        vec!["show", "--image", "image"],
        vec!["show", "--budget", "20,25"],
        vec!["equip"],
        EQUIP.to_vec(),
        [&log[..], &["--count", "5"]].concat(),
        [&log[..], &["--for", "2"]].concat(),
        vec!["watch", "--count", "3"],
        CALIBRATE_PH.to_vec(),
        CALIBRATE_CELL.to_vec(),
        VERIFY.to_vec(),
        vec!["diagnose"],
        vec!["keep", "used.session"],
        match case.random.below(4) {
            0 => vec!["stir-check"],
            1 => vec!["check-board"],
            2 => vec!["recognise", "ph", "--standard", "4.01", "--standard", "7.00"],
            _ => vec!["probes"],
        },
    ];
    case.random.one_of(&all).iter().map(|it| (*it).to_owned()).collect()
}

/// No value is given under a record that is another than it was said to be.
fn believes_nothing(
    case: &Case<'_>,
    arguments: &[&str],
    ran: &Ran,
    json: bool,
    what: &str,
    outcome: &mut Outcome,
) {
    let succeeded = ran.code == Some(0);
    let needs_a_record = arguments.contains(&"--budget") || ["verify"].contains(&arguments[0]);
    if succeeded && (needs_a_record || case.path("record").exists()) {
        outcome.find(Wrong::Invented, format!("{what}: {}", ran.out));
    }
    if succeeded && json && arguments == ["show"] {
        let show = ran.last();
        let records = show["records"].as_array().cloned().unwrap_or_default();
        if records.is_empty() || records.iter().any(|it| it.get("result").is_some()) {
            outcome.find(Wrong::Invented, format!("{what}: {}", ran.out));
        }
    }
    let bytes = fs::read(case.path("a.session")).unwrap_or_default();
    if let Ok(session) = open(&bytes[..]) {
        let other = session.all().find(|it| {
            let bytes = it.record.as_ref().ok().and_then(|record| codec::encode(record).ok());
            it.altered || bytes.is_some_and(|bytes| codec::identity(&bytes) != it.id)
        });
        if let Some(other) = other {
            outcome.find(Wrong::Invented, format!("{what}: the session holds {}", other.id));
        }
    }
}
