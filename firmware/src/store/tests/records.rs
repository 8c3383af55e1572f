//! Invented records: nothing in them but whose they are, their time and one number matters.

use std::vec;

use super::super::*;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::identity::ShortId;
use rillmark_proto::record::fitted::{Fitted, Serial};
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Independence, Limit, VerificationRecord};
use rillmark_proto::record::{CalibrationRecord, Outcome};

use super::BOARD;

pub(super) fn serial(text: &str) -> Option<Serial> {
    Some(Serial::try_from(text).unwrap())
}

pub(super) fn equipment(electrode: &str) -> Equipment {
    let fitted = Fitted { electrode: serial(electrode), cell: serial("cell"), thermometer: None };
    Equipment { fitted, utc_ms: 1 }
}

pub(super) fn record(electrode: &str, utc_ms: i64, result: CalibrationResult) -> CalibrationRecord {
    CalibrationRecord {
        board: BOARD,
        fitted: equipment(electrode).fitted,
        utc_ms,
        due_utc_ms: None,
        operator: Default::default(),
        points: Default::default(),
        result,
        outcome: Outcome::Adjusted,
        incident: None,
        stored_days: None,
        drift: result.usual_drift(),
        previous: None,
        as_left: None,
        overrides: Default::default(),
    }
}

pub(super) fn ph(offset_mv: f64) -> CalibrationResult {
    let covariance = PhCovariance { slope: 0.0, offset_mv2: 0.0, slope_offset_mv: 0.0 };
    CalibrationResult::Ph(PhCalibration { covariance, ..PhCalibration::exact(0.99, offset_mv) })
}

pub(super) fn cell(cell_constant_per_cm: f64) -> CalibrationResult {
    CalibrationResult::Conductivity(ConductivityCalibration {
        variance_per_cm2: 0.0,
        ..ConductivityCalibration::exact(
            cell_constant_per_cm,
            Compensation::Linear { per_kelvin: 0.0191 },
        )
    })
}

pub(super) fn bytes(record: &CalibrationRecord) -> RecordBytes {
    codec::encode(&record.clone().into()).unwrap()
}

/// A verification of an electrode; nothing in it but its time matters.
pub(super) fn verification(electrode: &str, utc_ms: i64) -> RecordBytes {
    let record = VerificationRecord {
        board: BOARD,
        fitted: equipment(electrode).fitted,
        utc_ms,
        operator: Default::default(),
        calibration: ShortId([5; 4]),
        point: full_points()[0].clone(),
        found: 7.1,
        found_uncertainty: 0.02,
        limit: Limit {
            lower: -0.2,
            upper: 0.2,
            profile: Default::default(),
            source: "made up".try_into().unwrap(),
        },
        verdict: Verdict::Pass,
        independence: Independence::Independent,
        overrides: Default::default(),
    };
    codec::encode(&record.into()).unwrap()
}

pub(super) fn full_points() -> Vec<rillmark_proto::record::Point, 5> {
    use rillmark_proto::record::{Dissolved, Point, Settling, Signal, Vessel, Water};
    let settling = Settling {
        settled: true,
        drift_per_min: 0.0,
        scatter: 0.0,
        waited_ms: 0,
        time_constant_s: Some(20.0),
    };
    let point = Point {
        standard: "a standard with a very long name".try_into().unwrap(),
        lot: "sixteen letters!".try_into().unwrap(),
        expiry_days: Some(i32::MIN),
        opened_days: Some(i32::MIN),
        single_use: false,
        dissolved: Some(Dissolved { water: Water::Tap, vessel: Vessel::ByEye, days: i32::MIN }),
        certificate: "sixteen figures!".try_into().unwrap(),
        basis: None,
        value: 7.0,
        value_uncertainty: 0.1,
        value_per_kelvin: -0.003,
        temperature_c: 25.0,
        signal: Signal::PotentialNv(i32::MIN),
        as_found: Some(7.0),
        settling,
    };
    vec![point; 5].into_iter().collect()
}
