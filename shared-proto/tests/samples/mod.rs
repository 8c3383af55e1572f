//! One value of every variant, for the pins, the golden files and the documents.
//!
//! The numbers are made up: only their bytes matter here.
#![allow(dead_code)] // each test file uses its own part

use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration, Estimate};
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::calibration::ph::{
    Isopotential, PhCalibration, PhCovariance, PhResponse, PhShared,
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
    AsLeft, CalibrationRecord, CalibrationResult, Dissolved, Incident, Outcome, Override, Point,
    Quantity, Record, RecordBytes, RecordKind, Settling, Signal, Vessel, Water, codec,
};
use rillmark_proto::wire::hello::{Hello, HelloAnswer};
use rillmark_proto::wire::message::{
    Answer, Command, Done, FromProbe, Listed, Order, Refusal, Sampling, StorePiece,
};
use rillmark_proto::wire::start::{Cause, FileTail, Start, Trouble};

pub(crate) const BOARD: BoardId = BoardId([0xE6, 0x61, 0x64, 0x08, 0x43, 0x2C, 0x5B, 0x21]);
pub(crate) const RECORD: RecordId =
    RecordId([0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 15]);
pub(crate) const HELLO: Hello = Hello { wire_min: 1, wire_max: 1 };

pub(crate) fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect::<Vec<_>>().join(" ")
}

pub(crate) fn hello_answer() -> HelloAnswer {
    HelloAnswer {
        wire_min: 1,
        wire_max: 1,
        record_max: 1,
        board: BOARD,
        boot: 258,
        firmware: [0, 1, 0],
        start: Start {
            cause: Cause::Panic,
            restarts: 2,
            trouble: Some(Trouble::Panic { file: FileTail::of("src/store/mod.rs"), line: 258 }),
        },
    }
}

pub(crate) fn record_bytes(bytes: &[u8]) -> RecordBytes {
    RecordBytes::from_slice(bytes).expect("fits")
}

pub(crate) fn text<const N: usize>(text: &str) -> heapless::String<N> {
    text.try_into().expect("fits")
}

pub(crate) fn equipment() -> Equipment {
    Equipment {
        fitted: Fitted { electrode: Some(text("E-17")), cell: Some(text("K1")), thermometer: None },
        utc_ms: 1_764_000_000_000,
    }
}

pub(crate) fn samplings() -> Vec<Sampling> {
    vec![
        Sampling::Off,
        Sampling::Ph,
        Sampling::Conductivity,
        Sampling::Full { interval_ms: 60_000 },
    ]
}

pub(crate) fn orders() -> Vec<Order> {
    vec![
        Order::Sample(Sampling::Ph),
        Order::Equip(equipment()),
        Order::TellEquipment,
        Order::Keep(record_bytes(&[1, 0, 255])),
        Order::ListRecords,
        Order::TellRecord(RECORD),
        Order::SetClock { utc_ms: 1_764_000_000_000 },
        Order::TellClock,
        Order::TellStore { offset: 300 },
        Order::KeepEarlier(record_bytes(&[1, 0, 255])),
    ]
}

pub(crate) fn listed() -> Listed {
    let (kind, quantity) = (RecordKind::Calibration, Quantity::Conductivity);
    Listed { id: RECORD, kind, quantity, in_force: true, whole: true }
}

pub(crate) fn dones() -> Vec<Done> {
    vec![
        Done::Plain,
        Done::Equipment(Some(equipment())),
        Done::Kept(RECORD),
        Done::Records(heapless::Vec::from_slice(&[listed()]).expect("fits")),
        Done::Record(record_bytes(&[1, 0, 255])),
        Done::Clock(Some(1_764_000_000_000)),
        Done::Store(StorePiece {
            size: 131_072,
            bytes: heapless::Vec::from_slice(&[0, 1, 255]).expect("fits"),
        }),
    ]
}

pub(crate) fn refusals() -> Vec<Refusal> {
    vec![
        Refusal::UnknownOrder,
        Refusal::RecordUnreadable,
        Refusal::RecordVersion { found: 9, newest: 1 },
        Refusal::OtherBoard { made_for: BOARD },
        Refusal::NotFitted,
        Refusal::ShortIdTaken { short: RECORD.short() },
        Refusal::NoSuchRecord { id: RECORD },
        Refusal::StoreFull { needed: 300 },
        Refusal::StoreCorrupt,
        Refusal::StoreFault,
        Refusal::ClockSilent,
        Refusal::ClockRange,
        Refusal::RecordDamaged { id: RECORD },
    ]
}

pub(crate) fn reading() -> Reading {
    Reading {
        running: 300,
        time: ProbeTime { boot: 2, ms: 70_000 },
        raw: Raw {
            potential_nv: Some(-20_500_000),
            conductance: Some(RawConductance {
                conductance_ps: 1_413_000_000,
                range: Range::Ohm1k,
            }),
            thermometer_milliohm: Some(1_097_347),
        },
        flags: Flags::TEMPERATURE_HELD,
        computed: Computed {
            temperature_c: Some(25.0),
            ph: Some(7.25),
            conductivity_us_cm: Some(1413.0),
            specific_conductance_us_cm: None,
        },
        calibrations: CalibrationsUsed {
            ph: Some(ShortId([0xA1, 0xB2, 0xC3, 0xD4])),
            conductivity: None,
            temperature: Some(ShortId([0x01, 0x23, 0x45, 0x67])),
        },
    }
}

pub(crate) fn from_probes() -> Vec<FromProbe> {
    vec![
        FromProbe::Answer(Answer { id: 7, outcome: Ok(Done::Plain) }),
        FromProbe::Reading(reading()),
    ]
}

pub(crate) fn ph_calibration() -> PhCalibration {
    PhCalibration {
        slope_fraction: 0.984375,
        offset_mv: -3.5,
        at_c: 21.5,
        isopotential: Isopotential { ph: 6.875, standard_uncertainty: 0.25 },
        covariance: PhCovariance { slope: 0.0625, offset_mv2: 0.25, slope_offset_mv: -0.125 },
        shared: PhShared {
            per_kelvin: PhResponse { slope: -0.00390625, offset_mv: 0.03125 },
            per_gain: PhResponse { slope: 0.984375, offset_mv: -3.5 },
            per_isopotential: PhResponse { slope: 0.015625, offset_mv: 0.0625 },
            thermometer_k: 0.125,
        },
    }
}

pub(crate) fn conductivity_calibration() -> ConductivityCalibration {
    ConductivityCalibration {
        cell_constant_per_cm: 1.0625,
        variance_per_cm2: 0.00390625,
        series_ohm: Estimate { value: 0.25, standard_uncertainty: 0.5 },
        cell_series_ohm_per_cm: -0.015625,
        zero_us: Estimate { value: 0.03125, standard_uncertainty: 0.0625 },
        relative_per_kelvin: 0.01953125,
        thermometer_k: 0.125,
        relative_per_zero_us: 0.0009765625,
        range_factor: [Some(1.0), None, None],
        compensation: Compensation::Linear { per_kelvin: 0.0191 },
    }
}

pub(crate) fn temperature_calibration() -> TemperatureCalibration {
    TemperatureCalibration {
        thermometer: Thermometer::Platinum { r0_ohm: 1000.0 },
        offset_k: 0.125,
        gain: -0.0009765625,
        at_c: 20.0,
        variance_k2: 0.0078125,
        gain_variance: 0.0000152587890625,
        offset_gain_k: 0.0,
    }
}

pub(crate) const INCIDENTS: [Incident; 4] =
    [Incident::Cleaned, Incident::Refilled, Incident::Dried, Incident::Knocked];
pub(crate) const WATERS: [Water; 3] = [Water::Deionised, Water::Boiled, Water::Tap];
pub(crate) const VESSELS: [Vessel; 3] = [Vessel::Flask, Vessel::Cylinder, Vessel::ByEye];

pub(crate) fn drift() -> Drift {
    Drift { rate_per_day: -0.25, rate_uncertainty: 0.125, walk_per_day: 0.0625, differences: 300 }
}

pub(crate) fn drifts() -> [SensorDrift; 3] {
    let (first, second) = (drift(), Drift { differences: 3, ..Drift::default() });
    [
        SensorDrift::Electrode { offset_mv: first, slope: second },
        SensorDrift::Cell { relative: first },
        SensorDrift::Thermometer { offset_k: first },
    ]
}

pub(crate) fn settling() -> Settling {
    Settling {
        settled: true,
        drift_per_min: 0.5,
        scatter: 0.0625,
        waited_ms: 45_000,
        time_constant_s: None,
    }
}

pub(crate) fn ph_point(standard: &str, value: f64, potential_nv: i32) -> Point {
    Point {
        standard: text(standard),
        lot: text("L-2041"),
        expiry_days: Some(20_800),
        opened_days: Some(20_700),
        single_use: false,
        dissolved: Some(Dissolved { water: Water::Boiled, vessel: Vessel::Cylinder, days: 20_700 }),
        certificate: text("C-77"),
        basis: None,
        value,
        value_uncertainty: 0.0078125,
        value_per_kelvin: -0.001953125,
        temperature_c: 21.5,
        signal: Signal::PotentialNv(potential_nv),
        as_found: Some(value + 0.03125),
        settling: Settling { time_constant_s: Some(20.5), ..settling() },
    }
}

/// A pH calibration with every optional part.
pub(crate) fn ph_record() -> CalibrationRecord {
    let mut points = heapless::Vec::new();
    for point in [
        ph_point("phosphate-1-1", 6.875, 3_750_000),
        ph_point("phthalate-1977", 4.0, 172_000_000),
        ph_point("borax", 9.203125, -131_000_000),
    ] {
        points.push(point).expect("fits");
    }
    let mut overrides = heapless::Vec::new();
    overrides
        .push(Override { judgement: 301, reason: text("bottle opened last week") })
        .expect("fits");
    CalibrationRecord {
        board: BOARD,
        fitted: equipment().fitted,
        utc_ms: 1_764_000_123_456,
        due_utc_ms: Some(1_766_592_123_456),
        operator: text("Ada"),
        points,
        result: CalibrationResult::Ph(ph_calibration()),
        outcome: Outcome::Adjusted,
        incident: Some(Incident::Cleaned),
        stored_days: Some(300),
        drift: drifts()[0],
        previous: Some(ShortId([0xA1, 0xB2, 0xC3, 0xD4])),
        as_left: Some(AsLeft {
            standard: text("phosphate-1-3.5"),
            lot: text("D-7"),
            independence: Independence::Independent,
            expected: 7.0,
            found: 7.015625,
        }),
        overrides,
    }
}

/// A conductivity calibration with no optional part.
pub(crate) fn conductivity_record() -> CalibrationRecord {
    let point = Point {
        standard: text("kcl-0.01-mol-per-l"),
        lot: text(""),
        expiry_days: None,
        opened_days: None,
        single_use: true,
        dissolved: None,
        certificate: Default::default(),
        basis: Some(Basis::Molarity),
        value: 1413.0,
        value_uncertainty: 1.5,
        value_per_kelvin: 27.5,
        temperature_c: 25.0,
        signal: Signal::Conductance(RawConductance {
            conductance_ps: 1_329_882_353,
            range: Range::Ohm1k,
        }),
        as_found: None,
        settling: settling(),
    };
    CalibrationRecord {
        board: BOARD,
        fitted: Fitted { electrode: None, cell: Some(text("K1")), thermometer: None },
        utc_ms: 1_764_000_000_000,
        due_utc_ms: None,
        operator: text("Ada"),
        points: heapless::Vec::from_iter([point]),
        result: CalibrationResult::Conductivity(conductivity_calibration()),
        outcome: Outcome::LeftUnadjusted,
        incident: None,
        stored_days: None,
        drift: drifts()[1],
        previous: None,
        as_left: None,
        overrides: heapless::Vec::new(),
    }
}

/// A thermometer's calibration.
pub(crate) fn temperature_record() -> CalibrationRecord {
    let point = Point {
        standard: text("reference"),
        value: 20.0,
        value_uncertainty: 0.0625,
        value_per_kelvin: 0.0,
        temperature_c: 19.875,
        signal: Signal::ThermometerMilliohm(1_077_450),
        basis: None,
        ..ph_point("reference", 20.0, 0)
    };
    CalibrationRecord {
        fitted: Fitted { electrode: None, cell: None, thermometer: Some(text("T-2")) },
        points: heapless::Vec::from_iter([point]),
        result: CalibrationResult::Temperature(temperature_calibration()),
        drift: drifts()[2],
        ..ph_record()
    }
}

/// A verification with every optional part.
pub(crate) fn verification_record() -> VerificationRecord {
    let CalibrationRecord { board, fitted, utc_ms, operator, overrides, .. } = ph_record();
    VerificationRecord {
        board,
        fitted,
        utc_ms,
        operator,
        calibration: ShortId([0xA1, 0xB2, 0xC3, 0xD4]),
        point: Point { as_found: None, ..ph_point("phosphate-1-3.5", 7.421875, -26_000_000) },
        found: 7.4375,
        found_uncertainty: 0.015625,
        limit: Limit {
            lower: -0.25,
            upper: 0.25,
            profile: text("field"),
            source: text("a made-up manual, page 7"),
        },
        verdict: Verdict::Pass,
        independence: Independence::Independent,
        overrides,
    }
}

/// A conversation: every order and an answer of every kind, readings, records of both kinds.
pub(crate) fn conversation() -> (Vec<Command>, Vec<FromProbe>) {
    let bytes = |record: Record| codec::encode(&record).expect("a record");
    let ph = bytes(ph_record().into());
    let conductivity = bytes(conductivity_record().into());
    let verification = bytes(verification_record().into());
    let commands = orders()
        .into_iter()
        .chain(samplings().into_iter().map(Order::Sample))
        .chain([ph.clone(), conductivity, verification].map(Order::Keep));
    let answers = dones()
        .into_iter()
        .chain([Done::Equipment(None), Done::Clock(None), Done::Record(ph)])
        .map(Ok)
        .chain(refusals().into_iter().map(Err));
    let commands = commands.zip(1..).map(|(order, id)| Command { id, order }).collect();
    let messages = answers
        .zip(1..)
        .map(|(outcome, id)| FromProbe::Answer(Answer { id, outcome }))
        .chain([FromProbe::Reading(reading()), FromProbe::Reading(bare_reading())])
        .collect();
    (commands, messages)
}

/// A reading with nothing in it.
pub(crate) fn bare_reading() -> Reading {
    Reading {
        running: 0,
        time: ProbeTime { boot: 1, ms: 0 },
        raw: Raw::default(),
        flags: Flags::ADC_SILENT.with(Flags::CLOCK_LOST),
        computed: Computed::default(),
        calibrations: CalibrationsUsed::default(),
    }
}
