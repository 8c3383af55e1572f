//! Records: canonical bytes, their identity, and what is no record.

mod arbitrary;
mod samples;

use proptest::prelude::*;
use rillmark_proto::calibration::conductivity::{ConductivityCalibration, Range};
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::calibration::temperature::{TemperatureCalibration, Thermometer};
use rillmark_proto::reading::RawConductance;
use rillmark_proto::record::Basis;
use rillmark_proto::record::codec::{
    DecodeError, EncodeError, RECORD_VERSION, decode, encode, identity,
};
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{
    CalibrationRecord, CalibrationResult, Dissolved, MAX_OVERRIDES, MAX_POINTS, MAX_RECORD_BYTES,
    Override, Quantity, Record, RecordKind, Signal, Vessel, Water,
};
use samples::{conductivity_record, ph_record, temperature_record, verification_record};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn records_come_back(record in arbitrary::record()) {
        let bytes = encode(&record).expect("every record fits");
        prop_assert_eq!(bytes[0], RECORD_VERSION);
        let back = decode(&bytes).expect("a record");
        prop_assert_eq!(&back, &record);
        prop_assert_eq!(encode(&back).expect("again"), bytes, "negative zeros included");
    }

    #[test]
    fn any_bytes_are_taken(bytes in proptest::collection::vec(any::<u8>(), 0..200)) {
        if let Ok(record) = decode(&bytes) {
            prop_assert_eq!(&encode(&record).expect("canonical")[..], &bytes[..]);
        }
    }

    /// One record has one string of bytes: a change of any byte is an error or another record.
    #[test]
    fn a_changed_byte_changes_the_record(at: prop::sample::Index, change in 1u8..) {
        let mut bytes = encode(&ph_record().into()).expect("fits");
        let at = at.index(bytes.len());
        bytes[at] ^= change;
        if let Ok(other) = decode(&bytes) {
            prop_assert_eq!(encode(&other).expect("canonical"), bytes);
        }
    }
}

/// Every field as long as it gets.
fn largest() -> CalibrationRecord {
    let mut record = ph_record();
    let serial = || Some(samples::text(&"s".repeat(16)));
    record.fitted.electrode = serial();
    record.fitted.cell = serial();
    record.fitted.thermometer = serial();
    record.utc_ms = i64::MIN;
    record.due_utc_ms = Some(i64::MIN);
    record.operator = samples::text(&"o".repeat(24));
    let mut point = record.points[0].clone();
    point.standard = samples::text(&"b".repeat(32));
    point.lot = samples::text(&"l".repeat(16));
    point.expiry_days = Some(i32::MIN);
    point.opened_days = Some(i32::MIN);
    point.dissolved = Some(Dissolved { water: Water::Tap, vessel: Vessel::ByEye, days: i32::MIN });
    point.certificate = samples::text(&"c".repeat(16));
    point.basis = Some(Basis::Label);
    point.signal =
        Signal::Conductance(RawConductance { conductance_ps: i64::MIN, range: Range::Ohm100k });
    point.settling.waited_ms = u32::MAX;
    record.points = core::iter::repeat_n(point, MAX_POINTS).collect();
    let overridden = Override { judgement: u16::MAX, reason: samples::text(&"r".repeat(48)) };
    record.overrides = core::iter::repeat_n(overridden, MAX_OVERRIDES).collect();
    record.stored_days = Some(u16::MAX);
    let drift = Drift { differences: u16::MAX, ..samples::drift() };
    record.drift = SensorDrift::Electrode { offset_mv: drift, slope: drift };
    let as_left = record.as_left.as_mut().expect("given");
    as_left.standard = samples::text(&"a".repeat(32));
    as_left.lot = samples::text(&"l".repeat(16));
    record
}

#[test]
fn the_largest_record_fits() {
    let bytes = encode(&largest().into()).expect("fits");
    assert_eq!(bytes.len(), 1362);
    const { assert!(1362 <= MAX_RECORD_BYTES) };
    assert_eq!(decode(&bytes), Ok(largest().into()));
}

#[test]
fn a_record_cut_anywhere_is_truncated() {
    for record in [Record::from(ph_record()), verification_record().into()] {
        let bytes = encode(&record).expect("fits");
        for len in 0..bytes.len() {
            assert_eq!(decode(&bytes[..len]), Err(DecodeError::Truncated), "{len} bytes");
        }
    }
}

#[test]
fn what_is_no_record_is_named() {
    let good = encode(&conductivity_record().into()).expect("fits");
    let changed = |at: usize, byte: u8| {
        let mut bytes = good.clone();
        bytes[at] = byte;
        decode(&bytes)
    };
    assert_eq!(changed(0, 0), Err(DecodeError::Malformed));
    assert_eq!(changed(0, 2), Err(DecodeError::NewerVersion { found: 2, newest: 1 }));
    // Byte 1 says of which kind it is.
    assert_eq!(changed(1, 2), Err(DecodeError::Malformed));
    // Byte 10 says whether an electrode is named.
    assert_eq!(changed(10, 2), Err(DecodeError::Malformed));
    // Byte 13 is the first letter of the cell's serial.
    assert_eq!(changed(13, 0xFF), Err(DecodeError::Malformed), "not UTF-8");

    let mut longer = good.clone();
    longer.extend_from_slice(&[0, 0]).expect("room");
    assert_eq!(decode(&longer), Err(DecodeError::Trailing { bytes: 2 }));

    // The last byte counts the overrides, none; the same in two bytes is not canonical.
    let mut padded = good.clone();
    padded.pop();
    padded.extend_from_slice(&[0x80, 0x00]).expect("room");
    assert_eq!(decode(&padded), Err(DecodeError::NotCanonical));

    // One override more than there may be.
    let mut full = encode(&largest().into()).expect("fits").to_vec();
    const OVERRIDE: usize = 3 + 1 + 48;
    let count = full.len() - MAX_OVERRIDES * OVERRIDE - 1;
    assert_eq!(usize::from(full[count]), MAX_OVERRIDES);
    full[count] += 1;
    full.extend_from_within(full.len() - OVERRIDE..);
    assert_eq!(decode(&full), Err(DecodeError::Malformed));
}

#[test]
fn numbers_must_be_finite() {
    let spoil: [fn(&mut CalibrationRecord, f64); 8] = [
        |record, bad| record.points[0].value = bad,
        |record, bad| record.points[0].value_uncertainty = bad,
        |record, bad| record.points[0].value_per_kelvin = bad,
        |record, bad| record.points[2].temperature_c = bad,
        |record, bad| record.points[1].as_found = Some(bad),
        |record, bad| record.points[1].settling.drift_per_min = bad as f32,
        |record, bad| record.points[1].settling.scatter = bad as f32,
        |record, bad| record.points[1].settling.time_constant_s = Some(bad as f32),
    ];
    let spoil_ph: [fn(&mut CalibrationRecord, f64); 15] = [
        |record, bad| slope_drift(record).rate_per_day = bad as f32,
        |record, bad| slope_drift(record).rate_uncertainty = bad as f32,
        |record, bad| slope_drift(record).walk_per_day = bad as f32,
        |record, bad| record.as_left.as_mut().expect("given").expected = bad,
        |record, bad| record.as_left.as_mut().expect("given").found = bad,
        |record, bad| ph(record).slope_fraction = bad,
        |record, bad| ph(record).offset_mv = bad,
        |record, bad| ph(record).at_c = bad,
        |record, bad| ph(record).isopotential.ph = bad,
        |record, bad| ph(record).isopotential.standard_uncertainty = bad,
        |record, bad| ph(record).shared.per_kelvin.slope = bad,
        |record, bad| ph(record).shared.per_isopotential.offset_mv = bad,
        |record, bad| ph(record).covariance.slope = bad,
        |record, bad| ph(record).covariance.offset_mv2 = bad,
        |record, bad| ph(record).covariance.slope_offset_mv = bad,
    ];
    for spoil in spoil.into_iter().chain(spoil_ph) {
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
            let mut record = ph_record();
            spoil(&mut record, bad);
            assert_eq!(encode(&record.into()), Err(EncodeError::NotFinite));
        }
    }
    let spoil_verification: [fn(&mut VerificationRecord, f64); 5] = [
        |record, bad| record.point.value = bad,
        |record, bad| record.found = bad,
        |record, bad| record.found_uncertainty = bad,
        |record, bad| record.limit.lower = bad,
        |record, bad| record.limit.upper = bad,
    ];
    for spoil in spoil_verification {
        let mut record = verification_record();
        spoil(&mut record, f64::NAN);
        assert_eq!(encode(&record.into()), Err(EncodeError::NotFinite));
    }
    // The cell constant's exponent filled with ones, in the bytes.
    let bytes = encode(&conductivity_record().into()).expect("fits");
    let constant = 1.0625f64.to_le_bytes();
    let at = bytes.windows(8).position(|window| window == constant).expect("there");
    for value in [f64::NAN, f64::INFINITY] {
        let mut spoilt = bytes.clone();
        spoilt[at..at + 8].copy_from_slice(&value.to_le_bytes());
        assert_eq!(decode(&spoilt), Err(DecodeError::NotFinite));
    }
}

#[test]
fn a_variance_below_zero_is_no_record() {
    let spoil: [fn(&mut CalibrationResult); 5] = [
        |result| {
            if let CalibrationResult::Ph(ph) = result {
                ph.covariance.slope = -1e-9;
            }
        },
        |result| {
            if let CalibrationResult::Ph(ph) = result {
                ph.covariance.offset_mv2 = -1e-9;
            }
        },
        |result| {
            if let CalibrationResult::Conductivity(cell) = result {
                cell.variance_per_cm2 = -1e-9;
            }
        },
        |result| {
            if let CalibrationResult::Temperature(thermometer) = result {
                thermometer.variance_k2 = -1e-9;
            }
        },
        |result| {
            if let CalibrationResult::Temperature(thermometer) = result {
                thermometer.gain_variance = -1e-9;
            }
        },
    ];
    let records = [ph_record(), conductivity_record(), temperature_record()];
    for spoil in spoil {
        let mut spoilt = records.clone();
        spoilt.iter_mut().for_each(|record| spoil(&mut record.result));
        let refused = spoilt.map(|it| encode(&it.into()) == Err(EncodeError::NotFinite));
        assert_eq!(refused.iter().filter(|refused| **refused).count(), 1);
    }
}

/// The bytes of a record, whatever it says.
fn forged(record: &Record) -> Vec<u8> {
    let mut body = [0; MAX_RECORD_BYTES];
    let body = postcard::to_slice(record, &mut body).expect("fits");
    [&[RECORD_VERSION], &body[..]].concat()
}

/// What is altered, and how.
type Case<T> = (&'static str, fn(&mut T));

/// What cannot be found by a calibration is no record: each of these gave a value, or an uncertainty far too
/// small, before it was refused.
#[test]
fn impossible_coefficients_are_no_record() {
    let ph_at: [Case<PhCalibration>; 9] = [
        ("slope 0", |ph| ph.slope_fraction = 0.0),
        ("slope -1", |ph| ph.slope_fraction = -1.0),
        ("slope 1e308", |ph| ph.slope_fraction = 1e308),
        ("offset", |ph| ph.offset_mv = 1e300),
        ("temperature", |ph| ph.at_c = 1e4),
        ("isopotential", |ph| ph.isopotential.ph = 1e9),
        ("its uncertainty", |ph| ph.isopotential.standard_uncertainty = -0.1),
        ("covariance", |ph| ph.covariance.slope_offset_mv = 0.1251),
        ("negative covariance", |ph| ph.covariance.slope_offset_mv = -0.1251),
    ];
    let cell_at: [Case<ConductivityCalibration>; 7] = [
        ("constant 0", |cell| cell.cell_constant_per_cm = 0.0),
        ("constant below 0", |cell| cell.cell_constant_per_cm = -1.0),
        ("constant 1e308", |cell| cell.cell_constant_per_cm = 1e308),
        ("series", |cell| cell.series_ohm.value = 1e308),
        ("zero", |cell| cell.zero_us.value = -1e9),
        ("factor", |cell| cell.range_factor[0] = Some(0.0)),
        ("covariance", |cell| cell.cell_series_ohm_per_cm = -1e3),
    ];
    let thermometer_at: [Case<TemperatureCalibration>; 5] = [
        ("R0", |it| it.thermometer = Thermometer::Platinum { r0_ohm: 0.0 }),
        ("beta", |it| {
            it.thermometer = Thermometer::Thermistor { r25_ohm: 1e4, beta_k: -3950.0 };
        }),
        ("offset", |it| it.offset_k = 1e3),
        ("gain", |it| it.gain = -1.0),
        ("covariance", |it| it.offset_gain_k = 1e3),
    ];
    let refused = |what: &str, result: CalibrationResult, of: CalibrationRecord| {
        assert!(decode(&forged(&of.clone().into())).is_ok(), "{what}");
        let record = Record::from(CalibrationRecord { result, ..of });
        assert_eq!(encode(&record), Err(EncodeError::Impossible), "{what}");
        assert_eq!(decode(&forged(&record)), Err(DecodeError::Impossible), "{what}");
    };
    for (what, spoil) in ph_at {
        let mut spoilt = samples::ph_calibration();
        spoil(&mut spoilt);
        refused(what, CalibrationResult::Ph(spoilt), ph_record());
    }
    for (what, spoil) in cell_at {
        let mut spoilt = samples::conductivity_calibration();
        spoil(&mut spoilt);
        refused(what, CalibrationResult::Conductivity(spoilt), conductivity_record());
    }
    for (what, spoil) in thermometer_at {
        let mut spoilt = samples::temperature_calibration();
        spoil(&mut spoilt);
        refused(what, CalibrationResult::Temperature(spoilt), temperature_record());
    }
}

fn ph(record: &mut CalibrationRecord) -> &mut PhCalibration {
    match &mut record.result {
        CalibrationResult::Ph(calibration) => calibration,
        _ => unreachable!("the sample is a pH calibration"),
    }
}

fn slope_drift(record: &mut CalibrationRecord) -> &mut Drift {
    match &mut record.drift {
        SensorDrift::Electrode { slope, .. } => slope,
        _ => unreachable!("the sample is a pH calibration"),
    }
}

/// A drift is of the kind of sensor that is calibrated: the same record with another's is none.
#[test]
fn a_drift_of_another_kind_of_sensor_is_refused() {
    let records = [ph_record(), conductivity_record(), temperature_record()];
    for (number, record) in records.iter().enumerate() {
        for (other, drift) in samples::drifts().into_iter().enumerate() {
            let bytes = encode(&CalibrationRecord { drift, ..record.clone() }.into());
            let decoded = bytes.map(|bytes| decode(&bytes).map(|_| ()));
            let expected = if other == number { Ok(()) } else { Err(DecodeError::Malformed) };
            assert_eq!(decoded, Ok(expected), "record {number} with drift {other}");
        }
    }
}

/// SHA-256 of "abc", FIPS 180-4 example (NIST "SHA256.pdf", computer security resource centre,
/// recalled, not checked) and of the empty message (the same source, recalled, not checked).
#[test]
fn identity_is_the_front_of_sha_256() {
    assert_eq!(identity(b"abc").to_string(), "ba7816bf8f01cfea414140de5dae2223");
    assert_eq!(identity(b"").to_string(), "e3b0c44298fc1c149afbf4c8996fb924");
    assert_eq!(identity(b"abc").short().to_string(), "ba7816bf");
}

#[test]
fn a_record_names_what_it_calibrates() {
    assert_eq!(ph_record().quantity(), Quantity::Ph);
    assert_eq!(ph_record().calibrated().map(|serial| serial.as_str()), Some("E-17"));
    assert_eq!(conductivity_record().quantity(), Quantity::Conductivity);
    assert_eq!(conductivity_record().calibrated().map(|serial| serial.as_str()), Some("K1"));
    assert_eq!(temperature_record().quantity(), Quantity::Temperature);
    assert_eq!(temperature_record().calibrated().map(|serial| serial.as_str()), Some("T-2"));
    let mut nameless = ph_record();
    nameless.fitted.electrode = None;
    assert_eq!(nameless.calibrated(), None);
}

#[test]
fn a_record_of_either_kind_says_what_it_is_of() {
    let calibration = Record::from(conductivity_record());
    assert_eq!(
        (calibration.kind(), calibration.quantity()),
        (RecordKind::Calibration, Quantity::Conductivity)
    );
    assert_eq!(calibration.of().map(|serial| serial.as_str()), Some("K1"));
    assert!(calibration.calibration().is_some() && calibration.verification().is_none());
    let verification = Record::from(verification_record());
    assert_eq!(
        (verification.kind(), verification.quantity()),
        (RecordKind::Verification, Quantity::Ph)
    );
    assert_eq!(verification.of().map(|serial| serial.as_str()), Some("E-17"));
    assert!(verification.calibration().is_none() && verification.verification().is_some());
    assert_eq!(verification.board(), samples::BOARD);
    assert_eq!(verification.utc_ms(), ph_record().utc_ms);
}

/// By hand: 7.4375 − 7.421875.
#[test]
fn a_verification_gives_its_difference() {
    let record = verification_record();
    assert_eq!(record.difference(), 0.015625);
}
