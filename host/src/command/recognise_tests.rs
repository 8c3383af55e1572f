//! What a scripted probe is taken to stand in.

use std::cell::RefCell;
use std::rc::Rc;

use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::record::CalibrationRecord;
use serde_json::Value;

use super::*;
use crate::link::fake::{FakeLink, UTC_AT_ZERO, World};
use crate::session::sample::{kept, ph_record, reading};

const DAY_MS: i64 = 86_400_000;

/// What is said, as JSON or as text, of a probe under this calibration in a beaker of this many mV.
fn said(record: &CalibrationRecord, mv: f64, json: bool) -> String {
    let world: Rc<RefCell<World>> = World::new();
    {
        let mut world = world.borrow_mut();
        world.records = vec![kept(record, true)];
        for running in 0..200 {
            let mut reading = reading(running);
            reading.raw.potential_nv = Some((mv * 1e6) as i32);
            reading.raw.thermometer_milliohm = Some(1_097_347);
            reading.flags = Default::default();
            reading.time.ms = 10_000 + u64::from(running) * 500;
            world.reads(1_000 + u64::from(running) * 500, reading);
        }
    }
    let mut probe = Probe::connect(Box::new(FakeLink(world))).expect("it answers");
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
    let names = ["citrate", "phthalate-1977"].map(str::to_owned);
    let specs = candidates(&names, Quantity::Ph).expect("buffers");
    look_at(&mut probe, Quantity::Ph, None, &specs, || false, &mut context).expect("it looks");
    String::from_utf8(out).expect("UTF-8")
}

fn json(record: &CalibrationRecord, mv: f64) -> Value {
    serde_json::from_str(&said(record, mv, true)).expect("JSON")
}

/// What the electrode of [`ph_record`] gives in citrate (3.776) at 25 °C: 0.98 · 59.16 · 3.224 − 2.5 mV.
const CITRATE_MV: f64 = 184.4;

#[test]
fn a_calibration_in_the_clock_s_future_has_no_age_and_that_is_said() {
    let later = CalibrationRecord { utc_ms: UTC_AT_ZERO + 156 * DAY_MS, ..ph_record(0.98) };
    let seen = json(&later, CITRATE_MV);
    assert_eq!(seen["calibration_age_days"], Value::Null);
    assert_eq!(seen["remarks"][0]["code"], "calibrated-later");
    let text = said(&later, CITRATE_MV, false);
    assert!(text.contains("age is not known") && !text.contains("-156"), "{text}");
}

/// Citrate is 13.6 mV from phthalate: an electrode that hardly drifts is told apart after a month, one
/// that is known to drift by half a millivolt a day is not.
#[test]
fn what_is_possible_grows_by_the_drift_that_the_record_states() {
    let drifting = |rate_uncertainty| {
        let offset_mv = Drift { rate_uncertainty, ..Drift::default() };
        let drift = SensorDrift::Electrode { offset_mv, slope: Drift::default() };
        let utc_ms = UTC_AT_ZERO - 30 * DAY_MS;
        json(&CalibrationRecord { utc_ms, due_utc_ms: None, drift, ..ph_record(0.98) }, CITRATE_MV)
    };
    let (calm, restless) = (drifting(0.0), drifting(0.5));
    assert_eq!((&calm["answer"], &calm["remarks"]), (&"one".into(), &serde_json::json!([])));
    assert_eq!(restless["answer"], "ambiguous");
}
