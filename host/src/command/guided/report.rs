//! Shows a guided routine while it happens: lines for a person, or one JSON object a line.

use std::collections::BTreeSet;
use std::io::{IsTerminal, Write};

use rillmark_procedures::routine::collect::Progress;
use rillmark_procedures::routine::judgement::{Judgement, Severity};
use rillmark_procedures::routine::manners::{self, Manner};
use rillmark_procedures::routine::step::{Allowed, Guided, Step};
use rillmark_proto::record::Quantity;
use serde_json::{Map, Value, json};

use super::super::output;
use super::super::record_view::point_json;
use super::Sight;
use crate::exit::Failure;
use crate::words::en::{judgement, manners as manner_words, routine as words};

/// Progress is said again after so many ms of probe time.
const SAY_EVERY_MS: u64 = 5_000;

/// Stands for the air among the standards.
const IN_AIR: usize = usize::MAX;

pub(in crate::command) struct Report<'a> {
    json: bool,
    live: bool,
    out: &'a mut dyn Write,
    progress: &'a mut dyn Write,
    /// When progress was last said, of which standard, and whether as-left.
    said: Option<(usize, bool, u64)>,
    /// Points that were told.
    taken: usize,
    /// Manners that were told.
    told: BTreeSet<Manner>,
}

/// A judgement as JSON, the same everywhere.
pub(in crate::command) fn judgement_json(said: &Judgement) -> Value {
    let numbers: Map<String, Value> =
        said.numbers().into_iter().map(|(name, value)| (name.to_owned(), json!(value))).collect();
    json!({
        "code": said.code(),
        "severity": said.severity().name(),
        "sentence": judgement::sentence(said),
        "source": said.source(),
        "numbers": numbers,
    })
}

impl<'a> Report<'a> {
    pub(in crate::command) fn new(
        json: bool,
        out: &'a mut dyn Write,
        progress: &'a mut dyn Write,
    ) -> Self {
        let live = !json && std::io::stderr().is_terminal();
        Self { json, live, out, progress, said: None, taken: 0, told: BTreeSet::new() }
    }

    /// Lines for a person who reads them later.
    pub(in crate::command) fn plain(out: &'a mut dyn Write, progress: &'a mut dyn Write) -> Self {
        Self {
            json: false,
            live: false,
            out,
            progress,
            said: None,
            taken: 0,
            told: BTreeSet::new(),
        }
    }

    fn line(&mut self, text: &str) -> Result<(), Failure> {
        output::line(self.progress, text)
    }

    fn object(&mut self, value: &Value) -> Result<(), Failure> {
        output::json(self.out, value)
    }

    /// Shows what there is to see.
    pub(in crate::command) fn step<G: Guided>(
        &mut self,
        sight: Sight<'_, G>,
    ) -> Result<(), Failure> {
        match sight {
            Sight::Moved | Sight::Read(_) if self.json => Ok(()),
            Sight::Moved => self.line(words::MOVED),
            Sight::Read(celsius) => self.line(&words::read(celsius)),
            Sight::NotUnderstood(sentence) if self.json => {
                self.object(&json!({ "step": "not-understood", "sentence": sentence }))
            }
            Sight::NotUnderstood(sentence) => self.line(sentence),
            Sight::Step(routine, step) => self.routine_step(routine, step),
        }
    }

    fn routine_step<G: Guided>(
        &mut self,
        routine: &G,
        step: &Step<G::Record>,
    ) -> Result<(), Failure> {
        if let Step::Settle { standard, progress, as_left } = step {
            return self.settling(routine, *standard, progress, *as_left);
        }
        if let Step::SettleInAir { progress } = step {
            return self.settling_in_air(progress);
        }
        self.end_of_line()?;
        self.taken(routine)?;
        self.judgements(routine, matches!(step, Step::Refused))?;
        match step {
            Step::Air => self.air(),
            Step::Place { standard } => self.place(routine, *standard),
            Step::Reference { standard, temperature_c, as_left } => {
                self.reference(*standard, *temperature_c, *as_left)
            }
            Step::Decide(allowed) => self.decide(*allowed),
            // The end is told by whoever knows whether the probe kept the record.
            Step::Finished(_)
            | Step::Refused
            | Step::Cancelled
            | Step::Settle { .. }
            | Step::SettleInAir { .. } => Ok(()),
        }
    }

    /// Leaves the line that is written over again, so that what follows stands on its own.
    pub(in crate::command) fn end_of_line(&mut self) -> Result<(), Failure> {
        let open = self.live && self.said.is_some();
        self.said = None;
        if open { output::text(self.progress, "\n") } else { Ok(()) }
    }

    /// Tells the points that were taken since the last time.
    fn taken(&mut self, routine: &impl Guided) -> Result<(), Failure> {
        let points = routine.points();
        for (index, point) in points.iter().enumerate().skip(self.taken) {
            if self.json {
                let mut value = point_json(point);
                value["step"] = json!("taken");
                value["point"] = json!(index + 1);
                self.object(&value)?;
            } else {
                self.line(&words::taken(point))?;
            }
        }
        self.taken = points.len();
        Ok(())
    }

    /// Says the judgements of a step. `failing` leaves out refusals for a person, who reads them as
    /// the reason why the command failed.
    fn judgements(&mut self, routine: &impl Guided, failing: bool) -> Result<(), Failure> {
        for said in routine.said() {
            if failing && !self.json && said.severity() == Severity::Refusal {
                continue;
            }
            if self.json {
                let mut value = judgement_json(said);
                value["step"] = json!("judgement");
                self.object(&value)?;
            } else {
                let severity = judgement::severity(said.severity());
                self.line(&format!("{severity}: {}", judgement::sentence(said)))?;
            }
        }
        Ok(())
    }

    /// Tells what has not been told yet: prose for a person, also when the rest is for machines.
    fn manners(&mut self, now: &[Manner]) -> Result<(), Failure> {
        for manner in now {
            if self.told.insert(*manner) {
                self.line(&manner_words::sentence(*manner))?;
            }
        }
        Ok(())
    }

    fn place(&mut self, routine: &impl Guided, standard: usize) -> Result<(), Failure> {
        let (quantity, standards) = (routine.quantity(), routine.standards());
        let planned = &standards[standard];
        let as_left = routine.checks_apart() && standard + 1 == standards.len();
        let of = standards.len() - usize::from(routine.checks_apart());
        self.manners(&manners::before(quantity, standards, standard))?;
        if self.json {
            return self.object(&json!({
                "step": "place",
                "point": standard + 1,
                "of": of,
                "as_left": as_left,
                "standard": planned.name.as_str(),
                "lot": planned.lot.as_str(),
            }));
        }
        if as_left {
            let text = words::place_as_left(quantity, &planned.name, &planned.lot);
            return self.line(&text);
        }
        self.line(&words::place(quantity, standard + 1, of, &planned.name, &planned.lot))
    }

    fn reference(
        &mut self,
        standard: usize,
        temperature_c: f64,
        as_left: bool,
    ) -> Result<(), Failure> {
        if self.json {
            return self.object(&json!({
                "step": "reference",
                "point": standard + 1,
                "as_left": as_left,
                "temperature_c": temperature_c,
            }));
        }
        self.line(&words::reference(temperature_c))
    }

    fn air(&mut self) -> Result<(), Failure> {
        self.manners(&manners::in_air())?;
        if self.json {
            return self.object(&json!({ "step": "air" }));
        }
        self.line(words::AIR)
    }

    fn settling_in_air(&mut self, progress: &Progress) -> Result<(), Failure> {
        let due = self.said.is_none_or(|(_, _, at)| {
            progress.waited_ms >= at + if self.live { 0 } else { SAY_EVERY_MS }
        });
        let Some(us) = progress.signal.filter(|_| due) else { return Ok(()) };
        self.said = Some((IN_AIR, false, progress.waited_ms));
        let verdict = &progress.verdict;
        let drift = verdict.half_width_per_min.map(|_| verdict.drift_per_min);
        if self.json {
            return self.object(&json!({
                "step": "settling-in-air",
                "fraction": verdict.fraction,
                "remaining_ms": verdict.remaining_ms,
                "waited_ms": progress.waited_ms,
                "signal": us,
                "signal_unit": "uS",
                "drift_per_min": drift,
                "scatter": drift.map(|_| verdict.scatter),
                "drift_unit": "uS",
                "to_come": verdict.to_come,
                "to_come_bound": verdict.to_come_bound,
            }));
        }
        let text = words::settling_in_air(100.0 * verdict.fraction, us, drift);
        if self.live { output::over(self.progress, &text) } else { self.line(&text) }
    }

    fn settling(
        &mut self,
        routine: &impl Guided,
        standard: usize,
        progress: &Progress,
        as_left: bool,
    ) -> Result<(), Failure> {
        // Before the first usable reading there is nothing to show but what was said.
        let untold = routine.points().len() > self.taken || !routine.said().is_empty();
        if progress.signal.is_none() && !untold {
            return Ok(());
        }
        let quantity = routine.quantity();
        let due = self.said.is_none_or(|(was, was_left, at)| {
            was != standard
                || was_left != as_left
                || progress.waited_ms < at
                || progress.waited_ms >= at + if self.live { 0 } else { SAY_EVERY_MS }
        });
        if !due {
            return Ok(());
        }
        let first =
            self.said.is_none_or(|(was, was_left, _)| was != standard || was_left != as_left);
        if first {
            // What was taken and said when the settling began belongs before it.
            self.end_of_line()?;
            self.taken(routine)?;
            self.judgements(routine, false)?;
        }
        self.said = Some((standard, as_left, progress.waited_ms));
        if progress.signal.is_none() {
            return Ok(());
        }
        let drift = progress.verdict.half_width_per_min.map(|_| progress.verdict.drift_per_min);
        if self.json {
            let (signal_unit, unit) = match quantity {
                Quantity::Ph => ("mV", "mV"),
                Quantity::Conductivity => ("uS", "%"),
                Quantity::Temperature => ("degC", "K"),
            };
            return self.object(&json!({
                "step": "settling",
                "point": standard + 1,
                "as_left": as_left,
                "fraction": progress.fraction(),
                "remaining_ms": progress.remaining_ms(),
                "waited_ms": progress.waited_ms,
                "signal": progress.signal,
                "signal_unit": signal_unit,
                "temperature_c": progress.temperature_c,
                "temperature_settled": progress.temperature.settled,
                "drift_per_min": drift,
                "scatter": drift.map(|_| progress.verdict.scatter),
                "drift_unit": unit,
                "to_come": progress.verdict.to_come,
                "to_come_bound": progress.verdict.to_come_bound,
            }));
        }
        let text = words::settling(&words::Settling {
            quantity,
            as_left,
            percent: 100.0 * progress.fraction(),
            remaining_s: progress.remaining_ms().map(|ms| ms as f64 / 1000.0),
            signal: progress.signal,
            temperature_c: progress.temperature_c,
            temperature_settled: progress.temperature.settled,
            drift,
            to_come: progress.verdict.to_come,
            to_come_bound: progress.verdict.to_come_bound,
        });
        if self.live { output::over(self.progress, &text) } else { self.line(&text) }
    }

    fn decide(&mut self, allowed: Allowed) -> Result<(), Failure> {
        let Allowed { go_on, override_, retry, wait, leave } = allowed;
        let choices = [
            (go_on, "continue"),
            (override_, "override"),
            (wait, "wait"),
            (leave, "leave"),
            (retry, "retry"),
            (true, "cancel"),
        ];
        let choices: Vec<_> =
            choices.iter().filter(|(allowed, _)| *allowed).map(|(_, name)| *name).collect();
        if self.json {
            return self.object(&json!({ "step": "decide", "choices": choices }));
        }
        self.line(&words::decide(&choices))
    }

    /// Says what came of it, for machines or for a person, and how to put the sensor away.
    pub(in crate::command) fn end(
        &mut self,
        object: &Value,
        text: &str,
        quantity: Quantity,
    ) -> Result<(), Failure> {
        if self.json {
            self.object(object)?;
        } else {
            output::text(self.out, text)?;
        }
        self.manners(&manners::after(quantity))
    }
}
