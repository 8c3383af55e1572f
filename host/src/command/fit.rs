//! `rillmark fit`: a calibration from a table of points, without a probe.

mod answer;
mod bottles;
mod table;

use clap::{Args, Subcommand};
use rillmark_metrology::fit;
use rillmark_metrology::fit::FitError;
use rillmark_metrology::fit::conductivity::{ConductivityPoint, DEFAULT_STANDARD_UNCERTAINTY};
use rillmark_metrology::fit::ph::{
    Assumed, BUFFER_UNCERTAINTY_RANGE, DEFAULT_BUFFER_UNCERTAINTY, NOMINAL_SLOPE, PhPoint,
    SlopePrior,
};
use rillmark_metrology::uncertainty::ph::Conditions;
use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;
use rillmark_procedures::routine::judgement::Severity;
use rillmark_procedures::routine::said::Said;
use rillmark_proto::calibration::conductivity::{Compensation, Range};
use rillmark_proto::calibration::ph::{DEFAULT_ISOPOTENTIAL, Isopotential, PH_RANGE};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record;
use rillmark_proto::reference::{OutOfRange, compensation};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

use self::answer::{ConductivityAnswer, Evaluated, PhAnswer, Unstated};
use self::bottles::Bottles;
use self::table::{Column, Points};
use super::budget::{pair, water};
use super::{Context, output};
use crate::exit::{Exit, Failure, after_verdict};
use crate::words::en::budget as budget_words;
use crate::words::en::fit as words;

/// `rillmark fit …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// What was calibrated.
    #[command(subcommand)]
    quantity: Quantity,
}

impl Options {
    /// Of points on standard input; anything but a pH is a conductivity.
    pub(super) fn of_standard_input(of: record::Quantity) -> Self {
        let file = "-".to_owned();
        let (evaluate, water, thermometer_u, isopotential, slope) = (None, None, None, None, None);
        let quantity = match of {
            record::Quantity::Ph => Quantity::Ph {
                file,
                evaluate,
                budget: false,
                water,
                thermometer_u,
                isopotential,
                slope,
            },
            _ => Quantity::Conductivity { file },
        };
        Self { quantity }
    }
}

#[derive(Debug, Subcommand)]
enum Quantity {
    /// Slope and offset of a pH electrode from points in buffers.
    #[command(after_help = words::EXAMPLE_PH)]
    Ph {
        /// CSV with the columns buffer_ph, potential_mv, temperature_c and, if known, u_buffer_ph
        /// (standard uncertainty of the buffer), buffer_ph_per_kelvin and bottle (any text: equal ones
        /// share their error; without it buffers within 0.05 pH count as one); `-` reads standard input.
        #[arg(value_name = "FILE.csv")]
        file: String,
        /// Also give the pH of this potential at this temperature.
        #[arg(long, value_name = "MV,C", allow_hyphen_values = true, value_parser = potential_and_temperature)]
        evaluate: Option<(f64, f64)>,
        /// List everything that makes that pH uncertain.
        #[arg(long, requires = "evaluate")]
        budget: bool,
        /// Conductivity at 25 °C of the water that pH is of [default: an ordinary water].
        #[arg(long, value_name = "US/CM", requires = "budget", value_parser = water)]
        water: Option<MicrosiemensPerCm>,
        /// Standard uncertainty of the thermometer in K [default: a Pt1000 that was not calibrated].
        #[arg(long, value_name = "K", requires = "budget", value_parser = above_zero)]
        thermometer_u: Option<f64>,
        /// The isopotential pH with its standard uncertainty, or `measure` to find it from points at
        /// differing temperatures [default: 7,0.4].
        #[arg(long, value_name = "PH,U", value_parser = isopotential)]
        isopotential: Option<Known>,
        /// The slope in percent of Nernst with its standard uncertainty, for a single point
        /// [default: 98.5,2].
        #[arg(long, value_name = "PERCENT,U", value_parser = slope)]
        slope: Option<SlopePrior>,
    },
    /// Cell constant from points in conductivity standards.
    #[command(after_help = words::EXAMPLE_CONDUCTIVITY)]
    Conductivity {
        /// CSV with the columns standard_us_per_cm (the standard's value at the row's temperature),
        /// conductance_us, temperature_c and, if known, u_standard_us_per_cm and bottle (any text: equal
        /// ones share their error; without it standards within 1 % at 25 °C count as one); `-` reads
        /// standard input.
        #[arg(value_name = "FILE.csv")]
        file: String,
    },
}

fn potential_and_temperature(text: &str) -> Result<(f64, f64), &'static str> {
    pair(text).ok_or(words::EVALUATE_FORM)
}

fn above_zero(text: &str) -> Result<f64, &'static str> {
    let number = text.trim().parse().ok();
    number.filter(|number: &f64| number.is_finite() && *number > 0.0).ok_or(words::ABOVE_ZERO)
}

/// Where the isopotential pH comes from.
#[derive(Clone, Copy, Debug)]
enum Known {
    /// It is given.
    Given(Isopotential),
    /// From the points.
    Measure,
}

fn isopotential(text: &str) -> Result<Known, &'static str> {
    if text == "measure" {
        return Ok(Known::Measure);
    }
    given_isopotential(text).map(Known::Given)
}

/// An isopotential pH with its standard uncertainty.
pub(super) fn given_isopotential(text: &str) -> Result<Isopotential, &'static str> {
    let (low, high) = PH_RANGE;
    pair(text)
        .filter(|(ph, u)| (low..=high).contains(ph) && (0.0..=5.0).contains(u))
        .map(|(ph, standard_uncertainty)| Isopotential { ph, standard_uncertainty })
        .ok_or(budget_words::ISOPOTENTIAL_FORM)
}

fn slope(text: &str) -> Result<SlopePrior, &'static str> {
    pair(text)
        .filter(|(percent, u)| (1.0..=200.0).contains(percent) && *u > 0.0 && *u <= 100.0)
        .map(|(percent, u)| SlopePrior {
            slope_fraction: percent / 100.0,
            standard_uncertainty: u / 100.0,
        })
        .ok_or(budget_words::SLOPE_FORM)
}

/// Columns of a table of pH points, in the order in which [`Points`] gives them.
const PH_COLUMNS: [Column; 5] = [
    Column::needed("buffer_ph"),
    Column::needed("potential_mv"),
    Column::needed("temperature_c"),
    Column::optional("u_buffer_ph"),
    Column::optional("buffer_ph_per_kelvin"),
];

/// Columns of a table of conductivity points, in the order in which [`Points`] gives them.
const CONDUCTIVITY_COLUMNS: [Column; 4] = [
    Column::needed("standard_us_per_cm"),
    Column::needed("conductance_us"),
    Column::needed("temperature_c"),
    Column::optional("u_standard_us_per_cm"),
];

/// Rows of buffers that are this near in pH are taken for those of one bottle: a buffer's value moves by
/// as much between two temperatures. Common practice, no source.
const ONE_BUFFER_PH: f64 = 0.05;
/// The same of conductivity standards referred to 25 °C, as a fraction.
const ONE_STANDARD: f64 = 0.01;

/// Rows that are said to be of one bottle may differ by this and so much for each kelvin between them, in
/// pH: what saturated lime does, the steepest of all buffers, and a little more. Own choice, no source.
const ONE_BUFFER_PH_PER_KELVIN: f64 = 0.04;
/// The same of conductivity standards referred to 25 °C, as fractions.
const ONE_STANDARD_MOST: f64 = 0.05;
const ONE_STANDARD_PER_KELVIN: f64 = 0.005;

/// Rows of one bottle within so many K of each other tell one potential of it, however many they are. Own
/// choice: what one temperature is in a calibration (`limits::TEMPERATURE_SPAN_K`).
const ONE_STAND_K: f64 = 2.0;

/// Fits and prints.
///
/// # Errors
/// [`Exit::Refused`] for a line that no working sensor has, after it was printed; [`Exit::BadInput`] for a
/// table that cannot be used, points that give no line, or a potential without a pH; [`Exit::Storage`] when the file cannot be read or the answer not be written.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    match options.quantity {
        Quantity::Ph { file, evaluate, budget, water, thermometer_u, isopotential, slope } => {
            let table = Points::read(&file, &PH_COLUMNS, context.answers)?;
            let asked = Asked {
                evaluate,
                budget: budget.then_some((water, thermometer_u)),
                isopotential,
                slope,
            };
            let answer = ph_answer(&table, &asked)?;
            let printed = match context.json {
                true => output::json(context.out, &answer.json()),
                false => output::text(context.out, &answer.text()),
            };
            after_verdict(sound(&answer.judged()), printed)
        }
        Quantity::Conductivity { file } => {
            let points = Points::read(&file, &CONDUCTIVITY_COLUMNS, context.answers)?;
            let answer = conductivity_answer(&points)?;
            let printed = match context.json {
                true => output::json(context.out, &answer.json()),
                false => output::text(context.out, &answer.text()),
            };
            after_verdict(sound(&answer.judged()), printed)
        }
    }
}

/// Whether what was found can be used.
fn sound(said: &Said) -> Result<(), Failure> {
    match said.heaviest() {
        Some(Severity::Refusal) => Err(Failure::new(Exit::Refused, words::REFUSED)),
        _ => Ok(()),
    }
}

/// Refuses a bottle that would have to hold two solutions: rows whose values are further apart than
/// `apart` lets one solution's be.
fn one_solution<const N: usize>(
    table: &Points<N>,
    bottles: &Bottles,
    apart: impl Fn(usize, usize) -> bool,
) -> Result<(), Failure> {
    let numbers = bottles.numbers();
    for (row, bottle) in numbers.iter().enumerate() {
        let first = numbers.iter().position(|other| other == bottle).unwrap_or(row);
        if apart(first, row) {
            let lines = [first, row].map(|row| table.line(row + 1).unwrap_or_default());
            return Err(Failure::new(Exit::BadInput, words::two_solutions(table.name(), lines)));
        }
    }
    Ok(())
}

/// What is asked of pH points.
struct Asked {
    evaluate: Option<(f64, f64)>,
    budget: Option<(Option<MicrosiemensPerCm>, Option<f64>)>,
    isopotential: Option<Known>,
    slope: Option<SlopePrior>,
}

fn ph_answer(table: &Points<5>, asked: &Asked) -> Result<PhAnswer, Failure> {
    let points: Vec<PhPoint> = table
        .rows()
        .map(|[buffer, potential, temperature, uncertainty, per_kelvin]| {
            Some(PhPoint {
                buffer: Ph::new(buffer?),
                buffer_uncertainty: uncertainty,
                buffer_per_kelvin: per_kelvin.unwrap_or(0.0),
                potential: Millivolts::new(potential?),
                temperature: Celsius::new(temperature?),
                bottle: None,
            })
        })
        .collect::<Option<_>>()
        .expect("the needed columns have a number in every row");
    let unusable = |error| {
        Failure::new(Exit::BadInput, words::no_fit(table.name(), &error, |n| table.line(n)))
    };
    let near = |one: usize, other: usize| {
        (points[one].buffer.get() - points[other].buffer.get()).abs() <= ONE_BUFFER_PH
    };
    let bottles = Bottles::new(table.bottles(near));
    let kelvins = |one: usize, other: usize| {
        (points[one].temperature.get() - points[other].temperature.get()).abs()
    };
    one_solution(table, &bottles, |one, other| {
        let apart = (points[one].buffer.get() - points[other].buffer.get()).abs();
        apart > ONE_BUFFER_PH + ONE_BUFFER_PH_PER_KELVIN * kelvins(one, other)
    })?;
    let (isopotential, measured) = match asked.isopotential {
        None => (DEFAULT_ISOPOTENTIAL, None),
        Some(Known::Given(given)) => (given, None),
        Some(Known::Measure) => match fit::ph::measure_isopotential(&stands(&points, &bottles)) {
            Ok(found) => (found, Some(found.standard_uncertainty)),
            Err(FitError::IsopotentialUnknown { standard_uncertainty }) => {
                (DEFAULT_ISOPOTENTIAL, Some(standard_uncertainty))
            }
            Err(error) => return Err(unusable(error)),
        },
    };
    let unstated = Unstated::of(points.iter().map(|point| point.buffer_uncertainty));
    // Two points and more find their own slope; a single one needs one that is known beforehand.
    let slope = asked.slope.or((points.len() == 1).then_some(NOMINAL_SLOPE));
    let shared = points.iter().enumerate().map(|(row, point)| {
        let own = point.buffer_uncertainty.unwrap_or(DEFAULT_BUFFER_UNCERTAINTY.value);
        let own =
            meant(row, "standard uncertainty of the buffer in pH", own, BUFFER_UNCERTAINTY_RANGE)?;
        let buffer_uncertainty = Some(bottles.shared(row, own));
        Ok(PhPoint { buffer_uncertainty, bottle: bottles.shared_by(row), ..*point })
    });
    let points: Vec<_> = shared.collect::<Result<_, _>>().map_err(unusable)?;
    let assumed = Assumed {
        isopotential,
        isopotential_fitted: measured.is_some_and(|u| u <= isopotential.standard_uncertainty),
        slope,
        ..Assumed::default()
    };
    let fit = fit::ph::fit_assuming(&points, &assumed).map_err(unusable)?;
    let evaluated = asked.evaluate.map(|(mv, c)| -> Result<Evaluated, Failure> {
        let (potential, temperature) = (Millivolts::new(mv), Celsius::new(c));
        let ph = fit.calibration.ph(potential, temperature);
        let uncertainty = fit.calibration.ph_uncertainty(potential, temperature);
        let ph = ph.ok_or_else(|| Failure::new(Exit::BadInput, words::no_ph(mv, c)))?;
        let budget = asked.budget.and_then(|(water, thermometer_k)| {
            let thermometer_k = thermometer_k
                .unwrap_or_else(|| Coefficients::default().thermometer_uncertainty(temperature));
            let conditions = Conditions::new(potential, thermometer_k, water);
            fit.calibration.budget(potential, temperature, &conditions)
        });
        Ok(Evaluated { mv, c, ph: ph.get(), standard_uncertainty: uncertainty, budget })
    });
    let evaluated = evaluated.transpose()?;
    Ok(PhAnswer { fit, points, bottles, measured, evaluated, unstated })
}

/// Rows of one bottle within [`ONE_STAND_K`] of the first of them, as their mean.
fn stands(points: &[PhPoint], bottles: &Bottles) -> Vec<PhPoint> {
    let mut stands: Vec<(usize, Vec<PhPoint>)> = Vec::new();
    for (point, bottle) in points.iter().zip(bottles.numbers()) {
        let near = |first: &PhPoint| {
            (first.temperature.get() - point.temperature.get()).abs() <= ONE_STAND_K
        };
        match stands.iter_mut().find(|(of, stand)| *of == bottle && near(&stand[0])) {
            Some((_, stand)) => stand.push(*point),
            None => stands.push((bottle, vec![*point])),
        }
    }
    let mean = |stand: &[PhPoint], of: fn(&PhPoint) -> f64| {
        stand.iter().map(of).sum::<f64>() / stand.len() as f64
    };
    let one = |(_, stand): &(usize, Vec<PhPoint>)| PhPoint {
        buffer: Ph::new(mean(stand, |point| point.buffer.get())),
        potential: Millivolts::new(mean(stand, |point| point.potential.get())),
        temperature: Celsius::new(mean(stand, |point| point.temperature.get())),
        ..stand[0]
    };
    stands.iter().map(one).collect()
}

/// Lets a number of a row through when it can be meant.
fn meant(
    row: usize,
    what: &'static str,
    got: f64,
    (min, max): (f64, f64),
) -> Result<f64, FitError> {
    if got >= min && got <= max {
        return Ok(got);
    }
    Err(FitError::OutOfRange { point: row + 1, range: OutOfRange { what, got, min, max } })
}

fn conductivity_answer(table: &Points<4>) -> Result<ConductivityAnswer, Failure> {
    let points: Vec<ConductivityPoint> = table
        .rows()
        .map(|[standard, conductance, temperature, uncertainty]| {
            let conductance = Microsiemens::new(conductance?);
            Some(ConductivityPoint {
                standard: MicrosiemensPerCm::new(standard?),
                standard_uncertainty: uncertainty,
                standard_per_kelvin: standard? * compensation::DEFAULT_PER_KELVIN,
                conductance,
                range: Range::for_conductance(conductance),
                temperature: Celsius::new(temperature?),
                bottle: None,
            })
        })
        .collect::<Option<_>>()
        .expect("the needed columns have a number in every row");
    let at_25 = |row: usize| {
        let ConductivityPoint { standard, temperature, .. } = points[row];
        standard.get() / (1.0 + compensation::DEFAULT_PER_KELVIN * (temperature.get() - 25.0))
    };
    let near = |one, other| (at_25(one) / at_25(other) - 1.0).abs() <= ONE_STANDARD;
    let bottles = Bottles::new(table.bottles(near));
    one_solution(table, &bottles, |one, other| {
        let kelvins = (points[one].temperature.get() - points[other].temperature.get()).abs();
        let apart = (at_25(one) / at_25(other)).ln().abs();
        apart > ONE_STANDARD_MOST + ONE_STANDARD_PER_KELVIN * kelvins
    })?;
    let unstated = Unstated::of(points.iter().map(|point| point.standard_uncertainty));
    let shared = points.iter().enumerate().map(|(row, point)| {
        let default = || DEFAULT_STANDARD_UNCERTAINTY.value * point.standard.get();
        let own = point.standard_uncertainty.unwrap_or_else(default);
        let what = "standard uncertainty of the standard in µS/cm";
        let own = meant(row, what, own, (0.0, point.standard.get()))?;
        let standard_uncertainty = Some(bottles.shared(row, own));
        let bottle = bottles.shared_by(row);
        Ok(ConductivityPoint { standard_uncertainty, bottle, ..*point })
    });
    let unusable = |error| {
        Failure::new(Exit::BadInput, words::no_fit(table.name(), &error, |n| table.line(n)))
    };
    let points: Vec<_> = shared.collect::<Result<_, _>>().map_err(unusable)?;
    // The standards' values are already those at the rows' temperatures: this is not used here.
    let compensation = Compensation::Linear { per_kelvin: compensation::DEFAULT_PER_KELVIN };
    let fit = fit::conductivity::fit(&points, compensation).map_err(unusable)?;
    Ok(ConductivityAnswer { fit, points, bottles, unstated })
}

#[cfg(test)]
mod tests;
