//! Calibration records for people and machines.

use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::temperature::Thermometer;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;
use serde_json::{Value, json};

use super::super::output::Table;
use super::verification::independence_name;
use super::{day_of, drift, head_json, of, operator_row, overridden_rows, overrides_json, point};
use crate::session::time::utc_text;
use crate::words::en::verification as verification_words;
use crate::words::en::{fit as fit_words, probe as words, record as record_words};

/// What a record is of and what it arrived at, in few words.
pub(in crate::command) fn brief(record: &CalibrationRecord) -> String {
    format!("{}: {}", of(record.quantity(), record.calibrated()), result(&record.result))
}

/// What it arrived at.
pub(super) fn result(result: &CalibrationResult) -> String {
    match result {
        CalibrationResult::Ph(ph) => words::ph_result(
            ph.slope_fraction * 100.0,
            ph.slope_uncertainty() * 100.0,
            ph.offset_mv,
            ph.offset_uncertainty_mv(),
        ),
        CalibrationResult::Conductivity(cell) => {
            words::cell_result(cell.cell_constant_per_cm, cell.standard_uncertainty())
        }
        CalibrationResult::Temperature(thermometer) => {
            let kind = match thermometer.thermometer {
                Thermometer::Platinum { r0_ohm } => record_words::platinum(r0_ohm),
                Thermometer::Thermistor { r25_ohm, beta_k } => {
                    record_words::thermistor(r25_ohm, beta_k)
                }
                Thermometer::SteinhartHart { a, b, c } => record_words::steinhart_hart(a, b, c),
            };
            record_words::thermometer_result(
                &kind,
                (thermometer.offset_k, thermometer.variance_k2.sqrt()),
                thermometer.at_c,
                (thermometer.gain, thermometer.gain_variance.sqrt()),
            )
        }
    }
}

/// When the next one is due.
pub(super) fn due(record: &CalibrationRecord, now_ms: i64) -> String {
    match record.due_utc_ms {
        None => words::NOT_STATED.to_owned(),
        Some(due) if due < now_ms => words::overdue(&day_of(due)),
        Some(due) => day_of(due),
    }
}

/// What only a calibration has, as rows.
pub(super) fn rows(record: &CalibrationRecord, now_ms: i64, table: &mut Table) {
    table.row([words::DUE.to_owned(), due(record, now_ms)]);
    operator_row(&record.operator, table);
    let outcome = match record.outcome {
        Outcome::Adjusted => words::ADJUSTED,
        Outcome::LeftUnadjusted => words::LEFT_UNADJUSTED,
    };
    table.row([words::OUTCOME, outcome]);
    table.row([words::RESULT.to_owned(), result(&record.result)]);
    match &record.result {
        CalibrationResult::Ph(ph) => {
            let isopotential = ph.isopotential;
            let told = fit_words::isopotential(isopotential.ph, isopotential.standard_uncertainty);
            table.row([fit_words::ISOPOTENTIAL.to_owned(), told]);
        }
        CalibrationResult::Conductivity(cell) => {
            let series =
                fit_words::series(cell.series_ohm.value, cell.series_ohm.standard_uncertainty);
            table.row([fit_words::SERIES.to_owned(), series]);
            let zero = record_words::zero(cell.zero_us.value, cell.zero_us.standard_uncertainty);
            table.row([record_words::ZERO.to_owned(), zero]);
            let compensation = match cell.compensation {
                Compensation::Linear { per_kelvin } => record_words::linear(100.0 * per_kelvin),
                Compensation::NaturalWater { exponent } => record_words::natural_water(exponent),
            };
            table.row([record_words::REFERRED.to_owned(), compensation]);
        }
        CalibrationResult::Temperature(_) => {}
    }
    if let Some(left) = record_words::left_over(record.quantity(), record.points.len()) {
        table.row([fit_words::SCATTER, left]);
    }
    drift::rows(record, table);
    if let Some(previous) = record.previous {
        table.row([words::PREVIOUS.to_owned(), previous.to_string()]);
    }
    if let Some(as_left) = &record.as_left {
        table.row([words::AS_LEFT.to_owned(), words::as_left(as_left.expected, as_left.found)]);
        let standard = record_words::as_left_in(&as_left.standard, &as_left.lot);
        table.row([String::new(), standard]);
        table.row(["", verification_words::independence(as_left.independence)]);
    }
    overridden_rows(&record.overrides, table);
}

/// A calibration as JSON.
pub(in crate::command) fn calibration_json(record: &CalibrationRecord) -> Value {
    let result = match record.result {
        CalibrationResult::Ph(ph) => json!({
            "slope_percent": ph.slope_fraction * 100.0,
            "slope_mv_per_ph_25c":
                ph.slope_fraction * nernst::millivolts_per_ph(Celsius::new(25.0)),
            "offset_mv": ph.offset_mv,
            "calibrated_at_c": ph.at_c,
            "isopotential_ph": ph.isopotential.ph,
            "standard_uncertainty": {
                "slope_percent": ph.slope_uncertainty() * 100.0,
                "offset_mv": ph.offset_uncertainty_mv(),
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
                    "cell_constant_per_cm": cell.standard_uncertainty(),
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
                Thermometer::SteinhartHart { a, b, c } => {
                    json!({ "kind": "steinhart-hart", "a": a, "b": b, "c": c })
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
    let mut value = head_json("calibration", record.quantity(), record.board, &record.fitted);
    value["utc"] = json!(utc_text(record.utc_ms));
    value["due_utc"] = json!(record.due_utc_ms.and_then(utc_text));
    value["operator"] = json!(record.operator.as_str());
    value["outcome"] = json!(match record.outcome {
        Outcome::Adjusted => "adjusted",
        Outcome::LeftUnadjusted => "left-unadjusted",
    });
    value["result"] = result;
    value["previous"] = json!(record.previous.map(|short| short.to_string()));
    value["incident"] = json!(record.incident.map(drift::incident_name));
    value["stored_days"] = json!(record.stored_days);
    value["drift"] = drift::drift_json(&record.drift);
    value["as_left"] = json!(record.as_left.as_ref().map(|as_left| {
        json!({
            "standard": as_left.standard.as_str(),
            "lot": as_left.lot.as_str(),
            "independence": independence_name(as_left.independence),
            "expected": as_left.expected,
            "found": as_left.found,
        })
    }));
    value["points"] = record.points.iter().map(point::point_json).collect();
    value["overrides"] = overrides_json(&record.overrides);
    value
}
