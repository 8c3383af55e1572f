//! What is seen live against what is read back.

use std::cell::RefCell;
use std::io::Write;
use std::rc::Rc;

use rillmark_proto::reading::Flags;
use serde_json::Value;

use super::super::replay;
use super::*;
use crate::link::fake::{FakeLink, World};
use crate::session::log::{Plan, log};
use crate::session::sample::{
    Memory, cell_record, equipment, kept, kept_record, ph_record, reading, verification_record,
};

const COUNT: u64 = 40;
/// The reading whose cell changed while it was read.
const CHANGED: u32 = 7;
const JUNCTION: f64 = 0.06;

/// A probe with calibrations, one of them overdue and verified since, in a water that moves.
fn probe() -> Probe {
    let world: Rc<RefCell<World>> = World::new();
    {
        let mut world = world.borrow_mut();
        let mut electrode = ph_record(0.98);
        electrode.due_utc_ms = Some(electrode.utc_ms + 3_600_000);
        let verification = verification_record(&electrode).into();
        world.equipment = Some(equipment());
        world.records = vec![
            kept(&electrode, true),
            kept(&cell_record(), true),
            kept_record(&verification, false),
        ];
        let (short, _) = &world.records[0];
        let electrode = short.id.short();
        for running in 0..COUNT as u32 {
            let mut reading = reading(running);
            if running == CHANGED {
                reading.flags = Flags::CELL_CHANGED;
            }
            reading.calibrations.ph = Some(electrode);
            let settling = (-f64::from(running) / 8.0).exp();
            reading.raw.potential_nv = Some(-20_500_000 - (3e7 * settling) as i32);
            world.reads(1_000 + u64::from(running) * 5_000, reading);
        }
    }
    Probe::connect(Box::new(FakeLink(world))).expect("it answers")
}

/// What a command prints as JSON lines.
fn lines(run: impl FnOnce(&mut Context<'_>)) -> Vec<Value> {
    let (mut out, mut progress) = (Vec::new(), Vec::new());
    let mut answers: &[u8] = &[];
    run(&mut Context {
        json: true,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut progress,
        answers: &mut answers,
    });
    let text = String::from_utf8(out).expect("UTF-8");
    text.lines().map(|line| serde_json::from_str(line).expect("JSON")).collect()
}

/// A file of what was measured of this board, far from what its parts are called.
fn measured() -> tempfile::NamedTempFile {
    let board = probe().answer().board;
    let mut file = tempfile::NamedTempFile::new().expect("a temporary file");
    let lines = "r11-ohm = [2005.5, 0.4]\noffset-mv = [1.5, 0.05]\nmid-v = [1.65, 0.009]\n";
    file.write_all(format!("board = \"{board}\"\n{lines}").as_bytes()).expect("there is room");
    file
}

#[test]
fn a_session_read_back_says_of_each_reading_what_was_said_when_it_came() {
    let file = measured();
    let measured = Measured::read(file.path()).expect("a file");
    let [any, own] = [None, Some(&measured)].map(read_back);
    assert_eq!(own[0]["counted_with"]["lines"], serde_json::json!(["r11-ohm", "offset-mv"]));
    let kelvin = |lines: &[Value]| lines[0]["standard_uncertainty"]["temperature_k"].as_f64();
    assert!(kelvin(&own) > kelvin(&any), "a resistor that is far off is more doubt");
    for (running, line) in (0..).zip(&any) {
        let has_changed = running == CHANGED;
        let said = |code: &str| {
            line["remarks"].as_array().expect("a list").iter().any(|it| it["code"] == code)
        };
        assert_eq!(said("cell-changed"), has_changed, "{line}");
        for name in ["conductivity_us_cm", "specific_conductance_us_cm"] {
            assert_eq!(line["standard_uncertainty"][name].is_null(), has_changed, "{line}");
            assert!(line[name].is_number(), "{line}");
        }
    }
}

/// Lines of `watch`, once they are seen to be those that a replay of a log of the same says.
fn read_back(measured: Option<&Measured>) -> Vec<Value> {
    let options = Options {
        count: Some(COUNT),
        every: None,
        only: None,
        junction: Some(JUNCTION),
        measured: None,
    };
    let live = lines(|context| {
        watch(&options, measured, 5_000, &mut probe(), context, || false).expect("it watches");
    });

    let memory = Memory::new();
    let plan = Plan {
        sampling: Sampling::Full { interval_ms: 5_000 },
        count: Some(COUNT),
        for_ms: None,
        note: None,
        junction_ph: Some(JUNCTION),
        measured: measured.map(Measured::kept),
    };
    log(&mut probe(), &mut memory.writer(), &plan, &|| false, &mut |_| Ok(())).expect("it logs");
    let mut file = tempfile::NamedTempFile::new().expect("a temporary file");
    file.write_all(&memory.content()).expect("there is room");
    let back = lines(|context| {
        // The values that the script recorded are not those of its raw integers.
        let _ = replay::run(replay::Options::of(file.path().to_owned()), context);
    });

    assert_eq!((live.len(), back.len()), (COUNT as usize, COUNT as usize + 1));
    for (live, back) in live.iter().zip(&back) {
        for key in ["raw", "standard_uncertainty", "state", "age_days", "remarks", "water"] {
            assert_eq!(live[key], back[key], "{key}");
        }
    }
    let states: Vec<_> = live.iter().map(|line| line["state"]["ph"].as_str()).collect();
    assert!(states.contains(&Some("not-known")) && states.contains(&Some("moving")), "{states:?}");
    assert_eq!(live[0]["remarks"][0]["code"], "overdue");
    let with = &back.last().expect("a summary")["summary"]["counted_with"];
    assert_eq!(with[0]["lines"], live[0]["counted_with"]["lines"]);
    assert_eq!(
        (&with[0]["kept"] == true, with.is_null()),
        (measured.is_some(), measured.is_none())
    );
    live
}
