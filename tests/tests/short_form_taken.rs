//! A probe keeps a record only under a short form that no other of its records has.

use std::collections::HashMap;

use rillmark::link::probe::{Probe, ProbeError};
use rillmark::link::virtual_link::VirtualLink;
use rillmark_bench::Setup;
use rillmark_proto::calibration::drift::SensorDrift;
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, RecordBytes, codec};
use rillmark_proto::wire::message::Refusal;

fn fitted() -> Fitted {
    let serial = |text: &str| Some(text.try_into().expect("fits"));
    Fitted { electrode: serial("E-17"), cell: serial("K-3"), thermometer: serial("T-1") }
}

/// Invented records that differ in their time alone.
fn record(board: BoardId, utc_ms: i64) -> RecordBytes {
    let record = CalibrationRecord {
        board,
        fitted: fitted(),
        utc_ms,
        due_utc_ms: None,
        operator: "made up".try_into().expect("fits"),
        points: Default::default(),
        result: CalibrationResult::Ph(PhCalibration {
            covariance: PhCovariance { slope: 1e-5, offset_mv2: 0.1, slope_offset_mv: 0.0 },
            ..PhCalibration::exact(0.98, 3.0)
        }),
        outcome: Outcome::Adjusted,
        incident: None,
        stored_days: None,
        drift: SensorDrift::ELECTRODE,
        previous: None,
        as_left: None,
        overrides: Default::default(),
    };
    codec::encode(&record.into()).expect("a small record")
}

/// Two records whose identities differ but begin with the same 4 bytes, by the birthday search:
/// about 2¹⁶ tries find a pair among 2³² short forms.
fn colliding(board: BoardId) -> (RecordBytes, RecordBytes) {
    let mut seen: HashMap<[u8; 4], (i64, RecordId)> = HashMap::new();
    for utc_ms in 1_764_000_000_000.. {
        let bytes = record(board, utc_ms);
        let id = codec::identity(&bytes);
        match seen.insert(id.short().0, (utc_ms, id)) {
            Some((earlier, other)) if other != id => return (record(board, earlier), bytes),
            _ => {}
        }
    }
    unreachable!("the range of times does not end")
}

#[test]
fn a_record_whose_short_form_is_taken_is_refused_and_the_first_stays() {
    let link = VirtualLink::with(Setup::default(), "bench").expect("a bench in memory");
    let mut probe = Probe::connect(Box::new(link)).expect("the bench answers");
    probe.equip(Equipment { fitted: fitted(), utc_ms: 0 }).expect("can be equipped");
    let (first, second) = colliding(probe.answer().board);
    let (id, other) = (codec::identity(&first), codec::identity(&second));
    assert!(id != other && id.short() == other.short());

    assert_eq!(probe.keep(first.clone()).expect("the first is kept"), id);
    match probe.keep(second) {
        Err(ProbeError::Refused(Refusal::ShortIdTaken { short })) => assert_eq!(short, id.short()),
        other => panic!("expected a refusal, got {other:?}"),
    }
    assert_eq!(probe.record(id).expect("still there"), first);
    let listed = probe.records().expect("a list");
    assert_eq!(listed.len(), 1);
    assert!(listed[0].id == id && listed[0].in_force);

    // The same record again is no other record: keeping it changes nothing.
    assert_eq!(probe.keep(first).expect("kept already"), id);
    assert_eq!(probe.records().expect("a list").len(), 1);
}
