//! `rillmark fit`: a calibration from a table of points, without a probe.

mod answer;
mod table;

use clap::{Args, Subcommand};
use rillmark_proto::calibration::conductivity::{self, Compensation, ConductivityPoint, Range};
use rillmark_proto::calibration::ph::{self, PhPoint};
use rillmark_proto::reference::compensation;
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

use self::answer::{ConductivityAnswer, Evaluated, PhAnswer};
use self::table::{Column, Points};
use super::{Context, output};
use crate::exit::{Exit, Failure};
use crate::words::en::fit as words;

/// `rillmark fit …`
#[derive(Debug, Args)]
#[command(after_help = words::EXAMPLE)]
pub struct Options {
    /// What was calibrated.
    #[command(subcommand)]
    quantity: Quantity,
}

#[derive(Debug, Subcommand)]
enum Quantity {
    /// Slope and offset of a pH electrode from points in buffers.
    #[command(after_help = words::EXAMPLE_PH)]
    Ph {
        /// CSV with the columns buffer_ph, potential_mv, temperature_c and, if known, u_buffer_ph
        /// (standard uncertainty of the buffer); `-` reads standard input.
        #[arg(value_name = "FILE.csv")]
        file: String,
        /// Also give the pH of this potential at this temperature.
        #[arg(long, value_name = "MV,C", allow_hyphen_values = true, value_parser = potential_and_temperature)]
        evaluate: Option<(f64, f64)>,
    },
    /// Cell constant from points in conductivity standards.
    #[command(after_help = words::EXAMPLE_CONDUCTIVITY)]
    Conductivity {
        /// CSV with the columns standard_us_per_cm (the standard's value at the row's temperature),
        /// conductance_us and temperature_c; `-` reads standard input.
        #[arg(value_name = "FILE.csv")]
        file: String,
    },
}

fn potential_and_temperature(text: &str) -> Result<(f64, f64), &'static str> {
    let number = |text: &str| text.trim().parse().ok().filter(|number: &f64| number.is_finite());
    text.split_once(',')
        .and_then(|(mv, c)| Some((number(mv)?, number(c)?)))
        .ok_or(words::EVALUATE_FORM)
}

/// Columns of a table of pH points, in the order in which [`Points`] gives them.
const PH_COLUMNS: [Column; 4] = [
    Column::needed("buffer_ph"),
    Column::needed("potential_mv"),
    Column::needed("temperature_c"),
    Column::optional("u_buffer_ph"),
];

/// Columns of a table of conductivity points, in the order in which [`Points`] gives them.
const CONDUCTIVITY_COLUMNS: [Column; 3] = [
    Column::needed("standard_us_per_cm"),
    Column::needed("conductance_us"),
    Column::needed("temperature_c"),
];

/// Fits and prints.
///
/// # Errors
/// [`Exit::BadInput`] for a table that cannot be used, points that give no line, or a potential
/// without a pH; [`Exit::Storage`] when the file cannot be read or the answer not be written.
pub fn run(options: Options, context: &mut Context<'_>) -> Result<(), Failure> {
    match options.quantity {
        Quantity::Ph { file, evaluate } => {
            let answer = ph_answer(&Points::read(&file, &PH_COLUMNS, context.answers)?, evaluate)?;
            match context.json {
                true => output::json(context.out, &answer.json()),
                false => output::text(context.out, &answer.text()),
            }
        }
        Quantity::Conductivity { file } => {
            let points = Points::read(&file, &CONDUCTIVITY_COLUMNS, context.answers)?;
            let answer = conductivity_answer(&points)?;
            match context.json {
                true => output::json(context.out, &answer.json()),
                false => output::text(context.out, &answer.text()),
            }
        }
    }
}

fn ph_answer(table: &Points<4>, evaluate: Option<(f64, f64)>) -> Result<PhAnswer, Failure> {
    let points: Vec<PhPoint> = table
        .rows()
        .map(|[buffer, potential, temperature, uncertainty]| {
            Some(PhPoint {
                buffer: Ph::new(buffer?),
                buffer_uncertainty: uncertainty,
                buffer_per_kelvin: 0.0,
                potential: Millivolts::new(potential?),
                temperature: Celsius::new(temperature?),
            })
        })
        .collect::<Option<_>>()
        .expect("the needed columns have a number in every row");
    let fit = ph::fit(&points).map_err(|error| {
        Failure::new(Exit::BadInput, words::no_fit(table.name(), &error, |n| table.line(n)))
    })?;
    let evaluated = evaluate.map(|(mv, c)| -> Result<Evaluated, Failure> {
        let (potential, temperature) = (Millivolts::new(mv), Celsius::new(c));
        let ph = fit.calibration.ph(potential, temperature);
        let uncertainty = fit.calibration.ph_uncertainty(potential, temperature);
        let ph = ph.ok_or_else(|| Failure::new(Exit::BadInput, words::no_ph(mv, c)))?;
        Ok(Evaluated { mv, c, ph: ph.get(), standard_uncertainty: uncertainty })
    });
    Ok(PhAnswer { fit, points, evaluated: evaluated.transpose()? })
}

fn conductivity_answer(table: &Points<3>) -> Result<ConductivityAnswer, Failure> {
    let points: Vec<ConductivityPoint> = table
        .rows()
        .map(|[standard, conductance, temperature]| {
            let conductance = Microsiemens::new(conductance?);
            Some(ConductivityPoint {
                standard: MicrosiemensPerCm::new(standard?),
                standard_uncertainty: None,
                standard_per_kelvin: standard? * compensation::DEFAULT_PER_KELVIN,
                conductance,
                range: Range::for_conductance(conductance),
                temperature: Celsius::new(temperature?),
            })
        })
        .collect::<Option<_>>()
        .expect("the needed columns have a number in every row");
    // The standards' values are already those at the rows' temperatures: this is not used here.
    let compensation = Compensation::Linear { per_kelvin: compensation::DEFAULT_PER_KELVIN };
    let fit = conductivity::fit(&points, compensation).map_err(|error| {
        Failure::new(Exit::BadInput, words::no_fit(table.name(), &error, |n| table.line(n)))
    })?;
    Ok(ConductivityAnswer { fit, points })
}

#[cfg(test)]
mod tests;
