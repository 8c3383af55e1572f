//! Sessions of the real firmware on the virtual bench, in this process and in simulated time.

use std::path::Path;

use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark::session::entry::EndReason;
use rillmark::session::log::{Event, Logged, Plan, log};
use rillmark::session::replay::{Match, Session, Summary, open, replay};
use rillmark::session::writer::Writer;
use rillmark_metrology::assess::Assessment;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, codec};
use rillmark_proto::wire::message::Sampling;

/// Keeps an invented calibration without points, as a probe would get it from the routine.
fn keep(probe: &mut Probe, result: CalibrationResult) {
    let record = CalibrationRecord {
        board: probe.answer().board,
        fitted: fitted(),
        utc_ms: probe.link().utc_ms(),
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
    };
    let bytes = codec::encode(&record.into()).expect("its numbers are finite");
    let id = probe.keep(bytes.clone()).expect("it is kept");
    assert_eq!(id, codec::identity(&bytes));
    assert_eq!(probe.record(id).expect("it is handed out"), bytes);
}

fn fitted() -> Fitted {
    let serial = |text: &str| Some(text.try_into().expect("short enough"));
    Fitted { electrode: serial("E-1"), cell: serial("K-1"), thermometer: serial("T-1") }
}

fn calibrated(link: VirtualLink) -> Probe {
    let mut probe = Probe::connect(Box::new(link)).expect("it answers");
    let utc_ms = probe.link().utc_ms();
    probe.equip(Equipment { fitted: fitted(), utc_ms }).expect("it is kept");
    probe.set_clock().expect("it has one");
    let covariance = PhCovariance { slope: 1e-6, offset_mv2: 0.04, slope_offset_mv: 0.0 };
    let ph = PhCalibration { covariance, ..PhCalibration::exact(0.983, -7.3) };
    keep(&mut probe, CalibrationResult::Ph(ph));
    keep(
        &mut probe,
        CalibrationResult::Conductivity(ConductivityCalibration {
            variance_per_cm2: 2e-5,
            ..ConductivityCalibration::exact(1.021, Compensation::Linear { per_kelvin: 0.0191 })
        }),
    );
    probe
}

fn plan(for_s: u64) -> Plan {
    Plan {
        sampling: Sampling::Full { interval_ms: 5_000 },
        count: None,
        for_ms: Some(for_s * 1000),
        note: Some("an invented lake".into()),
        junction_ph: Some(0.07),
        measured: None,
    }
}

/// What was logged, and what was made of each reading when it came.
fn logged(probe: &mut Probe, file: &Path, for_s: u64) -> (Logged, Vec<Assessment>) {
    let mut writer = Writer::create(file).expect("a new file");
    let mut live = Vec::new();
    let watch = &mut |event: Event<'_>| {
        if let Event::Reading { assessment, .. } = event {
            live.push(assessment.clone());
        }
        Ok(())
    };
    let logged =
        log(probe, &mut writer, &plan(for_s), &|| false, watch).expect("nothing goes wrong");
    (logged, live)
}

/// What the file says, once it is seen that it gives the very same answers as the readings did live.
fn replayed(file: &Path, live: &[Assessment]) -> (Session, Summary) {
    let bytes = std::fs::read(file).expect("it was written");
    let session = open(&bytes[..]).expect("a session");
    let mut live = live.iter();
    let summary = replay(&bytes[..], &session, &[], |replayed| {
        assert_eq!(Some(&replayed.assessment), live.next());
        assert_eq!(replayed.matches, Match::Same, "{replayed:?}");
        assert!(replayed.reading.computed.ph.is_some(), "{replayed:?}");
        assert!(replayed.reading.computed.specific_conductance_us_cm.is_some());
        assert!(replayed.utc_ms.is_some());
    })
    .expect("nothing is refused");
    (session, summary)
}

#[test]
fn ten_minutes_of_the_lake_match_to_the_bit() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lake");
    let mut probe = calibrated(VirtualLink::open(None).expect("a bench"));
    let (logged, live) = logged(&mut probe, &file, 600);
    // The first ones wait for the glass, which was just put into the lake.
    assert!((116..=121).contains(&logged.readings), "{logged:?}");
    let (session, summary) = replayed(&file, &live);
    let expected = Summary {
        readings: logged.readings,
        parts: 1,
        end: Some(EndReason::Done),
        tally: logged.tally,
        ..Summary::default()
    };
    assert_eq!(summary, expected);
    // The junction that a stir check told of is in every pH.
    let doubts: Vec<f64> = live.iter().filter_map(|it| it.uncertainty.ph).collect();
    assert!(doubts.len() >= live.len() - 3 && doubts.iter().all(|u| *u > 0.07), "{doubts:?}");
    assert_eq!(session.records.len(), 2);
    assert_eq!(session.headers[0].equipment.as_ref().map(|it| &it.fitted), Some(&fitted()));
    assert_eq!(*session.notes, ["an invented lake"]);
}

#[test]
fn pulled_cables_are_gaps_and_all_else_is_there() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = folder.path().join("lake");
    let mut link = VirtualLink::open(None).expect("a bench");
    link.pull_cable(60_000..100_000);
    link.pull_cable(200_000..203_000);
    let mut probe = calibrated(link);
    let (logged, live) = logged(&mut probe, &file, 400);
    assert_eq!(logged.gaps, 2);
    let (session, summary) = replayed(&file, &live);
    assert_eq!((summary.readings, summary.gaps), (logged.readings, 2));
    assert!((5..=12).contains(&summary.missing_readings), "{summary:?}");
    assert_eq!(session.headers.len(), 1, "nothing has changed");
    assert_eq!((summary.damaged_bytes, summary.unresolved), (0, 0));
}
