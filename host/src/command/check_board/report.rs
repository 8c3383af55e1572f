//! Shows a check while it happens and at its end: lines for a person, or one JSON object a line.

use std::fmt::Display;
use std::io::Write;

use rillmark_procedures::board_check::{
    Cause, Clock, Comparison, Loads, Measured, Row, Says, Step, Verdict as Of,
};
use rillmark_proto::record::verification::Verdict;
use serde_json::{Map, Value, json};

use super::super::output::{self, Lean, Table, folded};
use crate::exit::Failure;
use crate::words::en::{check_board as words, measured as measured_words};

/// What a whole check found.
pub(super) struct Found {
    pub(super) loads: Loads,
    pub(super) clock: Clock,
    pub(super) rows: Vec<Row>,
    pub(super) skipped: Vec<Step>,
    pub(super) causes: Vec<Cause>,
    pub(super) verdict: Verdict,
    /// What was measured before against the check, where there is a file of it.
    pub(super) measured: Option<Vec<Comparison>>,
    /// The lines of that file.
    pub(super) keys: Vec<&'static str>,
}

pub(super) struct Report<'a> {
    json: bool,
    out: &'a mut dyn Write,
    progress: &'a mut dyn Write,
}

impl<'a> Report<'a> {
    pub(super) fn new(json: bool, out: &'a mut dyn Write, progress: &'a mut dyn Write) -> Self {
        Self { json, out, progress }
    }

    fn line(&mut self, text: &str) -> Result<(), Failure> {
        output::text(self.progress, &folded(text, 2))
    }

    /// What is needed, and what the clock chip said.
    pub(super) fn begin(&mut self, loads: &Loads, clock: Clock) -> Result<(), Failure> {
        if self.json {
            return Ok(());
        }
        self.line(words::CAUTION)?;
        self.line(words::clock(clock))?;
        self.line(&words::needed(loads))
    }

    /// What is to be connected now.
    pub(super) fn connect(
        &mut self,
        loads: &Loads,
        step: Step,
        (index, count): (usize, usize),
    ) -> Result<(), Failure> {
        if !self.json {
            self.line(&words::connect(loads, step, index, count))?;
            return self.line(&format!("  {}", words::THEN));
        }
        let (mv, ohm) = step.electrode(loads);
        let cell = step.cell_ohm(loads);
        let value = json!({
            "step": "connect",
            "what": step.name(),
            "cell_ohm": cell.is_finite().then_some(cell),
            "thermometer_ohm": loads.thermometer.value,
            "source_mv": mv,
            "source_ohm": ohm,
            "joined": step == Step::Joined,
            "sentence": format!("{} {}", words::connect(loads, step, index, count), words::THEN),
        });
        output::json(self.out, &value)
    }

    pub(super) fn moved(&mut self) -> Result<(), Failure> {
        if self.json { Ok(()) } else { self.line(words::MOVED) }
    }

    pub(super) fn not_understood(&mut self, may_skip: bool) -> Result<(), Failure> {
        let sentence = words::answers(may_skip);
        if self.json {
            let value = json!({ "step": "not-understood", "sentence": sentence });
            return output::json(self.out, &value);
        }
        self.line(sentence)
    }

    /// What was found with one step connected.
    pub(super) fn step(&mut self, rows: &[Row]) -> Result<(), Failure> {
        if self.json {
            return Ok(());
        }
        for row in rows {
            self.line(&words::found(row))?;
        }
        Ok(())
    }

    /// The whole check.
    pub(super) fn end(
        &mut self,
        found: &Found,
        board: &dyn Display,
        file: &str,
    ) -> Result<(), Failure> {
        if self.json {
            output::json(self.out, &found.json(board))
        } else {
            output::text(self.out, &format!("{}{}", found.text(), found.measured_text(file)))
        }
    }
}

fn row_json(row: &Row, loads: &Loads) -> Value {
    json!({
        "what": row.step.name(),
        "quantity": row.quantity.name(),
        "unit": row.quantity.unit(),
        "cell_ohm": Some(row.step.cell_ohm(loads)).filter(|ohm| ohm.is_finite()),
        "expected": row.expected,
        "found": row.found.filter(|found| found.is_finite()),
        "limit": row.limit,
        "verdict": row.verdict.name(),
    })
}

fn cause_json(cause: &Cause) -> Value {
    let numbers: Map<String, Value> =
        cause.number().into_iter().map(|(name, value)| (name.to_owned(), json!(value))).collect();
    let parts: Vec<&str> = cause.parts().iter().map(|part| part.designator).collect();
    json!({
        "cause": cause.name(),
        "parts": parts,
        "numbers": numbers,
        "sentence": words::cause(cause),
        "look_at": words::look_at(cause),
    })
}

fn comparison_json(of: &Comparison) -> Value {
    let (what, part, unit) = match of.what {
        Measured::Resistor { part, .. } => ("resistor", Some(part.designator), "ohm"),
        Measured::Offset => ("offset", None, "mV"),
        Measured::Bias => ("bias", None, "fA"),
    };
    let load_ohm = match of.what {
        Measured::Resistor { load_ohm, .. } => Some(load_ohm),
        _ => None,
    };
    json!({
        "what": what,
        "part": part,
        "load_ohm": load_ohm,
        "unit": unit,
        "measured": of.measured,
        "found": Some(of.found).filter(|found| found.is_finite()),
        "limit": of.limit,
        "agrees": match of.says() {
            Says::Agrees => Some(true),
            Says::CannotTell => None,
            Says::Contradicts => Some(false),
        },
    })
}

impl Found {
    /// Whether anything that was measured before cannot be so.
    pub(super) fn contradicts(&self) -> bool {
        self.measured.iter().flatten().any(|of| of.says() == Says::Contradicts)
    }

    /// The lines of which a comparison says so.
    fn lines(&self, says: impl Fn(Says) -> bool) -> Vec<&'static str> {
        let compared = self.measured.iter().flatten().filter(|of| says(of.says()));
        let named: Vec<String> = compared.map(|of| measured_words::key(of.what)).collect();
        self.keys.iter().copied().filter(|key| named.iter().any(|name| name == key)).collect()
    }

    /// The lines of which none says anything.
    fn believed(&self) -> Vec<&'static str> {
        let told = self.lines(|says| says != Says::CannotTell);
        self.keys.iter().copied().filter(|key| !told.contains(key)).collect()
    }

    fn measured_text(&self, file: &str) -> String {
        let Some(measured) = &self.measured else { return String::new() };
        let above = measured_words::above(file);
        let [what, then, found, limit] = measured_words::HEADINGS;
        let mut table = Table::new(&[
            (what, Lean::Left),
            (then, Lean::Right),
            (found, Lean::Right),
            (limit, Lean::Right),
            ("", Lean::Left),
        ]);
        for comparison in measured {
            let [what, then, found, limit] = measured_words::comparison(comparison);
            let says = measured_words::says(comparison.says()).to_owned();
            table.row([what, then, found, limit, says]);
        }
        let mut text = format!("\n{}", folded(&above, 2));
        if !measured.is_empty() {
            text += &table.text();
        }
        if measured.iter().any(|of| of.says() == Says::CannotTell) {
            text += &folded(measured_words::BETTER_LOADS, 2);
        }
        if !self.contradicts() {
            let borne_out = self.lines(|says| says == Says::Agrees);
            for sentence in measured_words::believed(&borne_out, &self.believed()).lines() {
                text += &folded(sentence, 2);
            }
        }
        text
    }

    fn json(&self, board: &dyn Display) -> Value {
        json!({
            "step": "finished",
            "board": board.to_string(),
            "verdict": self.verdict.name(),
            "clock": self.clock.name(),
            "rows": self.rows.iter().map(|row| row_json(row, &self.loads)).collect::<Vec<_>>(),
            "skipped": self.skipped.iter().map(|step| words::what(*step, &self.loads)).collect::<Vec<_>>(),
            "causes": self.causes.iter().map(cause_json).collect::<Vec<_>>(),
            "measured": self.measured.as_ref()
                .map(|all| all.iter().map(comparison_json).collect::<Vec<_>>()),
            "believed": self.measured.as_ref().map(|_| self.believed()),
        })
    }

    fn text(&self) -> String {
        let mut table = Table::new(&[
            (words::WHAT, Lean::Left),
            (words::EXPECTED, Lean::Right),
            (words::FOUND, Lean::Right),
            (words::LIMIT, Lean::Right),
            ("", Lean::Left),
        ]);
        for row in &self.rows {
            let [expected, found, limit] = words::numbers(row);
            let what = words::row(row, &self.loads);
            table.row([what, expected, found, limit, words::verdict(row.verdict).to_owned()]);
        }
        let mut text = format!("\n{}\n{}", table.text(), folded(words::headline(self.verdict), 2));
        for step in &self.skipped {
            text += &folded(&words::skipped(&words::what(*step, &self.loads)), 2);
        }
        let any = |of: &[Of]| self.rows.iter().any(|row| of.contains(&row.verdict));
        if any(&[Of::Unsettled]) {
            text += &folded(words::NOT_SETTLED, 2);
        }
        if self.causes.is_empty() && any(&[Of::Off, Of::Missing]) {
            text += &folded(words::NOTHING_LOOKS_SO, 2);
        }
        if !self.causes.is_empty() {
            text += &format!("\n{}", folded(words::causes(self.causes.len()), 0));
        }
        for (number, cause) in (1..).zip(&self.causes) {
            text += &folded(&format!("{number}. {}", words::cause(cause)), 3);
            text += &folded(&format!("   {}", words::look_at(cause)), 3);
        }
        text
    }
}
