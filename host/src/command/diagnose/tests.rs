//! Diagnoses of invented sessions and records.

use std::path::PathBuf;

use rillmark_metrology::fit::ph::DEFAULT_BUFFER_UNCERTAINTY;
use rillmark_metrology::reference::buffers;
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_proto::reading::{CalibrationsUsed, Flags, ProbeTime, Raw, Reading};
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Point, Record, Signal};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;
use serde_json::Value;

use super::*;
use crate::link::fake::{empty_reading, reading_frame};
use crate::session::entry::{Entry, Header, HostTime, Mark};
use crate::session::sample::{
    cell_record, header, kept, kept_record, mark, ph_record, verification_record,
};
use crate::session::source::Source;

const AT_25: Celsius = Celsius::new(25.0);
/// 25 °C by IEC 60751 (recalled, not checked).
const AT_25_MILLIOHM: u32 = 1_097_347;
/// Stay in each beaker in s.
const STAY_S: u32 = 180;
/// Three buffers that no air changes, and what an electrode gives in them in mV beside a straight line.
const BUFFERS: [(&str, f64); 3] =
    [("technical-7.00", 0.0), ("technical-4.01", 2.5), ("tetroxalate", 0.0)];

fn reading(running: u32, mv: f64) -> Reading {
    Reading {
        time: ProbeTime { boot: 3, ms: 10_000 + u64::from(running) * 1_000 },
        raw: Raw {
            potential_nv: Some((mv * 1e6) as i32),
            conductance: None,
            thermometer_milliohm: Some(AT_25_MILLIOHM),
        },
        calibrations: CalibrationsUsed::default(),
        ..empty_reading(running)
    }
}

fn bytes(header: Header, records: &[Entry], readings: &[Reading]) -> Vec<u8> {
    let entry = |entry: &Entry| entry.frame().expect("it fits");
    let mut bytes = [entry(&Entry::opening()), entry(&Entry::Header(header))].concat();
    records.iter().for_each(|record| bytes.extend(entry(record)));
    bytes.extend(entry(&mark(&readings[0])));
    readings.iter().for_each(|reading| bytes.extend(reading_frame(*reading)));
    bytes
}

fn buffer(name: &str) -> &'static Buffer {
    buffers::by_name(name).expect("known")
}

/// What an electrode without fault gives in a buffer at 25 °C, in mV.
fn mv(name: &str) -> f64 {
    let ph = buffer(name).ph(AT_25).expect("in range").value;
    nernst::millivolts_per_ph(AT_25) * (7.0 - ph)
}

#[test]
fn the_same_beakers_are_judged_alike_from_a_session_and_from_a_record() {
    let stays = (0..).zip(BUFFERS).flat_map(|(beaker, (name, off))| {
        let potential = mv(name) + off;
        (0..STAY_S).map(move |s| reading(beaker * STAY_S + s, potential))
    });
    let bytes = bytes(header(&[]), &[], &stays.collect::<Vec<_>>());
    let source = Source::held(bytes);
    let session = source.session().expect("a session");
    let marks: Vec<In> = (0..)
        .zip(BUFFERS)
        .map(|(beaker, (name, _))| In { name: name.into(), from_s: f64::from(beaker * STAY_S) })
        .collect();
    let logged = sources::Logged { source, session };
    let seen = session_evidence(&logged, &marks, &[], None).expect("known buffers");
    let seen = seen.electrode.disagreement.expect("three buffers");

    let like = ph_record(1.0);
    let points = BUFFERS.map(|(name, off)| Point {
        standard: name.try_into().expect("short enough"),
        value: buffer(name).ph(AT_25).expect("in range").value,
        // As a calibration takes a bottle of which nothing is stated.
        value_uncertainty: buffer(name)
            .uncertainty()
            .standard
            .max(DEFAULT_BUFFER_UNCERTAINTY.value),
        value_per_kelvin: buffer(name).ph_per_kelvin(AT_25).expect("in range"),
        temperature_c: 25.0,
        signal: Signal::PotentialNv(((mv(name) + off) * 1e6) as i32),
        ..like.points[0].clone()
    });
    let record = CalibrationRecord { points: points.into_iter().collect(), ..like };
    let kept = records::evidence([&record].into_iter(), &record.fitted)
        .electrode
        .disagreement
        .expect("the same");
    assert!((seen / kept - 1.0).abs() < 0.02, "{seen} from the session, {kept} from the record");
}

#[test]
fn seconds_are_the_probes_whatever_the_computers_clock_does() {
    let stays = (0..).zip(BUFFERS).flat_map(|(beaker, (name, off))| {
        let potential = mv(name) + off;
        (0..STAY_S).map(move |s| reading(beaker * STAY_S + s, potential))
    });
    let stays: Vec<_> = stays.collect();
    let marks: Vec<In> = (0..)
        .zip(BUFFERS)
        .map(|(beaker, (name, _))| In { name: name.into(), from_s: f64::from(beaker * STAY_S) })
        .collect();
    let evidence = |bytes: Vec<u8>| {
        let source = Source::held(bytes);
        let session = source.session().expect("a session");
        let logged = sources::Logged { source, session };
        let mut seen =
            session_evidence(&logged, &marks, &[], None).expect("known buffers").electrode;
        // By which clock it was is another matter.
        seen.line_utc_ms = None;
        seen
    };
    let whole = evidence(bytes(header(&[]), &[], &stays));
    let mut set = bytes(header(&[]), &[], &stays[..STAY_S as usize]);
    let after = &stays[STAY_S as usize];
    let at = HostTime { monotonic_ms: after.time.ms, utc_ms: 0 };
    let back = Entry::Mark(Mark { boot: after.time.boot, probe_ms: after.time.ms, at, headers: 1 });
    set.extend(back.frame().expect("it fits"));
    stays[STAY_S as usize..].iter().for_each(|reading| set.extend(reading_frame(*reading)));
    assert!(whole.disagreement.is_some());
    assert_eq!(evidence(set), whole);

    // A bench that runs at a hundred times the pace of the computer's clock.
    let mut fast = bytes(header(&[]), &[], &stays[..1]);
    for reading in &stays[1..] {
        let ms = reading.time.ms;
        let at = HostTime { monotonic_ms: ms / 100, utc_ms: (ms / 100).cast_signed() };
        let mark = Mark { boot: reading.time.boot, probe_ms: ms, at, headers: 1 };
        fast.extend(Entry::Mark(mark).frame().expect("it fits"));
        fast.extend(reading_frame(*reading));
    }
    assert_eq!(evidence(fast), whole);
}

/// What a run over files of this content says, and how it ends.
fn say(files: &[&[u8]], json: bool) -> (Result<(), Failure>, String) {
    let folder = tempfile::tempdir().expect("a folder");
    let path = |(number, bytes): (usize, &&[u8])| {
        let path = folder.path().join(number.to_string());
        std::fs::write(&path, bytes).expect("there is room");
        path
    };
    let files: Vec<PathBuf> = files.iter().enumerate().map(path).collect();
    let (mut out, mut progress) = (Vec::new(), Vec::new());
    let mut answers: &[u8] = &[];
    let mut context = Context {
        json,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut progress,
        answers: &mut answers,
    };
    let options = Options {
        files,
        beakers: Vec::new(),
        stirred: Vec::new(),
        reference_temperature: None,
        nominal_cell_constant: None,
    };
    let result = run(options, &mut context);
    (result, String::from_utf8(out).expect("UTF-8"))
}

fn json(files: &[&[u8]]) -> (Result<(), Failure>, Value) {
    let (result, out) = say(files, true);
    (result, serde_json::from_str(&out).unwrap_or_default())
}

/// Two minutes in some water.
fn calm() -> Vec<Reading> {
    (0..120).map(|running| reading(running, 20.0)).collect()
}

fn exported(record: impl Into<Record>) -> Vec<u8> {
    kept_record(&record.into(), true).1.to_vec()
}

#[test]
fn what_one_of_several_sessions_shows_counts_whichever_is_named_first() {
    let mut loose = calm();
    for reading in &mut loose[30..50] {
        reading.raw.thermometer_milliohm = None;
        reading.flags = Flags::THERMOMETER_OPEN;
    }
    let (loose, calm) = (bytes(header(&[]), &[], &loose), bytes(header(&[]), &[], &calm()));
    let (alone, seen) = json(&[&loose]);
    assert_eq!(seen["any_of"], serde_json::json!([["thermometer-open"]]));
    let (result, both) = json(&[&loose, &calm]);
    assert_eq!((result, &both["any_of"]), (alone, &seen["any_of"]));
    assert_eq!(json(&[&calm, &loose]).1, both);
    assert_eq!(json(&[&calm, &loose, &calm]).1["any_of"], seen["any_of"]);
}

#[test]
fn a_record_of_an_electrode_that_is_not_fitted_is_no_evidence() {
    let mut header = header(&[]);
    let fitted = &mut header.equipment.as_mut().expect("somebody said").fitted;
    fitted.electrode = Some("E-NEW".try_into().expect("short enough"));
    let session = bytes(header, &[], &calm());
    let (record, cell) = (exported(ph_record(0.98)), exported(cell_record()));
    let (_, seen) = json(&[&session, &record, &cell]);
    assert_eq!(seen["fitted"]["electrode"], "E-NEW");
    assert_eq!(seen["fitted"]["cell"], "K1");
    let kinds = seen["evidence"].as_array().expect("kinds");
    assert!(!kinds.contains(&"two-buffers".into()), "{kinds:?}");
    let passed = seen["passed_over"].as_array().expect("records");
    assert_eq!(passed.len(), 1);
    assert_eq!((&passed[0]["why"], &passed[0]["serial"]), (&"not-fitted".into(), &"E-17".into()));
    let (_, text) = say(&[&session, &record, &cell], false);
    assert!(text.starts_with("Looked at: electrode E-NEW, cell K1"), "{text}");
    assert!(text.contains("1 record of electrode E-17, which is not fitted"), "{text}");
}

#[test]
fn sessions_of_two_electrodes_are_not_judged_together() {
    let mut other = header(&[]);
    let fitted = &mut other.equipment.as_mut().expect("somebody said").fitted;
    fitted.electrode = Some("E-NEW".try_into().expect("short enough"));
    let (one, other) = (bytes(header(&[]), &[], &calm()), bytes(other, &[], &calm()));
    let (result, out) = say(&[&one, &other], false);
    let failure = result.expect_err("two electrodes");
    assert_eq!((failure.exit, out.as_str()), (Exit::BadInput, ""));
    assert!(failure.sentence.contains("E-17") && failure.sentence.contains("E-NEW"), "{failure}");
}

/// Its points are those of a sound electrode; what readings are computed with is not.
#[test]
fn coefficients_that_are_not_those_of_the_points_are_told() {
    let (sound, other) = (exported(ph_record(0.98)), exported(ph_record(0.5)));
    let (_, seen) = json(&[&sound]);
    assert_eq!(seen["coefficients_part"], serde_json::json!([]), "{seen}");
    let (_, seen) = json(&[&other]);
    assert_eq!(seen["coefficients_part"][0]["unit"], "pH", "{seen}");
    assert!(seen["coefficients_part"][0]["by"].as_f64().is_some_and(|by| by > 2.0), "{seen}");
    let (result, text) = say(&[&other], false);
    assert_eq!(result.expect_err("nothing to rely on").exit, Exit::Fails);
    assert!(text.contains("NOT those of its points"), "{text}");

    let of = |cell_constant_per_cm| {
        let mut record = cell_record();
        if let CalibrationResult::Conductivity(cell) = &mut record.result {
            cell.cell_constant_per_cm = cell_constant_per_cm;
        }
        json(&[&exported(record)]).1["coefficients_part"].clone()
    };
    assert_eq!(of(1.009), serde_json::json!([]));
    assert_eq!(of(2.0)[0]["unit"], "%");
}

#[test]
fn an_altered_record_of_a_session_is_passed_over_and_that_is_said() {
    let (record, other) = (ph_record(0.98), ph_record(0.80));
    let held = |record: &CalibrationRecord, identity: &CalibrationRecord| Entry::Record {
        id: kept(identity, true).0.id,
        bytes: exported(record.clone()),
    };
    let sound = bytes(header(&[]), &[held(&record, &record)], &calm());
    let altered = bytes(header(&[]), &[held(&other, &record)], &calm());
    let has_line =
        |seen: &Value| seen["evidence"].as_array().expect("kinds").contains(&"two-buffers".into());
    let (_, seen) = json(&[&sound]);
    assert!(has_line(&seen) && seen["passed_over"] == serde_json::json!([]), "{seen}");
    let (_, seen) = json(&[&altered]);
    assert!(!has_line(&seen), "{seen}");
    assert_eq!(seen["passed_over"][0]["why"], "altered");
    let (_, text) = say(&[&altered], false);
    let short = kept(&record, true).0.id.short().to_string();
    assert!(text.contains(&short) && text.contains("altered"), "{text}");
}

#[test]
fn a_failed_verification_is_told_until_the_same_standard_passes() {
    let calibration = ph_record(0.98);
    let failed = verification_record(&calibration);
    let (alone, _) = json(&[&exported(calibration.clone())]);
    assert_eq!(alone, Ok(()));
    let files = [exported(calibration.clone()), exported(failed.clone())];
    let (result, seen) = json(&[&files[0], &files[1]]);
    assert_eq!(result.expect_err("it failed").exit, Exit::Fails);
    assert_eq!(seen["failed_verifications"][0]["found"], 7.31);
    let (_, text) = say(&[&files[0], &files[1]], false);
    assert!(!text.contains("Nothing found in what was examined ("), "{text}");
    assert!(text.contains("phosphate-1-3.5"), "{text}");
    assert!(text.lines().all(|line| line.chars().count() <= 80), "{text}");

    let later =
        |verdict, utc_ms| exported(VerificationRecord { verdict, utc_ms, ..failed.clone() });
    let passed = later(Verdict::Pass, failed.utc_ms + 1);
    let (result, seen) = json(&[&passed, &files[0], &files[1]]);
    assert_eq!((result, &seen["failed_verifications"]), (Ok(()), &serde_json::json!([])));
    let before = later(Verdict::Pass, failed.utc_ms - 1);
    assert!(json(&[&files[0], &files[1], &before]).0.is_err());
    // A calibration since then was not what failed.
    let anew = CalibrationRecord { utc_ms: failed.utc_ms + 2, ..calibration };
    assert_eq!(json(&[&files[0], &files[1], &exported(anew)]).0, Ok(()));
}
