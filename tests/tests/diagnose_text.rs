//! What `rillmark diagnose` says about probes of the bench, from sessions in known beakers and from
//! kept records, as a person reads it.

use std::path::Path;

use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark::link::{Link, LinkError};
use rillmark::session::log::{Plan, log};
use rillmark::session::writer::Writer;
use rillmark_bench::{Ailment, Ailments, Beaker, Faults, Setup};
use rillmark_metrology::reference::buffers;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, Record, codec};
use rillmark_proto::wire::message::Sampling;
use rillmark_tests::binary::said;
use serde_json::Value;

/// When the sensors come into which beaker, in s after the first reading, at which temperature.
const BEAKERS: [(u64, &str, f64); 7] = [
    (0, "technical-7.00", 21.0),
    (240, "technical-4.01", 21.4),
    (420, "technical-10.01", 20.8),
    (600, "technical-7.00", 9.0),
    (740, "technical-4.01", 9.2),
    (880, "kcl-0.01-mol-per-l", 21.0),
    (980, "kcl-label-12880", 21.2),
];
/// When the water is stirred, in s.
const STIRRED: [(u64, u64); 2] = [(80, 100), (130, 150)];
/// When a reference thermometer is read: in the first standard, whose temperature it tells.
const REFERENCE: &str = "21.0@950";
/// Length of the session in ms.
const LENGTH_MS: u64 = 1_070_000;
const SEED: u64 = 12;

/// A line to a bench whose beakers are changed by a timetable.
struct Timetable {
    link: VirtualLink,
    /// When the timetable begins, in ms of the bench.
    began_ms: u64,
    done_s: Option<u64>,
}

impl Timetable {
    /// Brings beaker and stirrer into the state of the last full second.
    fn follow(&mut self) {
        let now_s = self.link.monotonic_ms().saturating_sub(self.began_ms) / 1_000;
        for s in self.done_s.map_or(0, |done| done + 1)..=now_s {
            if let Some((_, name, celsius)) = BEAKERS.iter().find(|(at, ..)| *at == s) {
                let beaker = Beaker::named(name, *celsius).expect("a known solution");
                self.link.bench().place(beaker).expect("within its table");
            }
            if STIRRED.iter().any(|(from, to)| *from == s || *to == s) {
                let moving = STIRRED.iter().any(|(from, _)| *from == s);
                self.link.bench().stir(moving);
            }
        }
        self.done_s = Some(now_s);
    }
}

impl Link for Timetable {
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError> {
        let until = self.monotonic_ms() + patience_ms;
        loop {
            self.follow();
            let left = until.saturating_sub(self.monotonic_ms());
            let count = self.link.receive(into, left.min(100))?;
            if count > 0 || left == 0 {
                return Ok(count);
            }
        }
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.link.send(bytes)
    }

    fn reopen(&mut self) -> Result<(), LinkError> {
        self.link.reopen()
    }

    fn monotonic_ms(&self) -> u64 {
        self.link.monotonic_ms()
    }

    fn utc_ms(&self) -> i64 {
        self.link.utc_ms()
    }

    fn wait(&mut self, ms: u64) {
        self.link.wait(ms);
    }

    fn name(&self) -> &str {
        "timetable"
    }
}

/// Keeps the calibrations that the probe had while it was sound.
fn keep_calibrations(probe: &mut Probe, slope: f64, offset_mv: f64, cell_per_cm: f64) {
    let serial = |text: &str| Some(text.try_into().expect("fits"));
    let fitted = Fitted { electrode: serial("E-17"), cell: serial("K-3"), thermometer: None };
    probe.equip(Equipment { fitted: fitted.clone(), utc_ms: 0 }).expect("can be equipped");
    let compensation = Compensation::Linear { per_kelvin: 0.0191 };
    for result in [
        CalibrationResult::Ph(PhCalibration::exact(slope, offset_mv)),
        CalibrationResult::Conductivity(ConductivityCalibration::exact(cell_per_cm, compensation)),
    ] {
        let record = codec::encode(&Record::from(CalibrationRecord {
            board: probe.answer().board,
            fitted: fitted.clone(),
            utc_ms: 0,
            due_utc_ms: None,
            operator: "made up".try_into().expect("fits"),
            points: Default::default(),
            result,
            outcome: Outcome::Adjusted,
            incident: None,
            stored_days: None,
            drift: result.usual_drift(),
            previous: None,
            as_left: None,
            overrides: Default::default(),
        }))
        .expect("a small record");
        probe.keep(record).expect("it is kept");
    }
}

/// Logs the timetable of an ailing probe into a session.
fn record(path: &Path, ailments: Ailments) {
    let setup = Setup { seed: SEED, ..Setup::default() };
    let mut link = VirtualLink::with(setup, "bench").expect("a bench in memory");
    let contaminated = buffers::by_name("technical-4.01");
    link.bench().set_faults(Faults { ailments, contaminated, ..Faults::default() });
    let truth = link.bench().truth();
    let began_ms = link.monotonic_ms() + 5_000;
    let mut probe = Probe::connect(Box::new(Timetable { link, began_ms, done_s: None }))
        .expect("the bench answers");
    keep_calibrations(&mut probe, truth.slope, truth.offset_mv, truth.cell_per_cm);
    let left = began_ms.saturating_sub(probe.link().monotonic_ms());
    probe.link_mut().wait(left);
    let mut writer = Writer::create(path).expect("a new file");
    let plan = Plan {
        sampling: Sampling::Full { interval_ms: 0 },
        count: None,
        for_ms: Some(LENGTH_MS),
        note: None,
        junction_ph: None,
        measured: None,
    };
    log(&mut probe, &mut writer, &plan, &|| false, &mut |_| Ok(())).expect("it is logged");
}

/// What is said about the session of an ailing probe.
fn diagnosed(ailments: Ailments, json: bool) -> String {
    let folder = tempfile::tempdir().expect("a folder");
    record(&folder.path().join("check.session"), ailments);
    let beakers: Vec<String> =
        BEAKERS.iter().map(|(s, name, _)| format!("--in={name}@{s}")).collect();
    let stirred: Vec<String> =
        STIRRED.iter().map(|(from, to)| format!("--stirred={from}..{to}")).collect();
    let reference = format!("--reference-temperature={REFERENCE}");
    let mut arguments = vec!["diagnose", "check.session", &reference];
    arguments.extend(beakers.iter().chain(&stirred).map(String::as_str));
    if json {
        arguments.push("--json");
    }
    said(folder.path(), &arguments, "")
}

fn text(ailments: Ailments) -> String {
    diagnosed(ailments, false)
}

#[test]
fn a_healthy_probe() {
    insta::assert_snapshot!(text(Ailments::default()));
}

#[test]
fn ageing_glass() {
    insta::assert_snapshot!(text(Ailments::only(Ailment::AgeingGlass, 0.7)));
}

#[test]
fn cracked_glass() {
    insta::assert_snapshot!(text(Ailments::only(Ailment::CrackedGlass, 0.6)));
}

#[test]
fn a_contaminated_buffer() {
    insta::assert_snapshot!(text(Ailments::only(Ailment::ContaminatedBuffer, 0.6)));
}

#[test]
fn a_wet_connector_and_a_bubble() {
    let ailments = Ailments::only(Ailment::WetConnector, 0.6).with(Ailment::Bubble, 0.5);
    insta::assert_snapshot!(text(ailments));
}

/// Over the whole chain, chips and line included.
#[test]
fn faults_are_found_in_a_session() {
    for ailment in [
        Ailment::CloggedJunction,
        Ailment::ContaminatedJunction,
        Ailment::FouledCell,
        Ailment::ThermometerOffset,
        Ailment::Hum,
        Ailment::ThermometerOpen,
    ] {
        let answer = diagnosed(Ailments::only(ailment, 0.7), true);
        let json: Value = serde_json::from_str(answer.lines().next().expect("a line"))
            .unwrap_or_else(|error| panic!("{error}: {answer}"));
        let expected = serde_json::json!([[ailment.name()]]);
        assert_eq!((&json["answer"], &json["any_of"]), (&"likely".into(), &expected), "{answer}");
    }
}

#[test]
fn kept_records_and_what_they_cannot_tell() {
    let folder = tempfile::tempdir().expect("a folder");
    let run =
        |arguments: &[&str]| said(folder.path(), &[&["--port", "virtual"], arguments].concat(), "");
    let none = run(&["diagnose"]);
    run(&["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    let calibrate = [
        "calibrate",
        "ph",
        "--standard=phosphate-1-1,at=21",
        "--standard=phthalate-1977,at=21.4",
        "--standard=borax,at=20.8",
    ];
    assert!(run(&calibrate).ends_with("exit 0\n"));
    let once = run(&["diagnose"]);
    std::fs::write(folder.path().join("answers"), "done\ndone\ndone\nleave\n").expect("written");
    assert!(run(&[&calibrate[..], &["--answers", "answers"]].concat()).ends_with("exit 0\n"));
    let twice = run(&["diagnose"]);
    // Sensors, evidence, answer.
    let seen = twice.split("\n\n").nth(1).expect("the evidence");
    insta::assert_snapshot!(format!(
        "{none}\n--- calibrated ---\n{once}\n--- and once more ---\n{seen}"
    ));
}

/// The line of an electrode that was taken off says nothing about the one in its place.
#[test]
fn an_electrode_that_was_never_calibrated() {
    let folder = tempfile::tempdir().expect("a folder");
    let run =
        |arguments: &[&str]| said(folder.path(), &[&["--port", "virtual"], arguments].concat(), "");
    run(&["equip", "--electrode", "E-OLD", "--cell", "K-3"]);
    let calibrate =
        ["calibrate", "ph", "--standard=phosphate-1-1,at=21", "--standard=phthalate-1977,at=21.4"];
    assert!(run(&calibrate).ends_with("exit 0\n"));
    assert!(run(&["diagnose"]).starts_with("Looked at: electrode E-OLD, cell K-3.\n"));
    run(&["equip", "--electrode", "E-NEW"]);
    insta::assert_snapshot!(run(&["diagnose"]));
}

#[test]
fn a_trouble_without_a_name() {
    let ailments = Ailments::only(Ailment::LooseContact, 0.5).with(Ailment::Bubble, 0.5);
    insta::assert_snapshot!(text(ailments));
}

/// A cell that conducts some 16 % less than its maker says, at a first calibration.
#[test]
fn an_unclear_cell() {
    let folder = tempfile::tempdir().expect("a folder");
    let run =
        |arguments: &[&str]| said(folder.path(), &[&["--port", "virtual"], arguments].concat(), "");
    run(&["equip", "--electrode", "E-17", "--cell", "K-3", "--thermometer", "T-2"]);
    let calibrated = run(&["calibrate", "conductivity", "--standard=1413,at=25"]);
    assert!(calibrated.ends_with("exit 0\n"), "{calibrated}");
    let json = |stated: &str| -> Value {
        let said = run(&["diagnose", "--json", "--nominal-cell-constant", stated]);
        serde_json::from_str(said.lines().next().expect("a line")).expect("JSON")
    };
    let constant_of = |json: &Value| {
        let low = json["signs"]
            .as_array()
            .expect("signs")
            .iter()
            .find(|sign| sign["sign"] == "conductance-low");
        low.expect("compared")["value"].as_f64().expect("a number")
    };
    // Stated far too low, the cell seems to have lost much; that tells its constant.
    let constant = 0.5 / (1.0 - 0.01 * constant_of(&json("0.5")));
    let stated = format!("{:.4}", 0.84 * constant);
    let unclear = run(&["diagnose", "--nominal-cell-constant", &stated]);
    insta::assert_snapshot!(unclear);
    assert_eq!(json(&stated)["answer"], "unclear");
}

#[test]
fn what_cannot_be_looked_at_is_one_sentence() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::write(folder.path().join("letter.txt"), "Dear lake").expect("written");
    record(&folder.path().join("a.session"), Ailments::default());
    let run = |arguments: &[&str]| said(folder.path(), arguments, "");
    insta::assert_snapshot!(
        [
            run(&["diagnose", "letter.txt"]),
            run(&["diagnose", "missing.session"]),
            run(&["diagnose", "a.session", "--in", "tea@3"]),
            run(&["diagnose", "a.session", "a.session", "--in", "borax@3"]),
            run(&["diagnose", "a.session", "--in", "borax@3", "--in", "borax@1200"]),
            run(&["diagnose", "a.session", "--stirred", "1000..1300", "--in", "borax@1070"]),
            run(&["diagnose", "a.session", "--reference-temperature", "21@1100"]),
            // A minute late, and the last beakers not named.
            run(&[
                "diagnose",
                "a.session",
                "--in",
                "technical-7.00@0",
                "--in",
                "technical-4.01@300"
            ]),
            run(&["diagnose", "a.session", "--in", "kcl-0.01-mol-per-l@880"]),
            run(&["--port", "virtual", "diagnose", "--stirred", "3..5"]),
        ]
        .concat()
    );
}
