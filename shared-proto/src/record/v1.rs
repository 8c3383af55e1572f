//! Version 1 of the record: the postcard encoding of the record's types as they stand.
//!
//! When version 2 comes, the types of version 1 are copied into this file as they are now, `decode`
//! lifts them into the newest [`Record`], and `encode` goes. `RECORDS.md` says how.

use postcard::ser_flavors::Flavor;

use super::codec::{DecodeError, EncodeError};
use super::verification::{Limit, VerificationRecord};
use super::{AsLeft, CalibrationRecord, CalibrationResult, Point, Record, RecordBytes, possible};
use crate::calibration::conductivity::{Compensation, ConductivityCalibration, Estimate};
use crate::calibration::drift::{Drift, SensorDrift};
use crate::calibration::ph::{Isopotential, PhCalibration, PhCovariance, PhResponse, PhShared};
use crate::calibration::temperature::{TemperatureCalibration, Thermometer};

pub(super) const VERSION: u8 = 1;

pub(super) fn encode(record: &Record) -> Result<RecordBytes, EncodeError> {
    if !is_finite(record) {
        return Err(EncodeError::NotFinite);
    }
    if !is_possible(record) {
        return Err(EncodeError::Impossible);
    }
    let mut bytes = RecordBytes::new();
    bytes.push(VERSION).map_err(|_| EncodeError::TooLong)?;
    postcard::serialize_with_flavor(record, Filling(bytes)).map_err(|_| EncodeError::TooLong)
}

pub(super) fn decode(body: &[u8]) -> Result<Record, DecodeError> {
    let (record, rest) =
        postcard::take_from_bytes::<Record>(body).map_err(|error| match error {
            postcard::Error::DeserializeUnexpectedEnd => DecodeError::Truncated,
            _ => DecodeError::Malformed,
        })?;
    if !rest.is_empty() {
        return Err(DecodeError::Trailing { bytes: rest.len() });
    }
    if !is_finite(&record) {
        return Err(DecodeError::NotFinite);
    }
    if !is_possible(&record) {
        return Err(DecodeError::Impossible);
    }
    if record.calibration().is_some_and(|calibration| !drift_is_of_result(calibration)) {
        return Err(DecodeError::Malformed);
    }
    // A number may be padded with empty varint bytes; one record must have one identity.
    match postcard::serialize_with_flavor(&record, Comparing(body)) {
        Ok(true) => Ok(record),
        Ok(false) | Err(_) => Err(DecodeError::NotCanonical),
    }
}

fn is_possible(record: &Record) -> bool {
    record.calibration().is_none_or(|calibration| possible::is_possible(&calibration.result))
}

/// True when a calibration says the drift of the kind of sensor that it calibrates.
const fn drift_is_of_result(record: &CalibrationRecord) -> bool {
    matches!(
        (&record.drift, &record.result),
        (SensorDrift::Electrode { .. }, CalibrationResult::Ph(_))
            | (SensorDrift::Cell { .. }, CalibrationResult::Conductivity(_))
            | (SensorDrift::Thermometer { .. }, CalibrationResult::Temperature(_))
    )
}

/// True when no number in the record is infinite or NaN. The patterns are exhaustive, so that a
/// field added later is not forgotten here.
fn is_finite(record: &Record) -> bool {
    match record {
        Record::Calibration(calibration) => calibration_is_finite(calibration),
        Record::Verification(verification) => verification_is_finite(verification),
    }
}

fn verification_is_finite(record: &VerificationRecord) -> bool {
    let VerificationRecord {
        board: _,
        fitted: _,
        utc_ms: _,
        operator: _,
        calibration: _,
        point,
        found,
        found_uncertainty,
        limit: Limit { lower, upper, profile: _, source: _ },
        verdict: _,
        independence: _,
        overrides: _,
    } = record;
    finite(&[found, found_uncertainty, lower, upper]) && point_is_finite(point)
}

fn calibration_is_finite(record: &CalibrationRecord) -> bool {
    let CalibrationRecord {
        board: _,
        fitted: _,
        utc_ms: _,
        due_utc_ms: _,
        operator: _,
        points,
        result,
        outcome: _,
        incident: _,
        stored_days: _,
        drift,
        previous: _,
        as_left,
        overrides: _,
    } = record;
    let result = match result {
        CalibrationResult::Ph(PhCalibration {
            slope_fraction,
            offset_mv,
            at_c,
            isopotential: Isopotential { ph, standard_uncertainty },
            covariance: PhCovariance { slope, offset_mv2, slope_offset_mv },
            shared: PhShared { per_kelvin, per_gain, per_isopotential, thermometer_k },
        }) => {
            let responses = [per_kelvin, per_gain, per_isopotential];
            finite(&[slope_fraction, offset_mv, at_c, ph, standard_uncertainty])
                && finite(&[slope_offset_mv, thermometer_k])
                && are_variances(&[slope, offset_mv2])
                && responses
                    .iter()
                    .all(|PhResponse { slope, offset_mv }| finite(&[slope, offset_mv]))
        }
        CalibrationResult::Conductivity(ConductivityCalibration {
            cell_constant_per_cm,
            variance_per_cm2,
            series_ohm,
            cell_series_ohm_per_cm,
            zero_us,
            relative_per_kelvin,
            thermometer_k,
            relative_per_zero_us,
            range_factor,
            compensation,
        }) => {
            let (Compensation::Linear { per_kelvin: coefficient }
            | Compensation::NaturalWater { exponent: coefficient }) = compensation;
            let estimates = [series_ohm, zero_us];
            finite(&[cell_constant_per_cm, cell_series_ohm_per_cm])
                && are_variances(&[variance_per_cm2])
                && finite(&[relative_per_kelvin, thermometer_k, relative_per_zero_us, coefficient])
                && range_factor.iter().flatten().all(|factor| factor.is_finite())
                && estimates.iter().all(|Estimate { value, standard_uncertainty }| {
                    finite(&[value, standard_uncertainty])
                })
        }
        CalibrationResult::Temperature(TemperatureCalibration {
            thermometer,
            offset_k,
            gain,
            at_c,
            variance_k2,
            gain_variance,
            offset_gain_k,
        }) => {
            let thermometer = match thermometer {
                Thermometer::Platinum { r0_ohm } => finite(&[r0_ohm]),
                Thermometer::Thermistor { r25_ohm, beta_k } => finite(&[r25_ohm, beta_k]),
                Thermometer::SteinhartHart { a, b, c } => finite(&[a, b, c]),
            };
            thermometer
                && finite(&[offset_k, gain, at_c, offset_gain_k])
                && are_variances(&[variance_k2, gain_variance])
        }
    };
    let as_left = as_left.as_ref().is_none_or(
        |AsLeft { standard: _, lot: _, independence: _, expected, found }| {
            finite(&[expected, found])
        },
    );
    let drift = drift.each().all(
        |Drift { rate_per_day, rate_uncertainty, walk_per_day, differences: _ }| {
            let [deviation, variance] = [rate_uncertainty, walk_per_day].map(|it| f64::from(*it));
            rate_per_day.is_finite() && are_variances(&[&deviation, &variance])
        },
    );
    result && as_left && drift && points.iter().all(point_is_finite)
}

fn point_is_finite(point: &Point) -> bool {
    let Point {
        standard: _,
        lot: _,
        expiry_days: _,
        opened_days: _,
        single_use: _,
        dissolved: _,
        certificate: _,
        basis: _,
        value,
        value_uncertainty,
        value_per_kelvin,
        temperature_c,
        signal: _,
        as_found,
        settling,
    } = point;
    finite(&[value, value_uncertainty, value_per_kelvin, temperature_c])
        && as_found.is_none_or(f64::is_finite)
        && settling.drift_per_min.is_finite()
        && settling.scatter.is_finite()
        && settling.time_constant_s.is_none_or(f32::is_finite)
}

fn finite(numbers: &[&f64]) -> bool {
    numbers.iter().all(|number| number.is_finite())
}

/// A variance is not below zero, and neither is its root.
fn are_variances(numbers: &[&f64]) -> bool {
    finite(numbers) && numbers.iter().all(|number| **number >= 0.0)
}

/// Fills canonical bytes.
struct Filling(RecordBytes);

impl Flavor for Filling {
    type Output = RecordBytes;

    fn try_push(&mut self, data: u8) -> postcard::Result<()> {
        self.0.push(data).map_err(|_| postcard::Error::SerializeBufferFull)
    }

    fn finalize(self) -> postcard::Result<RecordBytes> {
        Ok(self.0)
    }
}

/// Compares what would be written with what was read; the output tells whether all of it came up.
struct Comparing<'a>(&'a [u8]);

impl Flavor for Comparing<'_> {
    type Output = bool;

    fn try_push(&mut self, data: u8) -> postcard::Result<()> {
        match self.0.split_first() {
            Some((first, rest)) if *first == data => {
                self.0 = rest;
                Ok(())
            }
            _ => Err(postcard::Error::DeserializeBadEncoding),
        }
    }

    fn finalize(self) -> postcard::Result<bool> {
        Ok(self.0.is_empty())
    }
}
