//! An invented session in which everything happens: two runs, a lost line, a board that started anew, a
//! thermometer that was taken off, records with a verification, a junction, a clock that was set.

use rillmark::session::entry::{Cause, EndReason, Entry, Header, HeaderReason, HostTime, Mark};
use rillmark_proto::identity::RecordId;
use rillmark_proto::reading::{
    CalibrationsUsed, Coefficients, Flags, ProbeTime, Range, Raw, RawConductance, Reading, evaluate,
};
use rillmark_proto::record::fitted::{Equipment, Fitted, Serial};
use rillmark_proto::record::{CalibrationResult, Record, RecordBytes, codec};
use rillmark_proto::wire::encode_from_probe;
use rillmark_proto::wire::frame::MAX_FRAME;
use rillmark_proto::wire::message::{FromProbe, Sampling};

/// UTC at zero of the host's monotonic clock: 2026-01-01.
const UTC_AT_ZERO: i64 = 1_767_225_600_000;
/// Between two readings, in ms.
const INTERVAL_MS: u32 = 5_000;
/// By how much the clock is set in the second run, in ms.
const SET_MS: i64 = 3_600_000;

/// The frames of the session.
#[must_use]
pub fn session() -> Vec<u8> {
    let mut made = Made::of(records());
    made.entry(&Entry::opening());
    made.header(HeaderReason::Began, 3, Some("T-1"), None);
    made.records();
    made.note(9_500, "north shore, 0.5 m");
    made.mark(3, 10_000, 0, 1);
    (0..8).for_each(|nth| made.reading(3, nth, 10_000 + 5_000 * u64::from(nth)));
    made.entry(&Entry::GapBegan { cause: Cause::LineLost, at: at(60_000, 0) });
    made.header(HeaderReason::Changed, 4, None, None);
    made.entry(&Entry::GapEnded { at: at(90_000, 0) });
    made.mark(4, 2_000, 90_000, 2);
    (0..8).for_each(|nth| made.reading(4, nth, 2_000 + 5_000 * u64::from(nth)));
    made.end(140_000, 2, 16);
    made.header(HeaderReason::Began, 4, Some("T-1"), Some(0.03));
    made.records();
    made.note(200_500, "another place");
    made.mark(4, 112_000, 90_000, 1);
    (22..28).for_each(|nth| made.reading(4, nth, 2_000 + 5_000 * u64::from(nth)));
    made.set_ms = SET_MS;
    made.mark(4, 142_000, 90_000, 1);
    (28..34).for_each(|nth| made.reading(4, nth, 2_000 + 5_000 * u64::from(nth)));
    made.end(270_000, 1, 12);
    made.bytes
}

/// An electrode's, a cell's and a thermometer's calibration and a verification of the first.
fn records() -> Vec<(RecordId, RecordBytes, Record)> {
    let golden = |bytes| codec::decode(bytes).expect("a golden record is one");
    let mut all: Vec<Record> = crate::store::records(1).map(Record::from).into();
    let ph = golden(include_bytes!("../../../shared-proto/tests/golden/record-v1-ph.record"));
    let id = |record: &Record| codec::identity(&codec::encode(record).expect("it was one"));
    let Record::Verification(mut check) =
        golden(include_bytes!("../../../shared-proto/tests/golden/record-v1-verification.record"))
    else {
        panic!("the golden verification is one");
    };
    check.calibration = id(&ph).short();
    // Thermometer and cell; the electrode's has points.
    all.retain(|record| !matches!(result(record), Some(CalibrationResult::Ph(_))));
    all.extend([ph, check.into()]);
    let written = |record: Record| {
        let bytes = codec::encode(&record).expect("it was one");
        (codec::identity(&bytes), bytes, record)
    };
    all.into_iter().map(written).collect()
}

fn result(record: &Record) -> Option<CalibrationResult> {
    record.calibration().map(|calibration| calibration.result)
}

fn at(monotonic_ms: u64, set_ms: i64) -> HostTime {
    HostTime { monotonic_ms, utc_ms: UTC_AT_ZERO + monotonic_ms as i64 + set_ms }
}

struct Made {
    bytes: Vec<u8>,
    held: Vec<(RecordId, RecordBytes, Record)>,
    coefficients: Coefficients,
    used: CalibrationsUsed,
    set_ms: i64,
}

impl Made {
    fn of(held: Vec<(RecordId, RecordBytes, Record)>) -> Self {
        let (mut coefficients, mut used) = (Coefficients::default(), CalibrationsUsed::default());
        for (id, _, record) in &held {
            match result(record) {
                Some(CalibrationResult::Ph(ph)) => {
                    (coefficients.ph, used.ph) = (Some(ph), Some(id.short()));
                }
                Some(CalibrationResult::Conductivity(cell)) => {
                    (coefficients.conductivity, used.conductivity) = (Some(cell), Some(id.short()));
                }
                Some(CalibrationResult::Temperature(thermometer)) => {
                    (coefficients.temperature, used.temperature) =
                        (Some(thermometer), Some(id.short()));
                }
                None => {}
            }
        }
        Self { bytes: Vec::new(), held, coefficients, used, set_ms: 0 }
    }

    fn entry(&mut self, entry: &Entry) {
        self.bytes.extend(entry.frame().expect("it is short"));
    }

    fn header(
        &mut self,
        reason: HeaderReason,
        boot: u32,
        thermometer: Option<&str>,
        junction_ph: Option<f64>,
    ) {
        let serial = |text| Serial::try_from(text).expect("short");
        let fitted = Fitted {
            electrode: Some(serial("E-1")),
            cell: Some(serial("K-1")),
            thermometer: thermometer.map(serial),
        };
        let (calibrations, checks) = self
            .held
            .iter()
            .partition::<Vec<_>, _>(|(_, _, record)| record.calibration().is_some());
        let ids = |records: Vec<&(RecordId, _, _)>| records.iter().map(|(id, _, _)| *id).collect();
        let header = Header {
            host: "0.1.0".into(),
            board: crate::store::BOARD,
            boot,
            firmware: [0, 1, 0],
            wire: [1, 1],
            record_max: 1,
            reason,
            sampling: Sampling::Full { interval_ms: INTERVAL_MS },
            equipment: Some(Equipment { fitted, utc_ms: UTC_AT_ZERO }),
            in_force: ids(calibrations),
            verifications: ids(checks),
            junction_ph,
            at: at(9_000, self.set_ms),
        };
        self.entry(&Entry::Header(header));
    }

    fn records(&mut self) {
        for (id, bytes, _) in self.held.clone() {
            self.entry(&Entry::Record { id, bytes: bytes.to_vec() });
        }
    }

    fn note(&mut self, ms: u64, text: &str) {
        self.entry(&Entry::Note { at: at(ms, self.set_ms), text: text.into() });
    }

    /// `since_ms` of the host's clock passed before the board started.
    fn mark(&mut self, boot: u32, probe_ms: u64, since_ms: u64, headers: u32) {
        let at = at(since_ms + probe_ms + 20, self.set_ms);
        self.entry(&Entry::Mark(Mark { boot, probe_ms, at, headers }));
    }

    fn end(&mut self, ms: u64, headers: u32, readings: u64) {
        let (reason, at) = (EndReason::Done, at(ms, self.set_ms));
        let line_damaged_bytes = 3;
        self.entry(&Entry::End { reason, at, headers, readings, line_damaged_bytes });
    }

    fn reading(&mut self, boot: u32, running: u32, ms: u64) {
        let nth = running as i32;
        let raw = Raw {
            // It creeps, as in water that is not stirred.
            potential_nv: Some(-20_500_000 + nth * nth * 3_000),
            conductance: Some(RawConductance {
                conductance_ps: 421_000_000 + i64::from(nth) * 90_000,
                range: Range::Ohm10k,
            }),
            thermometer_milliohm: Some(1_077_000 + running * 40),
        };
        let reading = Reading {
            running,
            time: ProbeTime { boot, ms },
            raw,
            flags: if running == 2 { Flags::CLOCK_LOST } else { Flags::NONE },
            computed: evaluate(&raw, &self.coefficients),
            calibrations: self.used,
        };
        let mut frame = [0; MAX_FRAME];
        let len = encode_from_probe(&FromProbe::Reading(reading), &mut frame).expect("it is short");
        self.bytes.extend(&frame[..len]);
    }
}
