//! What makes a pH or a conductivity uncertain, as a table and as JSON.

use rillmark_metrology::reference::ionic_strength;
use rillmark_metrology::uncertainty;
use rillmark_proto::units::MicrosiemensPerCm;
use serde_json::{Value, json};

use super::output::{Lean, Table};
use crate::words::en::budget as words;

/// The conductivity at 25 °C of the water that a pH is of.
pub(super) fn water(text: &str) -> Result<MicrosiemensPerCm, &'static str> {
    let number = text.trim().parse().ok().map(MicrosiemensPerCm::new);
    number.filter(|us_cm| ionic_strength::class(*us_cm).is_ok()).ok_or(words::WATER_FORM)
}

/// Two numbers with a comma between.
pub(super) fn pair(text: &str) -> Option<(f64, f64)> {
    let number = |text: &str| text.trim().parse().ok().filter(|number: &f64| number.is_finite());
    text.split_once(',').and_then(|(first, second)| Some((number(first)?, number(second)?)))
}

/// The budget of a pH.
pub(super) fn ph_json(budget: &uncertainty::ph::Budget) -> Value {
    let contributions = budget.contributions.iter().map(|each| {
        json!({
            "cause": words::ph_code(each.cause),
            "input": each.input,
            "sensitivity": each.sensitivity,
            "u_ph": each.u_ph,
        })
    });
    json!({
        "ph": budget.ph.get(),
        "contributions": contributions.collect::<Vec<_>>(),
        "standard_uncertainty": budget.combined,
        "expanded_uncertainty_k2": 2.0 * budget.combined,
    })
}

/// The budget of a pH for people, the largest contribution first.
pub(super) fn ph_text(budget: &uncertainty::ph::Budget) -> String {
    let mut sorted = budget.contributions;
    sorted.sort_by(|one, other| other.u_ph.total_cmp(&one.u_ph));
    let mut table = Table::new(&words::HEADINGS.map(|(name, right)| (name, lean(right))));
    for each in sorted.iter().filter(|each| !is_nothing(each.input, each.sensitivity)) {
        table.row([
            words::ph_cause(each.cause).to_owned(),
            words::input(each.input, words::ph_unit(each.cause)),
            each.sensitivity.map_or_else(String::new, words::sensitivity),
            format!("{:.4}", each.u_ph),
        ]);
    }
    let value = words::ph(budget.ph.get(), budget.combined);
    format!("{}\n{value}\n", table.text())
}

/// The budget of a conductivity.
pub(super) fn conductivity_json(budget: &uncertainty::conductivity::Budget) -> Value {
    let contributions = budget.contributions.iter().map(|each| {
        json!({
            "cause": words::conductivity_code(each.cause),
            "input": each.input,
            "sensitivity": each.sensitivity,
            "u_percent": 100.0 * each.relative,
        })
    });
    json!({
        "us_cm": budget.value.get(),
        "contributions": contributions.collect::<Vec<_>>(),
        "standard_uncertainty_percent": 100.0 * budget.relative,
        "standard_uncertainty_us_cm": budget.combined_us_cm(),
        "expanded_uncertainty_k2_us_cm": 2.0 * budget.combined_us_cm(),
    })
}

/// The budget of a conductivity for people, the largest contribution first.
pub(super) fn conductivity_text(name: &str, budget: &uncertainty::conductivity::Budget) -> String {
    let mut sorted = budget.contributions;
    sorted.sort_by(|one, other| other.relative.total_cmp(&one.relative));
    let headings = words::CONDUCTIVITY_HEADINGS.map(|(name, right)| (name, lean(right)));
    let mut table = Table::new(&headings);
    for each in sorted.iter().filter(|each| !is_nothing(each.input, each.sensitivity)) {
        table.row([
            words::conductivity_cause(each.cause).to_owned(),
            words::input(each.input, words::conductivity_unit(each.cause)),
            each.sensitivity.map_or_else(String::new, |by| words::sensitivity(100.0 * by)),
            format!("{:.4}", 100.0 * each.relative),
        ]);
    }
    let value = words::conductivity(name, budget.value.get(), budget.combined_us_cm());
    format!("{}\n{value}\n", table.text())
}

/// A cause that is not there, or that does not touch the value.
fn is_nothing(input: Option<f64>, sensitivity: Option<f64>) -> bool {
    input == Some(0.0) || sensitivity == Some(0.0)
}

fn lean(right: bool) -> Lean {
    if right { Lean::Right } else { Lean::Left }
}
