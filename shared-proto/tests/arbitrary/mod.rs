//! Any value of the types on the wire and in records.
#![allow(dead_code)] // each test file uses its own part

use proptest::array::{uniform3, uniform4};
use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use rillmark_proto::calibration::TEMPERATURE_RANGE;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration, Estimate};
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::calibration::ph::{
    Isopotential, PH_RANGE, PhCalibration, PhCovariance, PhResponse, PhShared,
};
use rillmark_proto::calibration::temperature::{TemperatureCalibration, Thermometer};
use rillmark_proto::identity::{BoardId, RecordId, ShortId};
use rillmark_proto::reading::{
    CalibrationsUsed, Computed, Flags, ProbeTime, Range, Raw, RawConductance, Reading,
};
use rillmark_proto::record::Basis;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Independence, Limit, VerificationRecord};
use rillmark_proto::record::{
    AsLeft, CalibrationRecord, CalibrationResult, Dissolved, Incident, MAX_OVERRIDES, MAX_POINTS,
    MAX_RECORD_BYTES, Outcome, Override, Point, Quantity, Record, RecordBytes, RecordKind,
    Settling, Signal, Vessel, Water, possible,
};
use rillmark_proto::reference::{rtd, thermistor};
use rillmark_proto::wire::message::{
    Answer, Command, Done, FromProbe, Listed, MAX_LISTED, Order, Refusal, STORE_PIECE_BYTES,
    Sampling, StorePiece,
};

fn finite() -> impl Strategy<Value = f64> {
    use proptest::num::f64::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO
}

/// A number of this range, both ends included.
fn of((least, most): (f64, f64)) -> impl Strategy<Value = f64> {
    least..=most
}

/// A standard uncertainty, which is not below zero.
fn uncertainty() -> impl Strategy<Value = f64> {
    finite().prop_map(f64::abs)
}

/// Two variances and a covariance that they allow.
fn matrix() -> impl Strategy<Value = [f64; 3]> {
    (of((0.0, 1e100)), of((0.0, 1e100)), of((-1.0, 1.0)))
        .prop_map(|(one, other, correlation)| [one, other, correlation * one.sqrt() * other.sqrt()])
}

fn finite_f32() -> impl Strategy<Value = f32> {
    use proptest::num::f32::{NEGATIVE, NORMAL, POSITIVE, SUBNORMAL, ZERO};
    POSITIVE | NEGATIVE | NORMAL | SUBNORMAL | ZERO
}

fn text<const N: usize>() -> impl Strategy<Value = heapless::String<N>> {
    vec(any::<char>(), 0..=N).prop_map(|letters| {
        let mut text = heapless::String::new();
        // As much as fits.
        let _ = letters.into_iter().try_for_each(|letter| text.push(letter));
        text
    })
}

fn list<T: core::fmt::Debug + Clone, const N: usize>(
    item: impl Strategy<Value = T>,
) -> impl Strategy<Value = heapless::Vec<T, N>> {
    vec(item, 0..=N).prop_map(|items| items.into_iter().collect())
}

fn board() -> impl Strategy<Value = BoardId> {
    any::<[u8; 8]>().prop_map(BoardId)
}

fn record_id() -> impl Strategy<Value = RecordId> {
    any::<[u8; 16]>().prop_map(RecordId)
}

fn short_id() -> impl Strategy<Value = ShortId> {
    any::<[u8; 4]>().prop_map(ShortId)
}

fn record_bytes() -> impl Strategy<Value = RecordBytes> {
    vec(any::<u8>(), 0..=MAX_RECORD_BYTES)
        .prop_map(|bytes| RecordBytes::from_slice(&bytes).expect("fits"))
}

fn fitted() -> impl Strategy<Value = Fitted> {
    (option::of(text()), option::of(text()), option::of(text()))
        .prop_map(|(electrode, cell, thermometer)| Fitted { electrode, cell, thermometer })
}

fn equipment() -> impl Strategy<Value = Equipment> {
    (fitted(), any::<i64>()).prop_map(|(fitted, utc_ms)| Equipment { fitted, utc_ms })
}

fn order() -> impl Strategy<Value = Order> {
    prop_oneof![
        Just(Order::Sample(Sampling::Off)),
        Just(Order::Sample(Sampling::Ph)),
        Just(Order::Sample(Sampling::Conductivity)),
        any::<u32>().prop_map(|interval_ms| Order::Sample(Sampling::Full { interval_ms })),
        equipment().prop_map(Order::Equip),
        Just(Order::TellEquipment),
        record_bytes().prop_map(Order::Keep),
        Just(Order::ListRecords),
        record_id().prop_map(Order::TellRecord),
        any::<i64>().prop_map(|utc_ms| Order::SetClock { utc_ms }),
        Just(Order::TellClock),
        any::<u32>().prop_map(|offset| Order::TellStore { offset }),
        record_bytes().prop_map(Order::KeepEarlier),
    ]
}

pub(crate) fn command() -> impl Strategy<Value = Command> {
    (any::<u32>(), order()).prop_map(|(id, order)| Command { id, order })
}

fn quantity() -> impl Strategy<Value = Quantity> {
    prop_oneof![Just(Quantity::Ph), Just(Quantity::Conductivity), Just(Quantity::Temperature),]
}

fn listed() -> impl Strategy<Value = Listed> {
    let kind = prop_oneof![Just(RecordKind::Calibration), Just(RecordKind::Verification)];
    (record_id(), kind, quantity(), any::<bool>(), any::<bool>()).prop_map(
        |(id, kind, quantity, in_force, whole)| Listed { id, kind, quantity, in_force, whole },
    )
}

fn done() -> impl Strategy<Value = Done> {
    prop_oneof![
        Just(Done::Plain),
        option::of(equipment()).prop_map(Done::Equipment),
        record_id().prop_map(Done::Kept),
        list::<_, MAX_LISTED>(listed()).prop_map(Done::Records),
        record_bytes().prop_map(Done::Record),
        option::of(any::<i64>()).prop_map(Done::Clock),
        (any::<u32>(), list::<_, STORE_PIECE_BYTES>(any::<u8>()))
            .prop_map(|(size, bytes)| Done::Store(StorePiece { size, bytes })),
    ]
}

fn refusal() -> impl Strategy<Value = Refusal> {
    prop_oneof![
        Just(Refusal::UnknownOrder),
        Just(Refusal::RecordUnreadable),
        any::<(u8, u8)>().prop_map(|(found, newest)| Refusal::RecordVersion { found, newest }),
        board().prop_map(|made_for| Refusal::OtherBoard { made_for }),
        Just(Refusal::NotFitted),
        short_id().prop_map(|short| Refusal::ShortIdTaken { short }),
        record_id().prop_map(|id| Refusal::NoSuchRecord { id }),
        any::<u32>().prop_map(|needed| Refusal::StoreFull { needed }),
        Just(Refusal::StoreCorrupt),
        Just(Refusal::StoreFault),
        Just(Refusal::ClockSilent),
        Just(Refusal::ClockRange),
        record_id().prop_map(|id| Refusal::RecordDamaged { id }),
    ]
}

fn range() -> impl Strategy<Value = Range> {
    prop_oneof![Just(Range::Ohm1k), Just(Range::Ohm10k), Just(Range::Ohm100k)]
}

fn raw() -> impl Strategy<Value = Raw> {
    (any::<Option<i32>>(), option::of(raw_conductance()), any::<Option<u32>>()).prop_map(
        |(potential_nv, conductance, thermometer_milliohm)| Raw {
            potential_nv,
            conductance,
            thermometer_milliohm,
        },
    )
}

fn computed() -> impl Strategy<Value = Computed> {
    let value = || option::of(finite_f32());
    (value(), value(), value(), value()).prop_map(
        |(temperature_c, ph, conductivity_us_cm, specific_conductance_us_cm)| Computed {
            temperature_c,
            ph,
            conductivity_us_cm,
            specific_conductance_us_cm,
        },
    )
}

pub(crate) fn reading() -> impl Strategy<Value = Reading> {
    let time = (any::<u32>(), any::<u64>()).prop_map(|(boot, ms)| ProbeTime { boot, ms });
    let calibrations =
        (option::of(short_id()), option::of(short_id()), option::of(short_id())).prop_map(
            |(ph, conductivity, temperature)| CalibrationsUsed { ph, conductivity, temperature },
        );
    (any::<u32>(), time, raw(), any::<u32>(), computed(), calibrations).prop_map(
        |(running, time, raw, flags, computed, calibrations)| Reading {
            running,
            time,
            raw,
            flags: Flags(flags),
            computed,
            calibrations,
        },
    )
}

pub(crate) fn from_probe() -> impl Strategy<Value = FromProbe> {
    let outcome = prop_oneof![done().prop_map(Ok), refusal().prop_map(Err)];
    prop_oneof![
        (any::<u32>(), outcome).prop_map(|(id, outcome)| FromProbe::Answer(Answer { id, outcome })),
        reading().prop_map(FromProbe::Reading),
    ]
}

fn settling() -> impl Strategy<Value = Settling> {
    let numbers = (finite_f32(), finite_f32(), any::<u32>(), option::of(finite_f32()));
    (any::<bool>(), numbers).prop_map(
        |(settled, (drift_per_min, scatter, waited_ms, time_constant_s))| Settling {
            settled,
            drift_per_min,
            scatter,
            waited_ms,
            time_constant_s,
        },
    )
}

fn raw_conductance() -> impl Strategy<Value = RawConductance> {
    (any::<i64>(), range())
        .prop_map(|(conductance_ps, range)| RawConductance { conductance_ps, range })
}

fn basis() -> impl Strategy<Value = Basis> {
    prop_oneof![
        Just(Basis::Molality),
        Just(Basis::Molarity),
        Just(Basis::MassFraction),
        Just(Basis::Label),
    ]
}

fn dissolved() -> impl Strategy<Value = Dissolved> {
    let water = prop_oneof![Just(Water::Deionised), Just(Water::Boiled), Just(Water::Tap)];
    let vessel = prop_oneof![Just(Vessel::Flask), Just(Vessel::Cylinder), Just(Vessel::ByEye)];
    (water, vessel, any::<i32>()).prop_map(|(water, vessel, days)| Dissolved {
        water,
        vessel,
        days,
    })
}

fn drift() -> impl Strategy<Value = Drift> {
    (uniform3(finite_f32()), any::<u16>()).prop_map(|(numbers, differences)| {
        let [rate_per_day, rate_uncertainty, walk_per_day] = numbers;
        // No variance is below zero.
        let (rate_uncertainty, walk_per_day) = (rate_uncertainty.abs(), walk_per_day.abs());
        Drift { rate_per_day, rate_uncertainty, walk_per_day, differences }
    })
}

fn incident() -> impl Strategy<Value = Incident> {
    prop_oneof![
        Just(Incident::Cleaned),
        Just(Incident::Refilled),
        Just(Incident::Dried),
        Just(Incident::Knocked),
    ]
}

fn independence() -> impl Strategy<Value = Independence> {
    prop_oneof![
        Just(Independence::Independent),
        Just(Independence::SameLot),
        Just(Independence::LotUnknown),
    ]
}

fn point() -> impl Strategy<Value = Point> {
    let signal = prop_oneof![
        any::<i32>().prop_map(Signal::PotentialNv),
        raw_conductance().prop_map(Signal::Conductance),
        any::<u32>().prop_map(Signal::ThermometerMilliohm),
    ];
    let dates = (any::<Option<i32>>(), any::<Option<i32>>());
    let bottle = (text(), text(), dates, any::<bool>(), option::of(dissolved()), text());
    (bottle, option::of(basis()), uniform4(finite()), signal, option::of(finite()), settling())
        .prop_map(|(bottle, basis, numbers, signal, as_found, settling)| {
            let (standard, lot, dates, single_use, dissolved, certificate) = bottle;
            let (expiry_days, opened_days) = dates;
            let [value, value_uncertainty, value_per_kelvin, temperature_c] = numbers;
            Point {
                standard,
                lot,
                expiry_days,
                opened_days,
                single_use,
                dissolved,
                certificate,
                basis,
                value,
                value_uncertainty,
                value_per_kelvin,
                temperature_c,
                signal,
                as_found,
                settling,
            }
        })
}

fn ph() -> impl Strategy<Value = PhCalibration> {
    let response =
        || (finite(), finite()).prop_map(|(slope, offset_mv)| PhResponse { slope, offset_mv });
    let line = (of(possible::SLOPE_FRACTION), of(possible::OFFSET_MV), of(TEMPERATURE_RANGE));
    let isopotential = (of(PH_RANGE), uncertainty())
        .prop_map(|(ph, standard_uncertainty)| Isopotential { ph, standard_uncertainty });
    let shared = (response(), response(), response(), uncertainty());
    (line, isopotential, matrix(), shared).prop_map(|(line, isopotential, matrix, shared)| {
        let (slope_fraction, offset_mv, at_c) = line;
        let [slope, offset_mv2, slope_offset_mv] = matrix;
        let (per_kelvin, per_gain, per_isopotential, thermometer_k) = shared;
        PhCalibration {
            slope_fraction,
            offset_mv,
            at_c,
            isopotential,
            covariance: PhCovariance { slope, offset_mv2, slope_offset_mv },
            shared: PhShared { per_kelvin, per_gain, per_isopotential, thermometer_k },
        }
    })
}

fn conductivity() -> impl Strategy<Value = ConductivityCalibration> {
    let constant = of(possible::CELL_CONSTANT_PER_CM);
    let ohms = of(possible::SERIES_OHM);
    let zero = (of(possible::ZERO_US), uncertainty())
        .prop_map(|(value, standard_uncertainty)| Estimate { value, standard_uncertainty });
    let factors = uniform3(option::of(of(possible::RANGE_FACTOR)));
    let others = (uniform3(finite()), uncertainty(), any::<bool>());
    (constant, matrix(), ohms, zero, factors, others).prop_map(
        |(cell_constant_per_cm, matrix, value, zero_us, range_factor, others)| {
            let [variance_per_cm2, series, cell_series_ohm_per_cm] = matrix;
            let ([relative_per_kelvin, relative_per_zero_us, coefficient], thermometer_k, natural) =
                others;
            ConductivityCalibration {
                cell_constant_per_cm,
                variance_per_cm2,
                series_ohm: Estimate { value, standard_uncertainty: series.sqrt() },
                cell_series_ohm_per_cm,
                zero_us,
                relative_per_kelvin,
                thermometer_k,
                relative_per_zero_us,
                range_factor,
                compensation: if natural {
                    Compensation::NaturalWater { exponent: coefficient }
                } else {
                    Compensation::Linear { per_kelvin: coefficient }
                },
            }
        },
    )
}

fn temperature() -> impl Strategy<Value = TemperatureCalibration> {
    let [a, b, c] = thermistor::STEINHART_HART_RANGES;
    let thermometer = prop_oneof![
        of(rtd::R0_RANGE).prop_map(|r0_ohm| Thermometer::Platinum { r0_ohm }),
        (of(thermistor::R25_RANGE), of(thermistor::BETA_RANGE))
            .prop_map(|(r25_ohm, beta_k)| Thermometer::Thermistor { r25_ohm, beta_k }),
        (of(a), of(b), of(c)).prop_map(|(a, b, c)| Thermometer::SteinhartHart { a, b, c }),
    ];
    let correction =
        (of(possible::THERMOMETER_OFFSET_K), of(possible::THERMOMETER_GAIN), of(TEMPERATURE_RANGE));
    (thermometer, correction, matrix()).prop_map(|(thermometer, correction, matrix)| {
        let (offset_k, gain, at_c) = correction;
        let [variance_k2, gain_variance, offset_gain_k] = matrix;
        TemperatureCalibration {
            thermometer,
            offset_k,
            gain,
            at_c,
            variance_k2,
            gain_variance,
            offset_gain_k,
        }
    })
}

fn result() -> impl Strategy<Value = CalibrationResult> {
    prop_oneof![
        ph().prop_map(CalibrationResult::Ph),
        conductivity().prop_map(CalibrationResult::Conductivity),
        temperature().prop_map(CalibrationResult::Temperature),
    ]
}

fn overrides() -> impl Strategy<Value = heapless::Vec<Override, MAX_OVERRIDES>> {
    list((any::<u16>(), text()).prop_map(|(judgement, reason)| Override { judgement, reason }))
}

pub(crate) fn record() -> impl Strategy<Value = Record> {
    prop_oneof![
        calibration().prop_map(Record::Calibration),
        verification().prop_map(Record::Verification),
    ]
}

fn verification() -> impl Strategy<Value = VerificationRecord> {
    let head = (board(), fitted(), any::<i64>(), text(), short_id());
    let limit = (text(), text());
    let verdict = prop_oneof![Just(Verdict::Pass), Just(Verdict::Fail), Just(Verdict::CannotTell)];
    (head, point(), uniform4(finite()), limit, verdict, independence(), overrides()).prop_map(
        |(head, point, numbers, (profile, source), verdict, independence, overrides)| {
            let (board, fitted, utc_ms, operator, calibration) = head;
            let [found, found_uncertainty, lower, upper] = numbers;
            VerificationRecord {
                board,
                fitted,
                utc_ms,
                operator,
                calibration,
                point,
                found,
                found_uncertainty,
                limit: Limit { lower, upper, profile, source },
                verdict,
                independence,
                overrides,
            }
        },
    )
}

fn calibration() -> impl Strategy<Value = CalibrationRecord> {
    let head = (board(), fitted(), any::<i64>(), any::<Option<i64>>(), text());
    let outcome = prop_oneof![Just(Outcome::Adjusted), Just(Outcome::LeftUnadjusted)];
    let as_left = (text(), text(), independence(), finite(), finite()).prop_map(
        |(standard, lot, independence, expected, found)| AsLeft {
            standard,
            lot,
            independence,
            expected,
            found,
        },
    );
    let points = list::<_, MAX_POINTS>(point());
    let history = (option::of(incident()), any::<Option<u16>>(), drift(), drift());
    let found = (result(), outcome, option::of(short_id()), option::of(as_left));
    (head, points, found, history, overrides()).prop_map(
        |(head, points, (result, outcome, previous, as_left), history, overrides)| {
            let (board, fitted, utc_ms, due_utc_ms, operator) = head;
            let (incident, stored_days, first, second) = history;
            let drift = match &result {
                CalibrationResult::Ph(_) => {
                    SensorDrift::Electrode { offset_mv: first, slope: second }
                }
                CalibrationResult::Conductivity(_) => SensorDrift::Cell { relative: first },
                CalibrationResult::Temperature(_) => SensorDrift::Thermometer { offset_k: first },
            };
            CalibrationRecord {
                board,
                fitted,
                utc_ms,
                due_utc_ms,
                operator,
                points,
                result,
                outcome,
                incident,
                stored_days,
                drift,
                previous,
                as_left,
                overrides,
            }
        },
    )
}
