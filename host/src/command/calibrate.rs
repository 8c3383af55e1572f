//! `rillmark calibrate`: a guided calibration, its record kept in the probe.

pub(super) mod bottles;
pub(super) mod guide;
pub(super) mod spec;
pub(super) mod thermometer;

use std::cell::RefCell;
use std::path::PathBuf;

use clap::{Args, Subcommand, ValueEnum};
use rillmark_procedures::routine::plan::Plan;
use rillmark_procedures::routine::standard::Planned;
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::ph::{DEFAULT_ISOPOTENTIAL, Isopotential};
use rillmark_proto::record::{Incident, MAX_POINTS, Operator, Outcome, Quantity};
use rillmark_proto::reference::compensation::{
    DEFAULT_PER_KELVIN, EXPONENT_RANGE, PER_KELVIN_RANGE,
};
use serde_json::json;

use self::guide::{Done, guide};
use self::spec::Spec;
use super::fit::given_isopotential;
use super::guided::answers::{Answers, script};
use super::guided::report::Report;
use super::guided::{Drive, Sight};
use super::record_view::{calibration_brief, calibration_json};
use super::typed::plain;
use super::{Context, interrupt};
use crate::exit::{Exit, Failure};
use crate::link::probe::connect;
use crate::words::en::{routine as words, typed as typed_words};

/// `rillmark calibrate …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    #[command(subcommand)]
    what: What,
}

#[derive(Debug, Subcommand)]
enum What {
    /// Calibrate the pH electrode in two to five buffers, each at its own temperature.
    #[command(after_help = words::EXAMPLE_PH)]
    Ph {
        #[command(flatten)]
        common: Common,
        /// The isopotential pH of the electrode with its standard uncertainty, where it has been
        /// measured (`rillmark fit ph --isopotential measure`) [default: 7,0.4].
        #[arg(long, value_name = "PH,U", value_parser = given_isopotential)]
        isopotential: Option<Isopotential>,
    },
    /// Calibrate the conductivity cell in one to five standards.
    #[command(after_help = words::EXAMPLE_CONDUCTIVITY)]
    Conductivity {
        #[command(flatten)]
        common: Common,
        /// How readings are referred to 25 °C, in percent per kelvin.
        #[arg(long, value_name = "P", default_value_t = DEFAULT_PER_KELVIN * 100.0)]
        compensation_percent_per_kelvin: f64,
        /// Refer readings to 25 °C by the viscosity-type natural-water compensation instead, with
        /// this exponent [default: 0.929].
        #[arg(
            long,
            value_name = "EXPONENT",
            num_args = 0..=1,
            default_missing_value = "0.929",
            conflicts_with = "compensation_percent_per_kelvin"
        )]
        natural_water: Option<f64>,
        /// First measure what the clean, dry cell conducts in air: for waters below some 100 µS/cm.
        #[arg(long)]
        zero_in_air: bool,
        /// The cell constant in 1/cm that the maker states: tells a wrong beaker at the first
        /// calibration, and is not used once one is in force.
        #[arg(long, value_name = "K")]
        nominal_cell_constant: Option<f64>,
    },
    /// Calibrate the thermometer beside a reference thermometer or in melting ice.
    #[command(after_help = words::EXAMPLE_TEMPERATURE)]
    Temperature {
        #[command(flatten)]
        common: Common,
        /// What is fitted: pt1000, pt100, platinum:R0, thermistor:R25,BETA (Ω and K) or
        /// steinhart-hart:A,B,C (1/K)
        /// [default: the kind in force, at first pt1000].
        #[arg(long, value_name = "KIND")]
        thermometer: Option<String>,
    },
}

/// What all of them take.
#[derive(Debug, Args)]
struct Common {
    /// A standard, in the order in which they are taken:
    /// NAME[,lot=LOT][,expires=YYYY-MM-DD][,opened=YYYY-MM-DD][,single-use][,opened-limit=DAYS]
    /// [,u=U][,tolerance=T][,certificate=NUMBER][,table=C:VALUE/C:VALUE…], or FILE.toml in place of
    /// NAME and table (see the README). [,weighed] weighed in by a laboratory; [,sachet] dissolved
    /// from one: [,water=deionised|boiled|tap][,vessel=flask|cylinder|by-eye][,dissolved=YYYY-MM-DD].
    /// For a thermometer reference, reference=C or ice, [,u=U][,lot=SERIAL][,expires=YYYY-MM-DD]
    /// [,certificate=NUMBER].
    #[arg(long = "standard", value_name = "STANDARD", required = true)]
    standards: Vec<String>,
    /// Make the closing check in this standard, which the calibration does not see [default: in the last
    /// one, which tells nothing about the calibration's own bottles].
    #[arg(long, value_name = "STANDARD")]
    as_left: Option<String>,
    /// Who does it.
    #[arg(long, value_name = "NAME", default_value = "", hide_default_value = true)]
    operator: String,
    /// The next calibration is due in so many days.
    #[arg(long, value_name = "DAYS")]
    due_in: Option<u16>,
    /// As-found tolerance in pH, in percent of the standard's conductivity, or in K [default: 0.05 pH,
    /// 3 %, 0.2 K].
    #[arg(long, value_name = "T")]
    tolerance: Option<f64>,
    /// What happened to the sensor since the calibration before: its drift may be another one now, and after
    /// drying out or a knock nothing of it is known.
    #[arg(long, value_name = "WHAT")]
    after: Option<After>,
    /// So many of the days since then it was stored, not in use.
    #[arg(long, value_name = "DAYS")]
    stored_days: Option<u16>,
    /// How many days an open bottle is used, for all of them [default: 90; alkaline buffers and
    /// conductivity standards below 500 µS/cm 30].
    #[arg(long, value_name = "DAYS")]
    opened_limit: Option<u16>,
    /// Answers to the questions, one a line, instead of asking on the terminal.
    #[arg(long, value_name = "FILE")]
    answers: Option<PathBuf>,
    /// Ask after so many seconds whether to accept readings that have not settled [default: 300].
    #[arg(long, value_name = "SECONDS")]
    ask_after: Option<u32>,
}

/// What happens to a sensor between two calibrations.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum After {
    Cleaning,
    Refill,
    Drying,
    Knock,
}

impl After {
    const fn incident(self) -> Incident {
        match self {
            Self::Cleaning => Incident::Cleaned,
            Self::Refill => Incident::Refilled,
            Self::Drying => Incident::Dried,
            Self::Knock => Incident::Knocked,
        }
    }
}

/// Who does it, as a record keeps it; the error is a sentence.
pub(super) fn operator(name: &str) -> Result<Operator, String> {
    plain(typed_words::OPERATOR, name)?;
    Operator::try_from(name).map_err(|_| words::operator_too_long(name))
}

/// The compensation that was asked for; the error is a sentence.
fn understood(per_kelvin: f64, natural_water: Option<f64>) -> Result<Compensation, String> {
    if let Some(exponent) = natural_water {
        let (least, most) = EXPONENT_RANGE;
        return match (least..=most).contains(&exponent) {
            true => Ok(Compensation::NaturalWater { exponent }),
            false => Err(words::bad_exponent(exponent, least, most)),
        };
    }
    let (least, most) = PER_KELVIN_RANGE;
    match (least..=most).contains(&per_kelvin) {
        true => Ok(Compensation::Linear { per_kelvin }),
        false => Err(words::bad_compensation(per_kelvin * 100.0, least * 100.0, most * 100.0)),
    }
}

/// Guides a calibration and has the probe keep its record.
///
/// # Errors
/// [`Exit::BadInput`] for options or answers that cannot be used, [`Exit::Refused`] when the routine
/// or the probe refuses, [`Exit::Cancelled`] when the operator cancels; nothing is changed then.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    let bad = |sentence| Failure::new(Exit::BadInput, sentence);
    let (mut kind, mut zero_in_air) = (None, false);
    let mut compensation = Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN };
    let mut isopotential = DEFAULT_ISOPOTENTIAL;
    let (quantity, common, nominal_cell_constant) = match options.what {
        What::Ph { common, isopotential: measured } => {
            isopotential = measured.unwrap_or(isopotential);
            (Quantity::Ph, common, None)
        }
        What::Temperature { common, thermometer } => {
            kind = thermometer;
            (Quantity::Temperature, common, None)
        }
        What::Conductivity {
            common,
            compensation_percent_per_kelvin,
            natural_water,
            zero_in_air: in_air,
            nominal_cell_constant,
        } => {
            zero_in_air = in_air;
            let per_kelvin = compensation_percent_per_kelvin / 100.0;
            compensation = understood(per_kelvin, natural_water).map_err(bad)?;
            (Quantity::Conductivity, common, nominal_cell_constant)
        }
    };
    let positive =
        [("--tolerance", common.tolerance), ("--nominal-cell-constant", nominal_cell_constant)];
    for (option, number) in positive {
        if let Some(number) = number.filter(|number| !(number.is_finite() && *number > 0.0)) {
            return Err(bad(words::not_above_zero(option, number)));
        }
    }
    let mut specs = Vec::new();
    for text in &common.standards {
        specs.push(Spec::parse(text, quantity).map_err(bad)?);
    }
    if specs.len() > MAX_POINTS {
        return Err(bad(words::too_many_standards(specs.len(), MAX_POINTS)));
    }
    if let Some(text) = &common.as_left {
        specs.push(Spec::parse(text, quantity).map_err(bad)?);
    }
    bottles::describe(&mut specs, common.answers.is_some(), context)?;
    let planned = |spec: &Spec| {
        let opened_limit_days = common.opened_limit.or(spec.planned.opened_limit_days);
        Planned { opened_limit_days, ..spec.planned.clone() }
    };
    let standards = specs.iter().map(planned).collect();
    let plan = Plan {
        quantity,
        standards,
        checks_apart: common.as_left.is_some(),
        operator: operator(&common.operator).map_err(bad)?,
        due_in_days: common.due_in,
        compensation,
        isopotential,
        zero_in_air,
        thermometer: kind.as_deref().map(thermometer::parse).transpose().map_err(bad)?,
        tolerance: common.tolerance,
        nominal_cell_constant,
        incident: common.after.map(After::incident),
        stored_days: common.stored_days,
    };
    let script = script(common.answers.as_deref())?;
    let interrupted = interrupt::listen();
    let mut probe = connect(context.port.as_deref(), context.probe.as_deref())?;
    probe.reads_our_records()?;
    let answers = RefCell::new(Answers::new(script.as_deref(), context.answers));
    let mut report = Report::new(context.json, context.out, context.progress);
    let beakers: Vec<_> = specs.into_iter().map(|spec| spec.on_bench).collect();
    let ask_after_ms = common.ask_after.map(|seconds| u64::from(seconds) * 1000);
    let drive = Drive { beakers: &beakers, ask_after_ms, interrupted: &interrupted };
    let guided = guide(
        &mut probe,
        plan,
        &drive,
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
    let done = guided.map_err(|failure| match failure.exit {
        // Whoever read the output left before the record was kept: nothing succeeded.
        Exit::Success => Failure::new(Exit::Cancelled, words::OUTPUT_CLOSED),
        _ => failure,
    })?;
    let object = json!({
        "step": "finished",
        "id": done.id.to_string(),
        "no_longer_kept": done.gone.ids(),
        "board": probe.answer().board.to_string(),
        "record": calibration_json(&done.record),
    });
    report.end(&object, &finished(&done), done.record.quantity()).map_err(|failure| Failure {
        sentence: words::in_force_all_the_same(&done.id.short(), &failure.sentence),
        ..failure
    })
}

/// What the probe keeps now.
pub(super) fn finished(done: &Done) -> String {
    let record = &done.record;
    words::finished(
        &calibration_brief(record),
        &done.id.short(),
        record.outcome == Outcome::LeftUnadjusted,
        record.quantity(),
        record.as_left.as_ref(),
    ) + &done.gone.lines()
}
