//! `rillmark check-board`: resistors and a millivolt source in place of sensors, and what they say about a
//! board that was just built.

mod answers;
mod report;
mod spec;

use std::path::PathBuf;

use clap::Args;
use rillmark_bench::Loads as Connected;
use rillmark_metrology::front_end::BoardLimits;
use rillmark_procedures::board_check::{
    Clock, Collector, Loads, Seen, Step, compare, explain, outcome, rows,
};
use rillmark_proto::reading::Flags;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::wire::message::{Refusal, Sampling};

use super::guided::answers::script;
use super::measured::Measured;
use super::{Context, interrupt};
use crate::exit::{Exit, Failure, after_verdict};
use crate::link::probe::{Probe, ProbeError, READING_PATIENCE_MS, connect};
use crate::words::en::{check_board as words, measured as measured_words, routine};
use answers::{Answer, Answers};
use report::{Found, Report};

/// `rillmark check-board …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// How far a load may be off, in percent of its value, where its own option does not say.
    #[arg(long, value_name = "PERCENT", default_value = "1")]
    tolerance: String,
    /// A resistor for the cell as your meter reads it, and how well the meter knows it: `10k=9.987k` or
    /// `10k=9.987k,0.3%`, the name being 100k, 10k, 1k or 100. Again for another.
    #[arg(long, value_name = "RESISTOR=OHM[,PERCENT]")]
    load: Vec<String>,
    /// The resistor that you connect in place of the thermometer: 1 kΩ is a Pt1000 at 0 °C.
    #[arg(long, value_name = "OHM[,PERCENT]", default_value = "1k")]
    thermometer: String,
    /// The source that you connect to the pH input, in mV as your meter reads it.
    #[arg(long, value_name = "MV[,PERCENT]", default_value = "200,0.5%")]
    source: String,
    /// The resistor that stands for a glass membrane, or `none` to leave that step out.
    #[arg(long, value_name = "OHM[,PERCENT]", default_value = "100M,5%")]
    membrane: String,
    /// What was measured of the board while it was built (hardware-notes/bring-up.md): the check says which
    /// of its lines it bears out.
    #[arg(long, value_name = "FILE")]
    measured: Option<PathBuf>,
    /// Take the answers from this file instead of asking, on the virtual bench too: a line for each step.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// On the virtual bench: check a board with this mistake of building (`rillmark virtual --help` lists
    /// them).
    #[arg(long, value_name = "MISTAKE")]
    practise: Option<String>,
}

/// Guides the check, prints what was measured and what is likely wrong, and ends with what can be said.
///
/// # Errors
/// [`Exit::Fails`] and [`Exit::CannotTell`] for those verdicts; [`Exit::BadInput`] for options or
/// answers that cannot be used, [`Exit::Refused`] when the board restarts meanwhile,
/// [`Exit::Cancelled`] when the person cancels, or those of the conversation.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let bad = |sentence: String| Failure::new(Exit::BadInput, sentence);
    let loads = spec::loads(&options).map_err(bad)?;
    let measured = options.measured.as_deref().map(Measured::read).transpose()?;
    let script = script(options.answers.as_deref())?;
    if let Some(script) = &script {
        answers::check(script, loads.steps().count()).map_err(bad)?;
    }
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    if let Some(name) = &options.practise {
        let fault = spec::mistake(name).map_err(bad)?;
        if !probe.link_mut().misbuild(fault) {
            return Err(bad(words::PRACTISE_NEEDS_BENCH.to_owned()));
        }
    }
    let answers = Answers::new(script.as_deref(), context.answers);
    let report = Report::new(context.json, context.out, context.progress);
    let known = measured.as_ref().map(|it| it.of(probe.answer().board)).transpose()?;
    let keys = measured.as_ref().map_or_else(Vec::new, Measured::keys);
    let mut check = Check { loads, known, keys, answers, report, interrupted };
    probe.sample(Sampling::Off)?;
    let found = check.whole(&mut probe);
    // A probe left sampling is heard by nobody; one that is gone needs no telling.
    let _ = probe.sample(Sampling::Off);
    probe.forget_readings();
    let found = found.map_err(|failure| match failure.exit {
        // Whoever read the output left before there was a verdict.
        Exit::Success => Failure::new(Exit::Cancelled, words::OUTPUT_CLOSED),
        _ => failure,
    })?;
    let file = measured.as_ref().map_or("", Measured::name);
    let printed = check.report.end(&found, &probe.answer().board, file);
    let verdict = match found.verdict {
        Verdict::Pass => Ok(()),
        Verdict::Fail => Err(Failure::new(Exit::Fails, words::FAILS)),
        Verdict::CannotTell if found.contradicts() => {
            Err(Failure::new(Exit::CannotTell, measured_words::BOTH_CANNOT_BE))
        }
        Verdict::CannotTell => {
            let sentence = words::cannot_tell(!found.skipped.is_empty());
            Err(Failure::new(Exit::CannotTell, sentence))
        }
    };
    after_verdict(verdict, printed)
}

struct Check<'a> {
    loads: Loads,
    /// What was measured of the board before.
    known: Option<BoardLimits>,
    /// The lines of its file.
    keys: Vec<&'static str>,
    answers: Answers<'a>,
    report: Report<'a>,
    interrupted: fn() -> bool,
}

impl Check<'_> {
    fn whole(&mut self, probe: &mut Probe) -> Result<Found, Failure> {
        let clock = clock(probe)?;
        self.report.begin(&self.loads, clock)?;
        let mut seen: Vec<(Step, Seen)> = Vec::new();
        let mut skipped = Vec::new();
        let steps: Vec<Step> = self.loads.steps().collect();
        for (index, &step) in steps.iter().enumerate() {
            if !self.connected(probe, step, (index + 1, steps.len()))? {
                skipped.push(step);
                continue;
            }
            let found = self.seen(probe)?;
            self.report.step(&rows(&self.loads, &[(step, found)]))?;
            seen.push((step, found));
            // Nothing else is to be had from a board without its converter.
            if found.flags.has(Flags::ADC_SILENT) {
                break;
            }
        }
        let rows = rows(&self.loads, &seen);
        let causes = explain(&self.loads, &seen, &rows, clock);
        let is_complete = seen.len() == steps.len();
        let mut found = Found {
            loads: self.loads,
            clock,
            rows: rows.to_vec(),
            skipped,
            verdict: outcome(&rows, &causes, clock, is_complete),
            causes: causes.into_iter().collect(),
            measured: self.known.map(|known| compare(&self.loads, &seen, &known).to_vec()),
            keys: self.keys.clone(),
        };
        // A board that is sound by all limits, and not the one that was measured.
        if found.verdict == Verdict::Pass && found.contradicts() {
            found.verdict = Verdict::CannotTell;
        }
        Ok(found)
    }

    /// Has the loads of a step connected; false when the person leaves it out.
    fn connected(
        &mut self,
        probe: &mut Probe,
        step: Step,
        place: (usize, usize),
    ) -> Result<bool, Failure> {
        self.report.connect(&self.loads, step, place)?;
        let moved = probe
            .link_mut()
            .connect(on_bench(&self.loads, step))
            .map_err(|error| Failure::new(Exit::Port, error.to_string()))?;
        if moved {
            self.report.moved()?;
        }
        // The first step is where everything else starts from.
        let may_skip = step != Step::Bare;
        loop {
            match self.answers.next(moved, may_skip)? {
                Answer::Done => return Ok(true),
                Answer::Skip => return Ok(false),
                Answer::Cancel => return Err(Failure::new(Exit::Cancelled, words::CANCELLED)),
                Answer::NotUnderstood => self.report.not_understood(may_skip)?,
            }
        }
    }

    fn seen(&self, probe: &mut Probe) -> Result<Seen, Failure> {
        // The answer stands behind all readings of the time before in the line.
        probe.sample(Sampling::Full { interval_ms: 0 })?;
        probe.forget_readings();
        let boot = probe.answer().boot;
        let mut collector = Collector::default();
        loop {
            if (self.interrupted)() {
                return Err(Failure::new(Exit::Cancelled, words::CANCELLED));
            }
            let arrived = probe.next_reading(READING_PATIENCE_MS)?.ok_or_else(|| {
                Failure::new(Exit::Probe, routine::no_readings(READING_PATIENCE_MS / 1000))
            })?;
            if arrived.reading.time.boot != boot {
                return Err(Failure::new(Exit::Refused, words::RESTARTED));
            }
            if let Some(seen) = collector.reading(&arrived.reading) {
                return Ok(seen);
            }
        }
    }
}

/// What the clock chip says when it is asked.
fn clock(probe: &mut Probe) -> Result<Clock, Failure> {
    match probe.clock() {
        Ok(Some(_)) => Ok(Clock::Keeps),
        Ok(None) => Ok(Clock::Lost),
        Err(ProbeError::Refused(Refusal::ClockSilent)) => Ok(Clock::Silent),
        Err(error) => Err(error.into()),
    }
}

/// What the virtual bench connects by itself.
fn on_bench(loads: &Loads, step: Step) -> Connected {
    let cell_ohm = step.cell_ohm(loads);
    Connected {
        cell_ohm: cell_ohm.is_finite().then_some(cell_ohm),
        thermometer_ohm: Some(loads.thermometer.value),
        electrode: Some(step.electrode(loads)),
        is_joined: step == Step::Joined,
    }
}
