//! Diagnoses of invented sessions and records.

use std::path::PathBuf;

use rillmark_proto::calibration::ph::DEFAULT_BUFFER_UNCERTAINTY;
use rillmark_proto::reading::{CalibrationsUsed, ProbeTime, Raw, Reading};
use rillmark_proto::record::{CalibrationRecord, Point, Signal};
use rillmark_proto::reference::buffers::{self, Buffer};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;

use super::*;
use crate::link::fake::{empty_reading, reading_frame};
use crate::session::entry::{Entry, Header};
use crate::session::replay::open;
use crate::session::sample::{header, mark, ph_record};

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
    let session = open(&bytes).expect("a session");
    let marks: Vec<In> = (0..)
        .zip(BUFFERS)
        .map(|(beaker, (name, _))| In { name: name.into(), from_s: f64::from(beaker * STAY_S) })
        .collect();
    let logged = sources::Logged { bytes, session };
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
    let kept = records::evidence([&record].into_iter()).electrode.disagreement.expect("the same");
    assert!((seen / kept - 1.0).abs() < 0.02, "{seen} from the session, {kept} from the record");
}
