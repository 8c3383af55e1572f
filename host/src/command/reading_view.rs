//! Readings for people and machines, the same in every command.

use rillmark_metrology::assess::{Assessment, Remark, States, Tally};
use rillmark_metrology::motion::State;
use rillmark_metrology::reference::ionic_strength::Class;
use rillmark_metrology::uncertainty::reading::Uncertainty;
use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::{Computed, Range, Reading};
use serde_json::{Value, json};

use super::output::{Lean, Table, lean};
use super::record_view::quantity_code;
use crate::session::time::utc_text;
use crate::words::en::{assess as assess_words, session as words};

/// An `f32` as the JSON number with the fewest digits that gives the same `f32` back.
pub(super) fn number(value: Option<f32>) -> Option<f64> {
    // A finite f32's text is a number, and what is not finite never leaves a probe.
    value.and_then(|value| value.to_string().parse().ok())
}

/// A reading as JSON, with `computed` as its values; `null` is 'not defined'.
pub(super) fn reading_json(reading: &Reading, computed: &Computed, utc_ms: Option<i64>) -> Value {
    let short = |id: Option<ShortId>| id.map(|id| id.to_string());
    json!({
        "running": reading.running,
        "boot": reading.time.boot,
        "probe_ms": reading.time.ms,
        "utc": utc_ms.and_then(utc_text),
        "ph": number(computed.ph),
        "temperature_c": number(computed.temperature_c),
        "conductivity_us_cm": number(computed.conductivity_us_cm),
        "specific_conductance_us_cm": number(computed.specific_conductance_us_cm),
        "raw": {
            "potential_nv": reading.raw.potential_nv,
            "conductance_ps": reading.raw.conductance.map(|raw| raw.conductance_ps),
            "range_ohm": reading.raw.conductance.map(|raw| range_ohm(raw.range)),
            "thermometer_milliohm": reading.raw.thermometer_milliohm,
        },
        "flags": reading.flags.names().collect::<Vec<_>>(),
        "calibrations": {
            "ph": short(reading.calibrations.ph),
            "conductivity": short(reading.calibrations.conductivity),
            "temperature": short(reading.calibrations.temperature),
        },
    })
}

/// A reading as JSON with what it is worth: the same in every command.
pub(super) fn assessed_json(
    reading: &Reading,
    computed: &Computed,
    assessment: &Assessment,
    utc_ms: Option<i64>,
) -> Value {
    let mut value = reading_json(reading, computed, utc_ms);
    let States { ph, temperature, conductivity } = assessment.states;
    let ages = &assessment.ages;
    value["standard_uncertainty"] = uncertainty_json(&assessment.uncertainty);
    value["water"] = assessment.uncertainty.water.map(Class::name).into();
    value["state"] = json!({
        "ph": ph.map(assess_words::state_code),
        "temperature": temperature.map(assess_words::state_code),
        "conductivity": conductivity.map(assess_words::state_code),
    });
    value["age_days"] = json!({
        "ph": ages.ph,
        "conductivity": ages.conductivity,
        "temperature": ages.temperature,
    });
    value["remarks"] = assessment.remarks.iter().map(remark_json).collect();
    value
}

/// A remark as JSON, its numbers under names of their own.
pub(super) fn remark_json(remark: &Remark) -> Value {
    let mut value = match *remark {
        Remark::OutsideBuffers { beyond_ph, buffer_ph } => {
            json!({ "beyond_ph": beyond_ph, "buffer_ph": buffer_ph })
        }
        Remark::OutsideStandards { times, standard_us_cm } => {
            json!({ "times": times, "standard_us_cm": standard_us_cm })
        }
        Remark::AlkalineError { up_to_ph, sodium_mol_kg } => {
            json!({ "true_ph_higher_by_up_to": up_to_ph, "sodium_mol_kg": sodium_mol_kg })
        }
        Remark::AcidError => json!({ "true_ph_lower_by_up_to": null }),
        Remark::UnlikeBuffers { ionic_strength_mol_kg } => {
            json!({ "ionic_strength_mol_kg": ionic_strength_mol_kg })
        }
        Remark::Overdue { days, .. } | Remark::CalibratedLater { days, .. } => {
            json!({ "days": days })
        }
        Remark::AcidWater { high_percent } => json!({ "high_percent": high_percent }),
        Remark::NoClock
        | Remark::NotSettled
        | Remark::CellChanged
        | Remark::RecordMissing { .. }
        | Remark::VerificationFailed { .. } => json!({}),
    };
    value["code"] = remark.code().into();
    value["quantity"] = remark.quantity().map(quantity_code).into();
    value
}

/// What was said of many readings, as JSON.
pub(super) fn tally_json(tally: &Tally) -> Value {
    let states = [&tally.ph, &tally.temperature, &tally.conductivity].map(|count| {
        json!({
            "steady": count.steady,
            "moving": count.moving,
            "changing": count.changing,
            "not_known": count.not_known,
        })
    });
    let [ph, temperature, conductivity] = states;
    let remarks = tally.remarks.iter().map(|(remark, readings)| {
        let mut value = remark_json(remark);
        value["readings"] = (*readings).into();
        value
    });
    json!({
        "states": { "ph": ph, "temperature": temperature, "conductivity": conductivity },
        "remarks": remarks.collect::<Vec<_>>(),
    })
}

/// How many readings were in each state, as rows of a table.
pub(super) fn tally_rows(tally: &Tally, table: &mut Table) {
    for (label, count) in [
        (assess_words::PH, &tally.ph),
        (assess_words::TEMPERATURE, &tally.temperature),
        (assess_words::CONDUCTIVITY, &tally.conductivity),
    ] {
        if count.all() > 0 {
            let text =
                assess_words::counts(count.steady, count.moving, count.changing, count.not_known);
            table.row([label, &text]);
        }
    }
}

/// The remarks below such a table.
pub(super) fn tally_lines(tally: &Tally) -> String {
    let line = |(remark, readings): &(Remark, u64)| {
        format!("{}\n", assess_words::on_readings(&assess_words::sentence(remark), *readings))
    };
    let lines: String = tally.remarks.iter().map(line).collect();
    if lines.is_empty() { lines } else { format!("\n{lines}") }
}

/// Standard uncertainties as JSON, under the names of the values.
fn uncertainty_json(uncertainty: &Uncertainty) -> Value {
    json!({
        "ph": uncertainty.ph,
        "temperature_k": uncertainty.temperature_k,
        "conductivity_us_cm": uncertainty.conductivity_us_cm,
        "specific_conductance_us_cm": uncertainty.specific_conductance_us_cm,
    })
}

/// The four values as JSON.
pub(super) fn computed_json(computed: &Computed) -> Value {
    json!({
        "ph": number(computed.ph),
        "temperature_c": number(computed.temperature_c),
        "conductivity_us_cm": number(computed.conductivity_us_cm),
        "specific_conductance_us_cm": number(computed.specific_conductance_us_cm),
    })
}

/// Ohms of a range resistor.
pub(super) const fn range_ohm(range: Range) -> u32 {
    match range {
        Range::Ohm1k => 1_000,
        Range::Ohm10k => 10_000,
        Range::Ohm100k => 100_000,
    }
}

const COLUMNS: [(&str, usize); 7] = [
    (words::TIME, 19),
    ("pH", 6),
    (words::EXPANDED, 6),
    ("°C", 6),
    ("µS/cm", 9),
    (words::AT_25, 9),
    (words::EXPANDED, 7),
];

/// The heading of a table that grows.
pub(super) fn heading() -> String {
    let cells = COLUMNS.map(|(heading, width)| lean(heading, width, Lean::Right));
    format!("{}  {}\n", cells.join("  "), words::FLAGS)
}

/// One line of that table, with expanded uncertainties (k = 2) and marks for what does not stand still.
pub(super) fn line(
    reading: &Reading,
    computed: &Computed,
    uncertainty: &Uncertainty,
    states: &States,
    utc_ms: Option<i64>,
) -> String {
    let fixed = |value: Option<f32>, decimals: usize| {
        value.map_or_else(|| words::NOT_DEFINED.to_owned(), |value| format!("{value:.decimals$}"))
    };
    // What the lag hides is not in a U while nobody can tell whether the reading stands still.
    let expanded = |standard: Option<f64>, state: Option<State>, decimals: usize| {
        let sign = if state == Some(State::NotKnown) { '≥' } else { '±' };
        standard.map_or_else(String::new, |standard| {
            // A wide U has no digits behind the point that mean anything, and no room for them.
            let (wide, expanded) =
                (2.0 * standard >= 10.0_f64.powi(4 - decimals as i32), 2.0 * standard);
            format!("{sign}{expanded:.*}", if wide { 0 } else { decimals })
        })
    };
    let time = utc_ms
        .and_then(utc_text)
        .map_or_else(|| words::NOT_DEFINED.to_owned(), |text| text[..19].replace('T', " "));
    let us_cm = |value: Option<f32>| fixed(value, decimals(value));
    // Behind each cell: two spaces, or the mark and one.
    let none: Option<State> = None;
    let cells = [
        (time, none),
        (fixed(computed.ph, 3), states.ph),
        (expanded(uncertainty.ph, states.ph, 3), none),
        (fixed(computed.temperature_c, 2), states.temperature),
        (us_cm(computed.conductivity_us_cm), states.conductivity),
        (us_cm(computed.specific_conductance_us_cm), states.conductivity),
        (
            expanded(
                uncertainty.specific_conductance_us_cm,
                states.conductivity,
                decimals(computed.specific_conductance_us_cm),
            ),
            none,
        ),
    ];
    let cells: String = cells
        .iter()
        .zip(COLUMNS)
        .map(|((cell, state), (_, width))| {
            let mark = state.map_or(' ', assess_words::mark);
            format!("{}{mark} ", lean(cell, width, Lean::Right))
        })
        .collect();
    let flags: Vec<_> = reading.flags.names().collect();
    let line = format!("{cells}{}", flags.join(" "));
    format!("{}\n", line.trim_end())
}

/// Decimals of a conductivity in µS/cm: more than five digits before the point leave no room for two.
fn decimals(us_cm: Option<f32>) -> usize {
    if us_cm.is_some_and(|us_cm| us_cm >= 10_000.0) { 0 } else { 2 }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::session::sample::reading;

    proptest! {
        #[test]
        fn a_number_in_json_gives_the_same_bits_back(bits in any::<u32>()) {
            let value = f32::from_bits(bits);
            prop_assume!(value.is_finite());
            let text = serde_json::to_string(&number(Some(value))).expect("a number");
            let back: f64 = serde_json::from_str(&text).expect("a number");
            prop_assert_eq!((back as f32).to_bits(), bits);
        }
    }

    #[test]
    fn a_reading_has_the_documented_keys() {
        let reading = reading(2);
        let value = reading_json(&reading, &reading.computed, Some(1_767_225_600_007));
        insta::assert_snapshot!(serde_json::to_string_pretty(&value).expect("JSON"));
    }

    #[test]
    fn lines_stand_under_their_heading() {
        let mut undefined = reading(2);
        undefined.computed = Computed::default();
        let known = Uncertainty {
            ph: Some(0.0185),
            specific_conductance_us_cm: Some(4.25),
            ..Uncertainty::default()
        };
        let none = Uncertainty::default();
        let states = States {
            ph: Some(State::Moving),
            temperature: Some(State::Steady),
            conductivity: Some(State::Changing),
        };
        let text = [
            heading(),
            line(&reading(1), &reading(1).computed, &known, &states, Some(1_767_225_600_007)),
            line(&undefined, &undefined.computed, &none, &States::default(), None),
        ];
        insta::assert_snapshot!(text.concat());
    }
}
