//! Readings for people and machines, the same in every command.

use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::uncertainty::Uncertainty;
use rillmark_proto::reading::{Computed, Range, Reading};
use serde_json::{Value, json};

use super::output::{Lean, lean};
use crate::session::time::utc_text;
use crate::words::en::session as words;

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

/// Standard uncertainties as JSON, under the names of the values.
pub(super) fn uncertainty_json(uncertainty: &Uncertainty) -> Value {
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
    ("pH", 7),
    (words::EXPANDED, 6),
    ("°C", 7),
    ("µS/cm", 10),
    (words::AT_25, 12),
    (words::EXPANDED, 8),
];

/// The heading of a table that grows.
pub(super) fn heading() -> String {
    let cells = COLUMNS.map(|(heading, width)| lean(heading, width, Lean::Right));
    format!("{}  {}\n", cells.join("  "), words::FLAGS)
}

/// One line of that table, with expanded uncertainties (k = 2).
pub(super) fn line(
    reading: &Reading,
    computed: &Computed,
    uncertainty: &Uncertainty,
    utc_ms: Option<i64>,
) -> String {
    let fixed = |value: Option<f32>, decimals: usize| {
        value.map_or_else(|| words::NOT_DEFINED.to_owned(), |value| format!("{value:.decimals$}"))
    };
    let expanded = |standard: Option<f64>, decimals: usize| {
        standard.map_or_else(String::new, |standard| format!("±{:.decimals$}", 2.0 * standard))
    };
    let time = utc_ms
        .and_then(utc_text)
        .map_or_else(|| words::NOT_DEFINED.to_owned(), |text| text[..19].replace('T', " "));
    let cells = [
        time,
        fixed(computed.ph, 3),
        expanded(uncertainty.ph, 3),
        fixed(computed.temperature_c, 2),
        fixed(computed.conductivity_us_cm, 2),
        fixed(computed.specific_conductance_us_cm, 2),
        expanded(uncertainty.specific_conductance_us_cm, 2),
    ];
    let cells: Vec<_> = cells
        .iter()
        .zip(COLUMNS)
        .map(|(cell, (_, width))| lean(cell, width, Lean::Right))
        .collect();
    let flags: Vec<_> = reading.flags.names().collect();
    let line = format!("{}  {}", cells.join("  "), flags.join(" "));
    format!("{}\n", line.trim_end())
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
        let text = [
            heading(),
            line(&reading(1), &reading(1).computed, &known, Some(1_767_225_600_007)),
            line(&undefined, &undefined.computed, &Uncertainty::default(), None),
        ];
        insta::assert_snapshot!(text.concat());
    }
}
