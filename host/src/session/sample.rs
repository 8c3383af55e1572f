//! Invented sessions and a file in memory, for tests.

use std::cell::RefCell;
use std::io;
use std::rc::Rc;

use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::calibration::temperature::{TemperatureCalibration, Thermometer};
use rillmark_proto::identity::{BoardId, ShortId};
use rillmark_proto::reading::{
    CalibrationsUsed, Coefficients, Flags, ProbeTime, Range, Raw, RawConductance, Reading, evaluate,
};
use rillmark_proto::record::Basis;
use rillmark_proto::record::fitted::{Equipment, Fitted, Serial};
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::{Independence, Limit, VerificationRecord};
use rillmark_proto::record::{
    AsLeft, CalibrationRecord, CalibrationResult, Outcome, Override, Point, Record, RecordBytes,
    Settling, Signal, codec,
};
use rillmark_proto::wire::message::{Listed, Sampling};

use super::entry::{EndReason, Entry, Header, HeaderReason, HostTime, Mark};
use super::reader::{self, Item};
use super::writer::{Storage, Writer};
use crate::link::fake::{UTC_AT_ZERO, reading_frame};

/// A file in memory that is full after so many bytes.
#[derive(Clone)]
pub(crate) struct Memory {
    pub(crate) bytes: Rc<RefCell<Vec<u8>>>,
    pub(crate) room: usize,
    pub(crate) syncs: Rc<RefCell<u32>>,
    /// This one of them fails, once.
    pub(crate) failing_sync: Option<u32>,
}

impl Memory {
    pub(crate) fn new() -> Self {
        Self { bytes: Rc::default(), room: usize::MAX, syncs: Rc::default(), failing_sync: None }
    }

    pub(crate) fn writer(&self) -> Writer {
        Writer::begin(Box::new(self.clone()), "memory".into()).expect("there is room")
    }

    pub(crate) fn content(&self) -> Vec<u8> {
        self.bytes.borrow().clone()
    }
}

impl Storage for Memory {
    fn append(&mut self, bytes: &[u8]) -> io::Result<()> {
        let mut held = self.bytes.borrow_mut();
        let room = self.room.saturating_sub(held.len());
        held.extend_from_slice(&bytes[..bytes.len().min(room)]);
        if bytes.len() > room {
            return Err(io::ErrorKind::StorageFull.into());
        }
        Ok(())
    }

    fn sync(&mut self) -> io::Result<()> {
        *self.syncs.borrow_mut() += 1;
        match Some(*self.syncs.borrow()) == self.failing_sync {
            true => Err(io::Error::other("the disk did not take it")),
            false => Ok(()),
        }
    }

    fn cut(&mut self, len: u64) -> io::Result<()> {
        self.bytes.borrow_mut().truncate(len as usize);
        Ok(())
    }

    fn named_len(&self) -> io::Result<Option<u64>> {
        Ok(Some(self.bytes.borrow().len() as u64))
    }

    fn remove(&mut self) -> io::Result<()> {
        self.cut(0)
    }
}

/// The items of a file in memory.
pub(crate) fn items(bytes: &[u8]) -> impl Iterator<Item = Item> {
    reader::items(bytes).map(|item| item.expect("in memory").1)
}

fn serial(text: &str) -> Option<Serial> {
    Some(text.try_into().expect("short enough"))
}

pub(crate) fn equipment() -> Equipment {
    let fitted = Fitted { electrode: serial("E-17"), cell: serial("K1"), thermometer: None };
    Equipment { fitted, utc_ms: UTC_AT_ZERO - 60_000 }
}

fn settling(settled: bool) -> Settling {
    Settling {
        settled,
        drift_per_min: 0.02,
        scatter: 0.01,
        waited_ms: 42_000,
        time_constant_s: None,
    }
}

fn record(points: &[Point], result: CalibrationResult) -> CalibrationRecord {
    CalibrationRecord {
        board: BoardId([1, 2, 3, 4, 5, 6, 7, 8]),
        fitted: equipment().fitted,
        utc_ms: UTC_AT_ZERO - 86_400_000 * 3,
        due_utc_ms: Some(UTC_AT_ZERO + 86_400_000 * 27),
        operator: "Ann".try_into().expect("short enough"),
        points: points.iter().cloned().collect(),
        result,
        outcome: Outcome::Adjusted,
        incident: None,
        stored_days: None,
        drift: result.usual_drift(),
        previous: None,
        as_left: Some(AsLeft {
            standard: points[0].standard.clone(),
            lot: points[0].lot.clone(),
            independence: Independence::SameLot,
            expected: 7.0,
            found: 7.012,
        }),
        overrides: [Override {
            judgement: 5,
            reason: "spare electrode".try_into().expect("short enough"),
        }]
        .into_iter()
        .collect(),
    }
}

/// An invented pH calibration.
pub(crate) fn ph_record(slope_fraction: f64) -> CalibrationRecord {
    let point = |standard: &str, value: f64, nv: i32, as_found| Point {
        standard: standard.try_into().expect("short enough"),
        lot: "L-9".try_into().expect("short enough"),
        expiry_days: Some(20_819),
        opened_days: Some(20_576),
        single_use: false,
        dissolved: None,
        certificate: Default::default(),
        basis: Some(Basis::Label),
        value,
        value_uncertainty: 0.01,
        value_per_kelvin: -0.002,
        temperature_c: 21.25,
        signal: Signal::PotentialNv(nv),
        as_found,
        settling: settling(as_found.is_some()),
    };
    let covariance = PhCovariance { slope: 4e-6, offset_mv2: 0.09, slope_offset_mv: 1e-5 };
    record(
        &[
            point("technical-7.00", 7.02, -3_100_000, Some(7.11)),
            point("technical-4.01", 4.0, 169_000_000, None),
        ],
        CalibrationResult::Ph(PhCalibration {
            covariance,
            ..PhCalibration::exact(slope_fraction, -2.5)
        }),
    )
}

/// An invented conductivity calibration.
pub(crate) fn cell_record() -> CalibrationRecord {
    let point = Point {
        standard: "kcl-0.01-mol-per-l".try_into().expect("short enough"),
        lot: Default::default(),
        expiry_days: None,
        opened_days: None,
        single_use: true,
        dissolved: None,
        certificate: Default::default(),
        basis: Some(Basis::Molarity),
        value: 1310.5,
        value_uncertainty: 6.5,
        value_per_kelvin: 26.8,
        temperature_c: 21.25,
        signal: Signal::Conductance(RawConductance {
            conductance_ps: 1_299_000_000,
            range: Range::Ohm1k,
        }),
        as_found: None,
        settling: settling(true),
    };
    record(
        &[point],
        CalibrationResult::Conductivity(ConductivityCalibration {
            variance_per_cm2: 2.5e-5,
            ..ConductivityCalibration::exact(1.009, Compensation::Linear { per_kelvin: 0.0191 })
        }),
    )
}

/// An invented verification of a calibration, which it fails.
pub(crate) fn verification_record(calibration: &CalibrationRecord) -> VerificationRecord {
    let CalibrationRecord { board, fitted, operator, points, .. } = calibration.clone();
    VerificationRecord {
        board,
        fitted,
        utc_ms: calibration.utc_ms + 86_400_000,
        operator,
        calibration: short(calibration),
        point: Point {
            standard: "phosphate-1-3.5".try_into().expect("short enough"),
            lot: "C-3".try_into().expect("short enough"),
            as_found: None,
            ..points[0].clone()
        },
        found: 7.31,
        found_uncertainty: 0.02,
        limit: Limit {
            lower: -0.2,
            upper: 0.2,
            profile: "field".try_into().expect("short enough"),
            source: "an invented source".try_into().expect("short enough"),
        },
        verdict: Verdict::Fail,
        independence: Independence::Independent,
        overrides: Default::default(),
    }
}

/// A calibration of the sample thermometer, invented.
pub(crate) fn thermometer_record() -> CalibrationRecord {
    let point = |standard: &str, value: f64, milliohm: u32, temperature_c: f64| Point {
        standard: standard.try_into().expect("short enough"),
        lot: Default::default(),
        expiry_days: None,
        opened_days: None,
        single_use: false,
        dissolved: None,
        certificate: Default::default(),
        basis: None,
        value,
        value_uncertainty: 0.05,
        value_per_kelvin: 0.0,
        temperature_c,
        signal: Signal::ThermometerMilliohm(milliohm),
        as_found: Some(temperature_c),
        settling: settling(true),
    };
    record(
        &[point("ice-point", 0.0, 33_020_000, 0.4), point("reference", 25.3, 9_868_000, 25.3)],
        CalibrationResult::Temperature(TemperatureCalibration {
            offset_k: -0.2,
            gain: 0.016,
            at_c: 12.85,
            variance_k2: 0.0036,
            gain_variance: 1e-4,
            ..TemperatureCalibration::exact(Thermometer::Thermistor {
                r25_ohm: 10_000.0,
                beta_k: 3950.0,
            })
        }),
    )
}

/// A record as a probe lists and hands it out.
pub(crate) fn kept(record: &CalibrationRecord, in_force: bool) -> (Listed, RecordBytes) {
    kept_record(&record.clone().into(), in_force)
}

/// A record of either kind as a probe lists and hands it out.
pub(crate) fn kept_record(record: &Record, in_force: bool) -> (Listed, RecordBytes) {
    let bytes = codec::encode(record).expect("a record has bytes");
    let id = codec::identity(&bytes);
    (Listed { id, kind: record.kind(), quantity: record.quantity(), in_force, whole: true }, bytes)
}

fn short(record: &CalibrationRecord) -> ShortId {
    kept(record, true).0.id.short()
}

/// A reading with invented raw integers, computed under both records of this file.
pub(crate) fn reading(running: u32) -> Reading {
    computed_reading(running, &ph_record(0.98))
}

/// The same under another pH record.
pub(crate) fn computed_reading(running: u32, ph: &CalibrationRecord) -> Reading {
    let cell = cell_record();
    let raw = Raw {
        potential_nv: Some(-20_500_000 + running as i32 * 1_000),
        conductance: Some(RawConductance {
            conductance_ps: 421_000_000 + i64::from(running),
            range: Range::Ohm10k,
        }),
        thermometer_milliohm: Some(1_077_000 + running),
    };
    let (CalibrationResult::Ph(ph_result), CalibrationResult::Conductivity(cell_result)) =
        (ph.result, cell.result)
    else {
        panic!("made above as what they are")
    };
    let coefficients =
        Coefficients { ph: Some(ph_result), conductivity: Some(cell_result), temperature: None };
    Reading {
        running,
        time: ProbeTime { boot: 3, ms: 10_000 + u64::from(running) * 5_000 },
        raw,
        flags: if running == 2 { Flags::CLOCK_LOST } else { Flags::NONE },
        computed: evaluate(&raw, &coefficients),
        calibrations: CalibrationsUsed {
            ph: Some(short(ph)),
            conductivity: Some(short(&cell)),
            temperature: None,
        },
    }
}

pub(crate) fn host_time(ms: u64) -> HostTime {
    HostTime { monotonic_ms: ms, utc_ms: UTC_AT_ZERO + ms as i64 }
}

pub(crate) fn header(records: &[&CalibrationRecord]) -> Header {
    Header {
        host: "0.1.0".into(),
        board: BoardId([1, 2, 3, 4, 5, 6, 7, 8]),
        boot: 3,
        firmware: [0, 1, 0],
        wire: [1, 1],
        record_max: 1,
        reason: HeaderReason::Began,
        sampling: Sampling::Full { interval_ms: 5_000 },
        equipment: Some(equipment()),
        in_force: records.iter().map(|record| kept(record, true).0.id).collect(),
        verifications: Vec::new(),
        junction_ph: None,
        at: host_time(9_000),
    }
}

pub(crate) fn record_entry(record: &CalibrationRecord) -> Entry {
    let (listed, bytes) = kept(record, true);
    Entry::Record { id: listed.id, bytes: bytes.to_vec() }
}

pub(crate) fn mark(reading: &Reading) -> Entry {
    Entry::Mark(Mark {
        boot: reading.time.boot,
        probe_ms: reading.time.ms,
        at: host_time(reading.time.ms + 20),
        headers: 1,
    })
}

/// The frames of a whole small session with six readings.
pub(crate) fn frames() -> Vec<Vec<u8>> {
    let (ph, cell) = (ph_record(0.98), cell_record());
    let entry = |entry: &Entry| entry.frame().expect("it fits");
    let mut frames = vec![
        entry(&Entry::opening()),
        entry(&Entry::Header(header(&[&ph, &cell]))),
        entry(&record_entry(&ph)),
        entry(&record_entry(&cell)),
        entry(&Entry::Note { at: host_time(9_500), text: "north shore".into() }),
        entry(&mark(&reading(0))),
    ];
    frames.extend((0..6).map(|running| reading_frame(reading(running))));
    frames.push(entry(&Entry::End {
        reason: EndReason::Done,
        at: host_time(40_000),
        headers: 1,
        readings: 6,
        line_damaged_bytes: 0,
    }));
    frames
}
