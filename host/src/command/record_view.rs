//! Calibration records for people and machines, the same in every command.

use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::temperature::Thermometer;
use rillmark_proto::identity::RecordId;
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{
    CalibrationRecord, CalibrationResult, Outcome, Point, Quantity, RecordBytes, Signal, codec,
};
use rillmark_proto::reference::conductivity_standards::Basis;
use rillmark_proto::reference::nernst;
use rillmark_proto::routine::judgement::Judgement;
use rillmark_proto::units::Celsius;
use serde_json::{Value, json};

use super::output::{Lean, Table};
use super::reading_view::number;
use crate::exit::Failure;
use crate::link::probe::Probe;
use crate::session::time::utc_text;
use crate::words::en::probe as words;

/// Milliseconds of a day.
const DAY_MS: f64 = 86_400_000.0;

/// A record that a probe keeps.
pub(super) struct Kept {
    pub(super) id: RecordId,
    pub(super) quantity: Quantity,
    pub(super) in_force: bool,
    pub(super) bytes: RecordBytes,
    /// An error when this release cannot read it.
    pub(super) record: Result<CalibrationRecord, codec::DecodeError>,
}

/// All records that the probe keeps.
pub(super) fn kept_records(probe: &mut Probe) -> Result<Vec<Kept>, Failure> {
    let mut kept = Vec::new();
    for listed in probe.records()? {
        let bytes = probe.record(listed.id)?;
        let record = codec::decode(&bytes);
        kept.push(Kept {
            id: listed.id,
            quantity: listed.quantity,
            in_force: listed.in_force,
            bytes,
            record,
        });
    }
    Ok(kept)
}

/// UTC for people, to the second.
pub(super) fn utc(utc_ms: i64) -> String {
    utc_text(utc_ms).map_or_else(
        || words::NO_TIME.to_owned(),
        |text| format!("{} UTC", text[..19].replace('T', " ")),
    )
}

/// What is fitted, as JSON.
pub(super) fn equipment_json(equipment: Option<&Equipment>) -> Value {
    equipment.map_or(Value::Null, |equipment| {
        json!({
            "electrode": equipment.fitted.electrode.as_ref().map(|serial| serial.as_str()),
            "cell": equipment.fitted.cell.as_ref().map(|serial| serial.as_str()),
            "thermometer": equipment.fitted.thermometer.as_ref().map(|serial| serial.as_str()),
            "utc": utc_text(equipment.utc_ms),
        })
    })
}

impl Kept {
    /// The whole record as JSON.
    pub(super) fn json(&self) -> Value {
        let mut value = match &self.record {
            Ok(record) => record_json(record),
            Err(error) => json!({ "unreadable": error.to_string() }),
        };
        value["id"] = json!(self.id.to_string());
        value["short"] = json!(self.id.short().to_string());
        value["in_force"] = json!(self.in_force);
        value
    }

    /// One line a record.
    pub(super) fn table(kept: &[Self], now_ms: i64) -> String {
        let mut table = Table::new(&[
            (words::RECORD, Lean::Left),
            (words::OF, Lean::Left),
            (words::RESULT, Lean::Left),
            (words::STANDARDS, Lean::Left),
            (words::AGE, Lean::Right),
            (words::DUE, Lean::Left),
            (words::IN_FORCE_COLUMN, Lean::Left),
        ]);
        for kept in kept {
            let short = kept.id.short().to_string();
            let in_force = if kept.in_force { words::YES } else { words::NO };
            match &kept.record {
                Ok(record) => table.row([
                    short,
                    of(record),
                    result(&record.result),
                    record.points.iter().map(standard).collect::<Vec<_>>().join(", "),
                    age(record, now_ms),
                    due(record, now_ms),
                    in_force.to_owned(),
                ]),
                Err(error) => table.row([short, String::new(), error.to_string()]),
            }
        }
        table.text()
    }

    /// Everything of one record.
    pub(super) fn whole(&self, now_ms: i64) -> String {
        let mut table = Table::pairs();
        table.row([words::RECORD.to_owned(), self.id.to_string()]);
        table.row([words::IN_FORCE_COLUMN, if self.in_force { words::YES } else { words::NO }]);
        let record = match &self.record {
            Ok(record) => record,
            Err(error) => {
                table.row([words::UNREADABLE.to_owned(), error.to_string()]);
                return table.text();
            }
        };
        table.row([words::OF.to_owned(), of(record)]);
        table.row([words::BOARD.to_owned(), record.board.to_string()]);
        table.row([words::DONE_AT.to_owned(), utc(record.utc_ms)]);
        table.row([words::AGE.to_owned(), age(record, now_ms)]);
        table.row([words::DUE.to_owned(), due(record, now_ms)]);
        if !record.operator.is_empty() {
            table.row([words::OPERATOR, record.operator.as_str()]);
        }
        let outcome = match record.outcome {
            Outcome::Adjusted => words::ADJUSTED,
            Outcome::LeftUnadjusted => words::LEFT_UNADJUSTED,
        };
        table.row([words::OUTCOME, outcome]);
        table.row([words::RESULT.to_owned(), result(&record.result)]);
        if let Some(previous) = record.previous {
            table.row([words::PREVIOUS.to_owned(), previous.to_string()]);
        }
        if let Some(as_left) = record.as_left {
            table.row([words::AS_LEFT.to_owned(), words::as_left(as_left.expected, as_left.found)]);
        }
        for each in &record.overrides {
            let text = format!("{}: {}", overridden(each.judgement), each.reason);
            table.row([words::OVERRIDE.to_owned(), text]);
        }
        format!("{}\n{}", table.text(), points(&record.points))
    }
}

/// What was overridden; a judgement of a later release has only its number.
fn overridden(number: u16) -> String {
    Judgement::code_of(number).map_or_else(|| number.to_string(), str::to_owned)
}

fn points(points: &[Point]) -> String {
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
    table.text()
}

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

/// A day counted from 1970-01-01 as a date.
fn day(days: i32) -> String {
    utc_text(i64::from(days) * 86_400_000)
        .map_or_else(|| words::NO_TIME.to_owned(), |text| text[..10].to_owned())
}

fn standard(point: &Point) -> String {
    let lot = match point.lot.as_str() {
        "" => String::new(),
        lot => format!(" ({lot})"),
    };
    format!("{}{lot} {:.1} °C", point.standard, point.temperature_c)
}

fn of(record: &CalibrationRecord) -> String {
    let serial = record.calibrated().map_or(words::UNNAMED, |serial| serial);
    match record.result {
        CalibrationResult::Ph(_) => format!("{} {serial}", words::ELECTRODE),
        CalibrationResult::Conductivity(_) => format!("{} {serial}", words::CELL),
        CalibrationResult::Temperature(_) => format!("{} {serial}", words::THERMOMETER),
    }
}

/// What a record is of and what it arrived at, in few words.
pub(super) fn brief(record: &CalibrationRecord) -> String {
    format!("{}: {}", of(record), result(&record.result))
}

fn result(result: &CalibrationResult) -> String {
    match result {
        CalibrationResult::Ph(ph) => words::ph_result(
            ph.slope_fraction * 100.0,
            ph.covariance.slope.sqrt() * 100.0,
            ph.offset_mv,
            ph.covariance.offset_mv2.sqrt(),
        ),
        CalibrationResult::Conductivity(cell) => {
            words::cell_result(cell.cell_constant_per_cm, cell.variance_per_cm2.sqrt())
        }
        CalibrationResult::Temperature(thermometer) => {
            words::thermometer_result(thermometer.offset_k, thermometer.variance_k2.sqrt())
        }
    }
}

fn age_days(record: &CalibrationRecord, now_ms: i64) -> f64 {
    // A calendar's milliseconds fit f64's 53 bits.
    now_ms.saturating_sub(record.utc_ms) as f64 / DAY_MS
}

fn age(record: &CalibrationRecord, now_ms: i64) -> String {
    words::days(age_days(record, now_ms))
}

fn due(record: &CalibrationRecord, now_ms: i64) -> String {
    match record.due_utc_ms {
        None => words::NOT_STATED.to_owned(),
        Some(due) if due < now_ms => words::overdue(&day_of(due)),
        Some(due) => day_of(due),
    }
}

fn day_of(utc_ms: i64) -> String {
    utc_text(utc_ms).map_or_else(|| words::NO_TIME.to_owned(), |text| text[..10].to_owned())
}

/// A record as JSON.
pub(super) fn record_json(record: &CalibrationRecord) -> Value {
    let result = match record.result {
        CalibrationResult::Ph(ph) => json!({
            "slope_percent": ph.slope_fraction * 100.0,
            "slope_mv_per_ph_25c":
                ph.slope_fraction * nernst::millivolts_per_ph(Celsius::new(25.0)),
            "offset_mv": ph.offset_mv,
            "calibrated_at_c": ph.at_c,
            "isopotential_ph": ph.isopotential.ph,
            "standard_uncertainty": {
                "slope_percent": ph.covariance.slope.sqrt() * 100.0,
                "offset_mv": ph.covariance.offset_mv2.sqrt(),
                "isopotential_ph": ph.isopotential.standard_uncertainty,
            },
            "covariance_slope_percent_offset_mv": ph.covariance.slope_offset_mv * 100.0,
        }),
        CalibrationResult::Conductivity(cell) => {
            json!({
                "cell_constant_per_cm": cell.cell_constant_per_cm,
                "series_ohm": cell.series_ohm.value,
                "zero_us": cell.zero_us.value,
                "range_factor": cell.range_factor,
                "standard_uncertainty": {
                    "cell_constant_per_cm": cell.variance_per_cm2.sqrt(),
                    "series_ohm": cell.series_ohm.standard_uncertainty,
                    "zero_us": cell.zero_us.standard_uncertainty,
                },
                "compensation": match cell.compensation {
                    Compensation::Linear { per_kelvin } => {
                        json!({ "method": "linear", "percent_per_kelvin": per_kelvin * 100.0 })
                    }
                    Compensation::NaturalWater { exponent } => {
                        json!({ "method": "natural-water", "exponent": exponent })
                    }
                },
            })
        }
        CalibrationResult::Temperature(thermometer) => json!({
            "thermometer": match thermometer.thermometer {
                Thermometer::Platinum { r0_ohm } => json!({ "kind": "platinum", "r0_ohm": r0_ohm }),
                Thermometer::Thermistor { r25_ohm, beta_k } => {
                    json!({ "kind": "thermistor", "r25_ohm": r25_ohm, "beta_k": beta_k })
                }
            },
            "offset_k": thermometer.offset_k,
            "gain": thermometer.gain,
            "calibrated_at_c": thermometer.at_c,
            "standard_uncertainty": {
                "offset_k": thermometer.variance_k2.sqrt(),
                "gain": thermometer.gain_variance.sqrt(),
            },
        }),
    };
    json!({
        "quantity": match record.result {
            CalibrationResult::Ph(_) => "ph",
            CalibrationResult::Conductivity(_) => "conductivity",
            CalibrationResult::Temperature(_) => "temperature",
        },
        "board": record.board.to_string(),
        "fitted": {
            "electrode": record.fitted.electrode.as_ref().map(|serial| serial.as_str()),
            "cell": record.fitted.cell.as_ref().map(|serial| serial.as_str()),
            "thermometer": record.fitted.thermometer.as_ref().map(|serial| serial.as_str()),
        },
        "utc": utc_text(record.utc_ms),
        "due_utc": record.due_utc_ms.and_then(utc_text),
        "operator": record.operator.as_str(),
        "outcome": match record.outcome {
            Outcome::Adjusted => "adjusted",
            Outcome::LeftUnadjusted => "left-unadjusted",
        },
        "result": result,
        "previous": record.previous.map(|short| short.to_string()),
        "as_left": record.as_left.map(|as_left| {
            json!({ "expected": as_left.expected, "found": as_left.found })
        }),
        "points": record.points.iter().map(point_json).collect::<Vec<_>>(),
        "overrides": record.overrides.iter().map(|each| {
            json!({
                "judgement": each.judgement,
                "code": Judgement::code_of(each.judgement),
                "reason": each.reason.as_str(),
            })
        }).collect::<Vec<_>>(),
    })
}

/// A point as JSON.
pub(super) fn point_json(point: &Point) -> Value {
    let (mut potential_mv, mut conductance_us, mut resistance_ohm) = (None, None, None);
    match point.signal {
        Signal::PotentialNv(nv) => potential_mv = Some(f64::from(nv) / 1e6),
        Signal::Conductance(raw) => conductance_us = Some(raw.conductance_ps as f64 / 1e6),
        Signal::ThermometerMilliohm(milliohm) => resistance_ohm = Some(f64::from(milliohm) / 1e3),
    }
    json!({
        "standard": point.standard.as_str(),
        "lot": point.lot.as_str(),
        "expiry": point.expiry_days.map(day),
        "opened": point.opened_days.map(day),
        "single_use": point.single_use,
        "basis": point.basis.map(Basis::name),
        "value": point.value,
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
    })
}

#[cfg(test)]
#[path = "record_view_tests.rs"]
mod tests;
