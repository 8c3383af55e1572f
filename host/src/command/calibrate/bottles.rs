//! What is settled about the bottles before the first beaker: what was not said of a sachet is asked, and
//! what a maker says is shown.

use serde_json::json;

use super::super::{Context, output};
use super::spec::{Said, Spec};
use crate::exit::{Exit, Failure};
use crate::words::en::standard as words;

/// Asks a person for what was not said of a sachet, and shows what the makers say. A script is told what
/// to add.
///
/// # Errors
/// [`Exit::BadInput`] when something is not said of a sachet and nobody can be asked.
pub(in crate::command) fn describe(
    specs: &mut [Spec],
    scripted: bool,
    context: &mut Context<'_>,
) -> Result<(), Failure> {
    for (spec, point) in specs.iter_mut().zip(1..) {
        let finished = match scripted || context.json {
            true => spec.finish(None, context.progress),
            false => spec.finish(Some(context.answers), context.progress),
        };
        finished.map_err(|sentence| Failure::new(Exit::BadInput, sentence))?;
        let Said { statement, traceable_to } = &spec.said;
        let (statement, traceable_to) = (statement.as_deref(), traceable_to.as_deref());
        if statement.or(traceable_to).is_none() {
            continue;
        }
        if context.json {
            let said = json!({
                "step": "maker-says",
                "point": point,
                "statement": statement,
                "traceable_to": traceable_to,
            });
            output::json(context.out, &said)?;
        } else {
            let line = words::said(point, &spec.planned.name, statement, traceable_to);
            output::line(context.progress, &line)?;
        }
    }
    Ok(())
}
