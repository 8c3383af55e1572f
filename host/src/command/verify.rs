//! `rillmark verify`: the probe in a check standard; pass, fail or cannot tell, kept as a record.

mod answer;
mod limit;
mod situation;

use std::cell::RefCell;
use std::path::PathBuf;

use clap::{Args, Subcommand};
use rillmark_procedures::routine::standard::Planned;
use rillmark_procedures::routine::verify::{Verify, VerifyPlan};
use rillmark_proto::record::Quantity;
use rillmark_proto::record::verification::Verdict;
use serde_json::json;

use super::calibrate::spec::Spec;
use super::calibrate::{bottles, operator};
use super::guided::answers::{Answers, script};
use super::guided::report::Report;
use super::guided::{Drive, Sight, keep};
use super::in_force::{lines, remarks_json};
use super::record_view::verification_json;
use super::{Context, interrupt, output};
use crate::exit::{Exit, Failure, after_verdict};
use crate::link::probe::connect;
use crate::words::en::{routine, verification as words};

/// `rillmark verify …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Verify the pH electrode's calibration in a check buffer.
    #[command(after_help = words::EXAMPLE)]
    Ph(Common),
    /// Verify the cell's calibration in a check standard.
    #[command(after_help = words::EXAMPLE)]
    Conductivity(Common),
    /// Verify the thermometer's calibration beside another reference or in ice.
    #[command(after_help = words::EXAMPLE)]
    Temperature(Common),
}

/// What all of them take.
#[derive(Debug, Args)]
struct Common {
    /// The check standard, of another bottle or lot than the calibration's, written as for
    /// `calibrate`.
    #[arg(long, value_name = "STANDARD")]
    standard: String,
    /// The named limit to judge by: field, daily or laboratory [default: field].
    #[arg(long, value_name = "NAME", conflicts_with = "limit")]
    profile: Option<String>,
    /// A limit of your own: the largest difference in pH, µS/cm or K, or for a conductivity in
    /// percent (`3%`).
    #[arg(long, value_name = "LIMIT")]
    limit: Option<String>,
    /// Where that limit comes from, kept in the record.
    #[arg(long, value_name = "TEXT", requires = "limit")]
    limit_source: Option<String>,
    /// Who does it.
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    operator: String,
    /// How many days an open bottle is used [default: as for `calibrate`].
    #[arg(long, value_name = "DAYS")]
    opened_limit: Option<u16>,
    /// Answers to the questions, one a line, instead of asking on the terminal.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// Ask after so many seconds what to do about readings that have not settled [default: 300].
    #[arg(long, value_name = "SECONDS")]
    ask_after: Option<u32>,
}

/// Guides a verification, has the probe keep its record, and ends with what can be said.
///
/// # Errors
/// [`Exit::Fails`] and [`Exit::CannotTell`] for those verdicts, whose records are kept; that of the probe
/// when it does not keep the record, after the verdict was printed;
/// [`Exit::BadInput`] for options or answers that cannot be used, [`Exit::Refused`] when the routine
/// or the probe refuses, [`Exit::Cancelled`] when the operator cancels; nothing is kept then.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let bad = |sentence| Failure::new(Exit::BadInput, sentence);
    let (quantity, common) = match options.what {
        What::Ph(common) => (Quantity::Ph, common),
        What::Conductivity(common) => (Quantity::Conductivity, common),
        What::Temperature(common) => (Quantity::Temperature, common),
    };
    let mut spec = Spec::parse(&common.standard, quantity).map_err(bad)?;
    let scripted = common.answers.is_some();
    bottles::describe(core::slice::from_mut(&mut spec), scripted, context)?;
    let opened_limit_days = common.opened_limit.or(spec.planned.opened_limit_days);
    let plan = VerifyPlan {
        quantity,
        standard: Planned { opened_limit_days, ..spec.planned },
        operator: operator(&common.operator).map_err(bad)?,
        criterion: limit::criterion(
            quantity,
            common.profile.as_deref(),
            common.limit.as_deref(),
            common.limit_source.as_deref(),
        )
        .map_err(bad)?,
    };
    let script = script(common.answers.as_deref())?;
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    probe.reads_our_records()?;
    let answers = RefCell::new(Answers::new(script.as_deref(), context.answers));
    let beakers = [spec.on_bench];
    let ask_after_ms = common.ask_after.map(|seconds| u64::from(seconds) * 1000);
    let drive = Drive { beakers: &beakers, ask_after_ms, interrupted: &interrupted };
    drive.begin(&mut probe)?;
    let (situation, verified, in_force) = situation::of(&mut probe, &plan)?;
    if let Some(verified) = verified.filter(|_| !context.json) {
        output::text(context.progress, &(verified + &lines(&in_force)))?;
    }
    let mut report = Report::new(context.json, context.out, context.progress);
    let guided = drive.lead(
        &mut probe,
        &mut Verify::new(plan, situation),
        &mut |sight| {
            match sight {
                Sight::Moved => answers.borrow_mut().placed_already(),
                Sight::Read(_) => answers.borrow_mut().read_already(),
                _ => {}
            }
            report.step(sight)
        },
        &mut |step, question| answers.borrow_mut().next(step, question),
    );
    report.end_of_line()?;
    let record = guided.map_err(|failure| match failure.exit {
        // Whoever read the output left before the record was kept: nothing succeeded.
        Exit::Success => Failure::new(Exit::Cancelled, routine::OUTPUT_CLOSED),
        _ => failure,
    })?;
    let kept = keep(&mut probe, &record.clone().into());
    let object = json!({
        "step": "finished",
        "id": kept.as_ref().ok().map(|(id, _)| id.to_string()),
        "no_longer_kept": kept.as_ref().map_or_else(|_| Vec::new(), |(_, gone)| gone.ids()),
        "not_kept": kept.as_ref().err().map(|failure| failure.sentence.as_str()),
        "board": probe.answer().board.to_string(),
        "record": verification_json(&record),
        "remarks": remarks_json(&in_force),
    });
    let last = match &kept {
        Ok((id, _)) => words::kept(&id.short(), &record.calibration),
        Err(_) => words::NOT_KEPT.to_owned(),
    };
    let gone = kept.as_ref().map_or_else(|_| String::new(), |(_, gone)| gone.lines());
    let printed = report.end(&object, &(answer::text(&record, &last) + &gone), quantity);
    let verdict = match (kept, record.verdict) {
        (Err(failure), verdict) => {
            let sentence =
                words::verdict_not_kept(verdict, failure.exit == Exit::Refused, &failure.sentence);
            Err(Failure { sentence, ..failure })
        }
        (Ok((id, _)), Verdict::Pass) => {
            return printed.map_err(|failure| Failure {
                sentence: words::passed_all_the_same(&id.short(), &failure.sentence),
                ..failure
            });
        }
        (Ok(_), Verdict::Fail) => Err(Failure::new(Exit::Fails, answer::what_next(&record))),
        (Ok(_), Verdict::CannotTell) => {
            Err(Failure::new(Exit::CannotTell, answer::what_next(&record)))
        }
    };
    after_verdict(verdict, printed)
}
