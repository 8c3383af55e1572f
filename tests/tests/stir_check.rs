//! One water still and stirred on the bench: what is told about the junction.

use rillmark::command::{Context, stir_check};
use rillmark::exit::{Exit, Failure};
use rillmark::link::Link;
use rillmark::link::probe::Probe;
use rillmark::link::virtual_link::VirtualLink;
use rillmark_bench::{Ailment, Ailments, Beaker, Content, Faults, Setup};
use rillmark_metrology::reference::ionic_strength::residual_junction;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::record::fitted::{Equipment, Fitted};
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, Record, codec};
use rillmark_proto::units::MicrosiemensPerCm;
use rillmark_tests::binary::said;
use rillmark_tests::virtual_process::VirtualProcess;
use serde_json::Value;

/// How long the probe has stood in its water, in ms.
const STANDS_MS: u64 = 500_000;

/// A probe in an invented water, its coefficients as the bench's truth has them.
fn probe(seed: u64, specific_us_cm: f64, ailments: Ailments, calibrated: bool) -> Probe {
    probe_due(seed, specific_us_cm, ailments, calibrated, None)
}

/// The same with calibrations that are due then.
fn probe_due(
    seed: u64,
    specific_us_cm: f64,
    ailments: Ailments,
    calibrated: bool,
    due_utc_ms: Option<i64>,
) -> Probe {
    let setup = Setup { seed, ..Setup::default() };
    let mut link = VirtualLink::with(setup, "bench").expect("a bench in memory");
    let content = Content::Sample { ph: 6.4, specific_us_cm, per_kelvin: 0.0191 };
    link.bench().place(Beaker { content, temperature_c: 18.0 }).expect("a water");
    link.bench().set_faults(Faults { ailments, ..Faults::default() });
    let truth = link.bench().truth();
    // A clogged junction takes minutes to forget the water before.
    link.wait(STANDS_MS);

    let serial = |text: &str| Some(text.try_into().expect("fits"));
    let fitted =
        Fitted { electrode: serial("E-17"), cell: serial("K-3"), thermometer: serial("T-1") };
    let mut probe = Probe::connect(Box::new(link)).expect("the bench answers");
    probe.equip(Equipment { fitted: fitted.clone(), utc_ms: 0 }).expect("can be equipped");
    let compensation = Compensation::Linear { per_kelvin: 0.0191 };
    let results = [
        CalibrationResult::Ph(PhCalibration::exact(truth.slope, truth.offset_mv)),
        CalibrationResult::Conductivity(ConductivityCalibration::exact(
            truth.cell_per_cm,
            compensation,
        )),
    ];
    for result in results.into_iter().filter(|_| calibrated) {
        let record = codec::encode(&Record::from(CalibrationRecord {
            board: probe.answer().board,
            fitted: fitted.clone(),
            utc_ms: 0,
            due_utc_ms,
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
    probe
}

fn checked(probe: &mut Probe, json: bool) -> Result<String, Failure> {
    let mut out = Vec::new();
    let mut context = Context {
        json,
        port: None,
        probe: None,
        out: &mut out,
        progress: &mut std::io::sink(),
        answers: &mut std::io::empty(),
    };
    stir_check::check(probe, 72, || false, &mut context)?;
    Ok(String::from_utf8(out).expect("UTF-8"))
}

fn json(seed: u64, specific_us_cm: f64, ailments: Ailments) -> Value {
    let text = checked(&mut probe(seed, specific_us_cm, ailments, true), true).expect("compared");
    serde_json::from_str(&text).expect("one object")
}

fn codes(found: &Value) -> Vec<&str> {
    let judgements = found["judgements"].as_array().expect("a list");
    judgements.iter().map(|said| said["code"].as_str().expect("a code")).collect()
}

fn u_junction(found: &Value) -> f64 {
    found["junction_standard_uncertainty_ph"].as_f64().expect("told")
}

/// Seeds and severity are invented. A clogged junction is restless too, so one of them may come out as
/// `cannot-tell`; none passes.
#[test]
fn a_healthy_junction_passes_and_a_clogged_one_does_not() {
    let mut failed = 0;
    for seed in 1..4 {
        let healthy = json(seed, 400.0, Ailments::default());
        assert_eq!(healthy["verdict"], "pass", "{healthy}");
        assert_eq!(codes(&healthy), ["stir-alike"]);
        assert_eq!((&healthy["class"], &healthy["limit_ph"]), (&"ordinary".into(), &0.02.into()));

        let clogged = json(seed, 400.0, Ailments::only(Ailment::CloggedJunction, 0.7));
        assert_ne!(clogged["verdict"], "pass", "{clogged}");
        // The usual width of such a water, and the difference as a rectangle's half width.
        let us_cm = clogged["specific_conductance_us_cm"].as_f64().expect("measured");
        let usual = residual_junction(Some(MicrosiemensPerCm::new(us_cm))).value;
        let by_motion = clogged["difference_ph"].as_f64().expect("a number") / 3.0_f64.sqrt();
        assert!((u_junction(&clogged) - usual.hypot(by_motion)).abs() < 1e-9, "{clogged}");
        assert!(u_junction(&clogged) > 1.5 * u_junction(&healthy), "{clogged}");
        assert!(codes(&clogged).contains(&"stir-restless"), "{clogged}");
        failed += i32::from(clogged["verdict"] == "fail");
    }
    assert!(failed >= 2, "{failed}");
}

#[test]
fn an_overdue_calibration_is_told() {
    let mut probe = probe_due(1, 400.0, Ailments::default(), true, Some(1));
    let found: Value =
        serde_json::from_str(&checked(&mut probe, true).expect("compared")).expect("one object");
    let codes: Vec<_> = found["remarks"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|remark| (remark["code"].as_str(), remark["quantity"].as_str()))
        .collect();
    let overdue = Some("overdue");
    assert_eq!(codes, [(overdue, Some("ph")), (overdue, Some("conductivity"))]);
    assert!(
        checked(&mut probe, false).expect("again").contains("note: The pH calibration is overdue")
    );
    assert_eq!(json(1, 400.0, Ailments::default())["remarks"], serde_json::json!([]));
}

#[test]
fn a_dilute_water_is_called_one() {
    let dilute = json(3, 30.0, Ailments::default());
    assert_eq!(dilute["class"], "dilute");
    assert_eq!(dilute["verdict"], "pass", "{dilute}");
    let us_cm = dilute["specific_conductance_us_cm"].as_f64().expect("measured");
    let usual = residual_junction(Some(MicrosiemensPerCm::new(us_cm)));
    assert_eq!(u_junction(&dilute), usual.value);
    assert!((us_cm / 30.0 - 1.0).abs() < 0.01, "{us_cm}");
}

#[test]
fn without_a_calibration_there_is_no_ph_to_compare() {
    let failure = checked(&mut probe(1, 400.0, Ailments::default(), false), true).unwrap_err();
    assert_eq!(failure.exit, Exit::Refused);
    assert!(failure.sentence.contains("calibrate ph"), "{}", failure.sentence);
}

#[test]
fn a_person_reads_what_it_means() {
    let clogged = Ailments::only(Ailment::CloggedJunction, 0.7);
    let text = checked(&mut probe(2, 60.0, clogged, true), false).expect("compared");
    insta::assert_snapshot!(text);
}

#[test]
fn the_command_says_what_to_do_next() {
    let folder = tempfile::tempdir().expect("a folder");
    insta::assert_snapshot!(said(folder.path(), &["--port", "virtual", "stir-check"], ""));
}

/// A line without hands asks, and takes no answer for an answer.
#[test]
fn a_person_is_asked_and_may_cancel() {
    let bench = VirtualProcess::start(&["--tcp", "127.0.0.1:0"]);
    let folder = tempfile::tempdir().expect("a folder");
    let text = said(folder.path(), &["--port", &bench.port, "stir-check"], "what?\ncancel\n");
    insta::assert_snapshot!(text);
}
