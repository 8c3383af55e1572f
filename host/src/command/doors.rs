//! The doors to what understands the text of people and files: for whoever tries them with altered text.
//! Text in, what was understood or a sentence out.

use rillmark_metrology::front_end::BoardLimits;
use rillmark_procedures::routine::standard::Planned;
use rillmark_proto::record::Quantity;

use super::calibrate::spec::{self, Spec};
use super::guided::{Answer, answers};
use super::{Context, fit, measured, virtual_bench};
use crate::exit::Failure;

/// A standard as it is written on the command line. A name that is a file's is read.
///
/// # Errors
/// What is wrong with it.
pub fn standard(text: &str, quantity: Quantity) -> Result<Planned, String> {
    Spec::parse(text, quantity).map(|spec| spec.planned)
}

/// What a bottle's file holds.
///
/// # Errors
/// What is wrong with it.
pub fn bottle(text: &str, quantity: Quantity) -> Result<Planned, String> {
    spec::bottle(text, quantity)
}

/// What was measured of a board.
///
/// # Errors
/// What is wrong with it.
pub fn measured(text: &str) -> Result<BoardLimits, String> {
    measured::understand(text).map(|known| known.limits).map_err(|(_, sentence)| sentence)
}

/// Fits a table of points (of pH or of conductivity) and prints what came of it.
///
/// # Errors
/// As `rillmark fit` has them.
pub fn points(quantity: Quantity, context: &mut Context<'_>) -> Result<(), Failure> {
    fit::run(fit::Options::of_standard_input(quantity), context)
}

/// What a line says to a guided routine that asks for a number in °C; `None` when it says something else.
///
/// # Errors
/// What is wrong with it.
pub fn reference_answer(line: &str) -> Result<Option<f64>, String> {
    answers::understand(line, super::guided::Question::Reference).map(|answer| match answer {
        Answer::Reference(celsius) => Some(celsius),
        _ => None,
    })
}

/// Whether a line says what to do about something.
///
/// # Errors
/// What is wrong with it.
pub fn decision(line: &str) -> Result<(), String> {
    answers::understand(line, super::guided::Question::Decide).map(drop)
}

/// Whether a line controls the virtual bench.
///
/// # Errors
/// What is wrong with it.
pub fn control(line: &str) -> Result<(), String> {
    virtual_bench::understood(line)
}
