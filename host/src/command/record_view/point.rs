//! Points of records for people and machines.

mod label;

use rillmark_proto::record::Basis;
use rillmark_proto::record::{Dissolved, Point, Signal, Vessel, Water};
use serde_json::{Value, json};

use self::label::label;
use super::super::output::{Lean, Table};
use super::super::reading_view::number;
use super::day;
use crate::words::en::{probe as words, record as record_words};

/// A line a point.
pub(super) fn points(points: &[Point]) -> String {
    let mut table = Table::new(&[
        (words::STANDARD, Lean::Left),
        (words::LOT, Lean::Left),
        (words::EXPIRY, Lean::Left),
        (words::OPENED, Lean::Left),
        (words::BASIS, Lean::Left),
        (words::VALUE, Lean::Right),
        (words::UNCERTAINTY, Lean::Right),
        ("°C", Lean::Right),
        (words::SIGNAL, Lean::Right),
        (words::AS_FOUND, Lean::Right),
        (words::SETTLED, Lean::Left),
    ]);
    for point in points {
        let signal = match point.signal {
            Signal::PotentialNv(nv) => format!("{:.3} mV", f64::from(nv) / 1e6),
            Signal::Conductance(raw) => format!("{:.3} µS", raw.conductance_ps as f64 / 1e6),
            Signal::ThermometerMilliohm(milliohm) => format!("{:.3} Ω", f64::from(milliohm) / 1e3),
        };
        table.row([
            point.standard.to_string(),
            point.lot.to_string(),
            point.expiry_days.map_or_else(String::new, day),
            opened(point),
            point.basis.map_or_else(String::new, |basis| basis.name().to_owned()),
            value(point, point.value),
            number_of(point, point.value_uncertainty),
            format!("{:.2}", point.temperature_c),
            signal,
            point.as_found.map_or_else(String::new, |found| value(point, found)),
            if point.settling.settled { words::YES } else { words::NO }.to_owned(),
        ]);
    }
    let mut more = Table::pairs();
    for point in points {
        let mut standard = point.standard.as_str();
        let dissolved = point.dissolved.map(|Dissolved { water, vessel, days }| {
            record_words::dissolved(water, vessel, &day(days))
        });
        let certificate = Some(point.certificate.as_str()).filter(|number| !number.is_empty());
        let time_constant = point.settling.time_constant_s;
        // What does not show in the digits of the table is no difference to explain.
        let shifted =
            label(point).filter(|it| number_of(point, it.shift.abs()) != number_of(point, 0.0));
        let lines = [
            shifted.map(|it| {
                let (says, by) = (value(point, it.value), value(point, it.shift.abs()));
                let since = point.dissolved.map(|dissolved| dissolved.days).or(point.opened_days);
                let dissolved = point.dissolved.is_some();
                record_words::shifted(
                    &says,
                    &by,
                    it.shift < 0.0,
                    dissolved,
                    since.map(day).as_deref(),
                )
            }),
            dissolved,
            certificate.map(record_words::certificate),
            time_constant.map(record_words::time_constant),
        ];
        for line in lines.into_iter().flatten() {
            more.row([core::mem::take(&mut standard).to_owned(), line]);
        }
    }
    match more.is_empty() {
        true => table.text(),
        false => format!("{}\n{}", table.text(), more.text()),
    }
}

/// A value of a point in its unit.
fn value(point: &Point, value: f64) -> String {
    let number = number_of(point, value);
    match point.signal {
        Signal::PotentialNv(_) => number,
        Signal::Conductance(_) => format!("{number} µS/cm"),
        Signal::ThermometerMilliohm(_) => format!("{number} °C"),
    }
}

/// A value of the point's quantity without its unit.
fn number_of(point: &Point, value: f64) -> String {
    match point.signal {
        Signal::PotentialNv(_) | Signal::ThermometerMilliohm(_) => format!("{value:.3}"),
        Signal::Conductance(_) => format!("{value:.1}"),
    }
}

/// When the bottle was opened, and whether it is for one use.
fn opened(point: &Point) -> String {
    let day = point.opened_days.map(day);
    let single = point.single_use.then(|| words::SINGLE_USE.to_owned());
    day.into_iter().chain(single).collect::<Vec<_>>().join(", ")
}

/// A standard with lot and temperature, in few words.
pub(super) fn standard(point: &Point) -> String {
    let lot = match point.lot.as_str() {
        "" => String::new(),
        lot => format!(" ({lot})"),
    };
    format!("{}{lot} {:.1} °C", point.standard, point.temperature_c)
}

/// A point as JSON.
pub(in crate::command) fn point_json(point: &Point) -> Value {
    let (mut potential_mv, mut conductance_us, mut resistance_ohm) = (None, None, None);
    match point.signal {
        Signal::PotentialNv(nv) => potential_mv = Some(f64::from(nv) / 1e6),
        Signal::Conductance(raw) => conductance_us = Some(raw.conductance_ps as f64 / 1e6),
        Signal::ThermometerMilliohm(milliohm) => resistance_ohm = Some(f64::from(milliohm) / 1e3),
    }
    let label = label(point);
    json!({
        "standard": point.standard.as_str(),
        "lot": point.lot.as_str(),
        "expiry": point.expiry_days.map(day),
        "opened": point.opened_days.map(day),
        "single_use": point.single_use,
        "dissolved": point.dissolved.map(|Dissolved { water, vessel, days }| {
            json!({
                "water": match water {
                    Water::Deionised => "deionised",
                    Water::Boiled => "boiled",
                    Water::Tap => "tap",
                },
                "vessel": match vessel {
                    Vessel::Flask => "flask",
                    Vessel::Cylinder => "cylinder",
                    Vessel::ByEye => "by-eye",
                },
                "date": day(days),
            })
        }),
        "certificate": point.certificate.as_str(),
        "basis": point.basis.map(Basis::name),
        "value": point.value,
        "label": label.map(|label| label.value),
        "label_shift": label.map(|label| label.shift),
        "value_uncertainty": point.value_uncertainty,
        "value_per_kelvin": point.value_per_kelvin,
        "temperature_c": point.temperature_c,
        "potential_mv": potential_mv,
        "conductance_us": conductance_us,
        "resistance_ohm": resistance_ohm,
        "as_found": point.as_found,
        "settled": point.settling.settled,
        "drift_per_min": number(Some(point.settling.drift_per_min)),
        "scatter": number(Some(point.settling.scatter)),
        "waited_ms": point.settling.waited_ms,
        "time_constant_s": number(point.settling.time_constant_s),
    })
}
