//! What a calibration record knows of its sensor's drift, for people and machines.

use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::record::{CalibrationRecord, Incident};
use serde_json::{Value, json};

use super::super::output::Table;
use super::super::reading_view::number;
use crate::words::en::record as words;

/// What happened since the record before, and how the sensor drifts.
pub(super) fn rows(record: &CalibrationRecord, table: &mut Table) {
    if record.incident.is_some() || record.stored_days.is_some() {
        let since = words::since(record.incident, record.stored_days);
        table.row([words::SINCE.to_owned(), since]);
    }
    let each: &[_] = match &record.drift {
        SensorDrift::Electrode { offset_mv, slope } => {
            &[(words::OFFSET, 1.0, "mV", offset_mv), (words::SLOPE, 100.0, "%", slope)]
        }
        SensorDrift::Cell { relative } => &[(words::CONSTANT, 100.0, "%", relative)],
        SensorDrift::Thermometer { offset_k } => &[(words::OFFSET, 1000.0, "mK", offset_k)],
    };
    for (number, (coefficient, factor, unit, drift)) in each.iter().enumerate() {
        let label = if number == 0 { words::DRIFT } else { "" };
        let (rate, u) = (f64::from(drift.rate_per_day), f64::from(drift.rate_uncertainty));
        let told = words::drift(
            coefficient,
            (factor * rate, factor * u),
            factor * f64::from(drift.walk_per_day).sqrt(),
            unit,
            drift.differences,
        );
        table.row([label.to_owned(), told]);
    }
}

fn of_one(drift: &Drift) -> Value {
    json!({
        "rate_per_day": number(Some(drift.rate_per_day)),
        "rate_standard_uncertainty": number(Some(drift.rate_uncertainty)),
        "walk_variance_per_day": number(Some(drift.walk_per_day)),
        "differences": drift.differences,
    })
}

/// The drift of each coefficient as JSON.
pub(super) fn drift_json(drift: &SensorDrift) -> Value {
    match drift {
        SensorDrift::Electrode { offset_mv, slope } => {
            json!({ "offset_mv": of_one(offset_mv), "slope_fraction": of_one(slope) })
        }
        SensorDrift::Cell { relative } => json!({ "cell_constant_relative": of_one(relative) }),
        SensorDrift::Thermometer { offset_k } => json!({ "offset_k": of_one(offset_k) }),
    }
}

/// The name of an incident in JSON.
pub(super) const fn incident_name(incident: Incident) -> &'static str {
    match incident {
        Incident::Cleaned => "cleaned",
        Incident::Refilled => "refilled",
        Incident::Dried => "dried",
        Incident::Knocked => "knocked",
    }
}
