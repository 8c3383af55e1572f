//! Everything that can be looked up.

use rillmark_metrology::reference::conductivity_standards::Standard;
use rillmark_metrology::reference::{buffers, conductivity_standards, ionic_strength, salinity};
use rillmark_proto::reference::{Tag, compensation, nernst, rtd, thermistor, viscosity};
use rillmark_proto::units::Celsius;
use serde::{Serialize, Serializer};

use super::answer::{Unit, line};
use crate::words::en::reference as words;

#[derive(Serialize)]
struct List {
    buffers: Vec<BufferRow>,
    conductivity_standards: Vec<StandardRow>,
    relations: Vec<RelationRow>,
}

#[derive(Serialize)]
struct Range {
    min: f64,
    max: f64,
    unit: &'static str,
}

#[derive(Serialize)]
struct BufferRow {
    name: &'static str,
    aliases: &'static [&'static str],
    kind: &'static str,
    solution: &'static str,
    unit: &'static str,
    basis: &'static str,
    range: Range,
    value_at_25_c: Option<f64>,
    standard_uncertainty: f64,
    source: &'static str,
    #[serde(serialize_with = "name")]
    tag: Tag,
    uncertainty_source: &'static str,
    #[serde(serialize_with = "name")]
    uncertainty_tag: Tag,
}

#[derive(Serialize)]
struct StandardRow {
    name: &'static str,
    aliases: &'static [&'static str],
    unit: &'static str,
    basis: &'static str,
    range: Range,
    value_at_25_c: Option<f64>,
    relative_standard_uncertainty: f64,
    source: &'static str,
    #[serde(serialize_with = "name")]
    tag: Tag,
    uncertainty_source: &'static str,
    #[serde(serialize_with = "name")]
    uncertainty_tag: Tag,
}

#[derive(Serialize)]
struct RelationRow {
    name: &'static str,
    unit: &'static str,
    ranges: Vec<Range>,
    source: &'static str,
    #[serde(serialize_with = "name")]
    tag: Tag,
}

/// A tag as machines read it.
fn name<S: Serializer>(tag: &Tag, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(tag.name())
}

const fn range((min, max): (f64, f64), unit: &'static str) -> Range {
    Range { min, max, unit }
}

/// Every buffer, standard and relation as one JSON object.
pub(super) fn json() -> String {
    line(&list())
}

fn list() -> List {
    List {
        buffers: buffers::ALL.iter().map(buffer).collect(),
        conductivity_standards: conductivity_standards::ALL.iter().map(standard).collect(),
        relations: relations(),
    }
}

fn buffer(buffer: &buffers::Buffer) -> BufferRow {
    let uncertainty = buffer.uncertainty();
    BufferRow {
        name: buffer.name(),
        aliases: buffer.aliases(),
        kind: buffer.kind().name(),
        solution: buffer.solution(),
        unit: Unit::PH.machine,
        basis: buffer.basis().name(),
        range: range(buffer.range(), Unit::CELSIUS.machine),
        value_at_25_c: buffer.ph(Celsius::new(25.0)).ok().map(|sourced| sourced.value),
        standard_uncertainty: uncertainty.standard,
        source: buffer.source(),
        tag: buffer.tag(),
        uncertainty_source: uncertainty.source,
        uncertainty_tag: uncertainty.tag,
    }
}

fn standard(standard: &Standard) -> StandardRow {
    let uncertainty = standard.relative_uncertainty();
    StandardRow {
        name: standard.name(),
        aliases: standard.aliases(),
        unit: Unit::CONDUCTIVITY.machine,
        basis: standard.basis().name(),
        range: range(standard.range(), Unit::CELSIUS.machine),
        value_at_25_c: standard.conductivity(Celsius::new(25.0)).ok().map(|sourced| sourced.value),
        relative_standard_uncertainty: uncertainty.standard,
        source: standard.source(),
        tag: standard.tag(),
        uncertainty_source: uncertainty.source,
        uncertainty_tag: uncertainty.tag,
    }
}

fn relations() -> Vec<RelationRow> {
    let celsius = Unit::CELSIUS.machine;
    vec![
        RelationRow {
            name: "nernst",
            unit: Unit::NERNST.machine,
            ranges: vec![range(nernst::RANGE, celsius)],
            source: nernst::SOURCE,
            tag: Tag::Computed,
        },
        RelationRow {
            name: "rtd",
            unit: Unit::CELSIUS.machine,
            ranges: vec![range(rtd::RANGE, celsius), range(rtd::R0_RANGE, "Ohm")],
            source: rtd::SOURCE,
            tag: rtd::TAG,
        },
        RelationRow {
            name: "thermistor-beta",
            unit: celsius,
            ranges: vec![
                range(thermistor::RANGE, celsius),
                range(thermistor::R25_RANGE, "Ohm"),
                range(thermistor::BETA_RANGE, "K"),
            ],
            source: thermistor::BETA_SOURCE,
            tag: thermistor::BETA_TAG,
        },
        RelationRow {
            name: "thermistor-steinhart-hart",
            unit: celsius,
            ranges: vec![range(thermistor::RANGE, celsius)],
            source: thermistor::STEINHART_HART_SOURCE,
            tag: thermistor::STEINHART_HART_TAG,
        },
        RelationRow {
            name: "compensation-linear",
            unit: Unit::CONDUCTIVITY.machine,
            ranges: vec![
                range(compensation::RANGE, celsius),
                range(compensation::PER_KELVIN_RANGE, "1/K"),
            ],
            source: compensation::DEFAULT_SOURCE,
            tag: compensation::DEFAULT_TAG,
        },
        RelationRow {
            name: "compensation-natural",
            unit: Unit::CONDUCTIVITY.machine,
            ranges: vec![
                range(compensation::RANGE, celsius),
                range(compensation::EXPONENT_RANGE, Unit::ONE.machine),
            ],
            source: compensation::NATURAL_WATER_SOURCE,
            tag: compensation::NATURAL_WATER_TAG,
        },
        RelationRow {
            name: "viscosity-of-water",
            unit: Unit::VISCOSITY.machine,
            ranges: vec![range(viscosity::RANGE, celsius)],
            source: viscosity::SOURCE,
            tag: viscosity::TAG,
        },
        RelationRow {
            name: "ionic-strength",
            unit: Unit::IONIC_STRENGTH.machine,
            ranges: vec![range(ionic_strength::RANGE, Unit::CONDUCTIVITY.machine)],
            source: ionic_strength::SOURCE,
            tag: ionic_strength::TAG,
        },
        RelationRow {
            name: "salinity",
            unit: Unit::ONE.machine,
            ranges: vec![
                range(salinity::SALINITY_RANGE, Unit::ONE.machine),
                range(salinity::TEMPERATURE_RANGE, celsius),
                range(salinity::PRESSURE_RANGE, "dbar"),
            ],
            source: salinity::SOURCE,
            tag: salinity::TAG,
        },
    ]
}

/// The same for people.
pub(super) fn table() -> String {
    let List { buffers, conductivity_standards, relations } = list();
    let mut text = format!("{}\n", words::BUFFERS);
    for row in buffers {
        let value = value(row.value_at_25_c, 3, "pH");
        let u = words::u_ph(row.standard_uncertainty);
        let note = format!("{}  {}", u, row.solution);
        text += &entry(row.name, &value, &[row.range], &note, row.tag, row.source);
    }
    text += &format!("\n{}\n", words::CONDUCTIVITY_STANDARDS);
    for row in conductivity_standards {
        let value = value(row.value_at_25_c, 1, "µS/cm");
        let u = words::u_percent(100.0 * row.relative_standard_uncertainty);
        let note = format!("{u}  {}", words::counted(row.basis, row.aliases));
        text += &entry(row.name, &value, &[row.range], &note, row.tag, row.source);
    }
    text += &format!("\n{}\n", words::RELATIONS);
    for row in relations {
        text += &entry(row.name, "", &row.ranges, row.unit, row.tag, row.source);
    }
    text
}

fn value(value: Option<f64>, decimals: usize, unit: &str) -> String {
    value.map_or_else(String::new, |value| format!("{value:.decimals$} {unit}"))
}

/// Two lines: what it is, and where it comes from.
fn entry(name: &str, value: &str, ranges: &[Range], note: &str, tag: Tag, source: &str) -> String {
    let ranges: Vec<_> = ranges
        .iter()
        .map(|Range { min, max, unit }| {
            let unit = match *unit {
                "degC" => " °C",
                "Ohm" => " Ω",
                "K" => " K",
                "1" => "",
                "1/K" => " /K",
                "uS/cm" => " µS/cm",
                _ => " dbar",
            };
            format!("{min} to {max}{unit}")
        })
        .collect();
    let ranges = ranges.join(", ");
    format!("  {name:<25}{value:>16}  {ranges}  {note}\n    [{}] {source}\n", tag.words())
}
