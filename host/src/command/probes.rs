//! `rillmark probes`: which serial ports there are, and which of them are probes.

use clap::Args;
use rillmark_metrology::assess::InForce;
use serde_json::{Value, json};

use super::in_force::{in_force, lines, remarks_json};
use super::output::{Lean, Table};
use super::record_view::kept_records;
use super::{Context, output, start_view};
use crate::exit::Failure;
use crate::link::find::{Candidate, candidates};
use crate::link::probe::{Probe, connect};
use crate::words::en::{probe as words, start as start_words};
use rillmark_proto::wire::hello::HelloAnswer;

/// `rillmark probes …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE_PROBES)]
pub struct Options {}

/// A port, and what was heard there when it was opened.
struct Asked {
    port: Candidate,
    heard: Option<Result<Heard, Failure>>,
}

/// What an answering probe said.
struct Heard {
    answer: HelloAnswer,
    /// The calibrations in force; an error when its store cannot tell.
    in_force: Result<InForce, Failure>,
}

fn hear(probe: &mut Probe) -> Heard {
    let answer = probe.answer();
    let now_ms = probe.link().utc_ms();
    let in_force = kept_records(probe).map(|kept| in_force(&kept, None, now_ms));
    Heard { answer, in_force }
}

/// Lists the ports and asks those that are ours, and the one that was named.
///
/// # Errors
/// When the ports cannot be listed or the output cannot be written. A port that cannot be opened
/// is part of the answer.
pub fn run(_options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let mut ports = candidates()?;
    if let Some(named) = context.port.clone()
        && !ports.iter().any(|port| port.path == named)
    {
        ports.push(Candidate { path: named, ours: false, usb_serial: None, product: None });
    }
    let named = context.port.as_deref();
    let asked: Vec<Asked> = ports
        .into_iter()
        .map(|port| {
            let ask = port.ours || named == Some(port.path.as_str());
            let heard =
                ask.then(|| connect(Some(&port.path), None).map(|mut probe| hear(&mut probe)));
            Asked { port, heard }
        })
        .collect();
    if context.json {
        let ports: Vec<_> = asked.iter().map(Asked::json).collect();
        return output::json(context.out, &json!({ "ports": ports }));
    }
    if asked.is_empty() {
        return output::line(context.out, words::NO_PORTS);
    }
    let mut table = Table::new(&[
        (words::PORT, Lean::Left),
        (words::PROBE, Lean::Left),
        (words::FIRMWARE, Lean::Left),
        (words::BOOT, Lean::Right),
        (start_words::LAST_START, Lean::Left),
        (words::USB, Lean::Left),
    ]);
    for asked in &asked {
        table.row(asked.cells());
    }
    let remarks: String = asked.iter().map(Asked::remarks).collect();
    let between = if remarks.is_empty() { "" } else { "\n" };
    output::text(context.out, &format!("{}{between}{remarks}", table.text()))
}

impl Asked {
    fn answered(&self) -> Option<&Heard> {
        self.heard.as_ref().and_then(|heard| heard.as_ref().ok())
    }

    fn in_force(&self) -> Option<&InForce> {
        self.answered()?.in_force.as_ref().ok()
    }

    /// Why it did not answer, or cannot tell its calibrations.
    fn error(&self) -> Option<&Failure> {
        match self.heard.as_ref()? {
            Ok(heard) => heard.in_force.as_ref().err(),
            Err(failure) => Some(failure),
        }
    }

    /// What is to be said about its calibrations, a line each; why it cannot tell them.
    fn remarks(&self) -> String {
        let of_port = |line: &str| output::line_of(&format!("{}: {line}", self.port.path));
        let lines = match self.answered().map(|heard| &heard.in_force) {
            Some(Ok(in_force)) => lines(in_force),
            Some(Err(failure)) => output::line_of(&failure.sentence),
            None => String::new(),
        };
        lines.lines().map(of_port).collect()
    }

    fn json(&self) -> Value {
        let answer = self.answered().map(|heard| &heard.answer);
        json!({
            "port": self.port.path,
            "ours": self.port.ours,
            "usb_serial": self.port.usb_serial,
            "product": self.port.product,
            "board": answer.map(|answer| answer.board.to_string()),
            "firmware": answer.map(firmware),
            "boot": answer.map(|answer| answer.boot),
            "start": answer.map(|answer| start_view::json(&answer.start)),
            "error": self.error().map(ToString::to_string),
            "remarks": self.in_force().map(remarks_json),
        })
    }

    fn cells(&self) -> [String; 6] {
        let answer = self.answered().map(|heard| &heard.answer);
        let probe = match &self.heard {
            Some(Ok(heard)) => heard.answer.board.to_string(),
            Some(Err(failure)) => output::line_of(&failure.sentence),
            None => words::NOT_ASKED.to_owned(),
        };
        let firmware = answer.map(firmware).unwrap_or_default();
        let boot = answer.map(|answer| answer.boot.to_string()).unwrap_or_default();
        let start = answer.map(|answer| start_words::cause(answer.start.cause)).unwrap_or_default();
        let usb = self.port.product.clone().unwrap_or_default();
        [self.port.path.clone(), probe, firmware, boot, start.to_owned(), usb]
    }
}

fn firmware(answer: &HelloAnswer) -> String {
    let [major, minor, patch] = answer.firmware;
    format!("{major}.{minor}.{patch}")
}

#[cfg(test)]
mod tests {
    use std::rc::Rc;

    use rillmark_proto::wire::message::Refusal;

    use super::*;
    use crate::link::fake::{FakeLink, World};
    use crate::link::probe::Probe;

    #[test]
    fn a_probe_whose_store_cannot_tell_says_so() {
        let world = World::new();
        world.borrow_mut().store_refusal = Some(Refusal::StoreCorrupt);
        let mut probe = Probe::connect(Box::new(FakeLink(Rc::clone(&world)))).expect("it answers");
        let heard = Some(Ok(hear(&mut probe)));
        let port = Candidate { path: "P1".into(), ours: true, usb_serial: None, product: None };
        let asked = Asked { port, heard };
        let json = asked.json();
        assert_eq!(json["boot"], 3);
        let error = json["error"].as_str().expect("a sentence");
        assert!(error.contains("store"), "{error}");
        assert_eq!(json["remarks"], Value::Null);
        assert_eq!(asked.remarks(), format!("P1: {error}\n"));
    }
}
