//! Readings for people and machines, the same in every command.

use rillmark_proto::identity::ShortId;
use rillmark_proto::reading::{Computed, Range, Reading};
use serde_json::{Value, json};

use super::output::{Lean, lean};
use crate::session::time::utc_text;
use crate::words::en::session as words;

/// A reading as JSON, with `computed` as its values; `null` is 'not defined'.
pub(super) fn reading_json(reading: &Reading, computed: &Computed, utc_ms: Option<i64>) -> Value {
    let short = |id: Option<ShortId>| id.map(|id| id.to_string());
    json!({
        "running": reading.running,
        "boot": reading.time.boot,
        "probe_ms": reading.time.ms,
        "utc": utc_ms.and_then(utc_text),
        "ph": computed.ph,
        "temperature_c": computed.temperature_c,
        "conductivity_us_cm": computed.conductivity_us_cm,
        "specific_conductance_us_cm": computed.specific_conductance_us_cm,
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
        },
    })
}

/// The four values as JSON.
pub(super) fn computed_json(computed: &Computed) -> Value {
    json!({
        "ph": computed.ph,
        "temperature_c": computed.temperature_c,
        "conductivity_us_cm": computed.conductivity_us_cm,
        "specific_conductance_us_cm": computed.specific_conductance_us_cm,
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

const COLUMNS: [(&str, usize); 5] =
    [(words::TIME, 19), ("pH", 7), ("°C", 7), ("µS/cm", 10), (words::AT_25, 12)];

/// The heading of a table that grows.
pub(super) fn heading() -> String {
    let cells = COLUMNS.map(|(heading, width)| lean(heading, width, Lean::Right));
    format!("{}  {}\n", cells.join("  "), words::FLAGS)
}

/// One line of that table.
pub(super) fn line(reading: &Reading, computed: &Computed, utc_ms: Option<i64>) -> String {
    let number = |value: Option<f32>, decimals: usize| {
        value.map_or_else(|| words::NOT_DEFINED.to_owned(), |value| format!("{value:.decimals$}"))
    };
    let time = utc_ms
        .and_then(utc_text)
        .map_or_else(|| words::NOT_DEFINED.to_owned(), |text| text[..19].replace('T', " "));
    let cells = [
        time,
        number(computed.ph, 3),
        number(computed.temperature_c, 2),
        number(computed.conductivity_us_cm, 2),
        number(computed.specific_conductance_us_cm, 2),
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
