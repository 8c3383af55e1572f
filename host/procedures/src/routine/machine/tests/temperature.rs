//! A thermometer beside its reference. Thermometers and baths are made up.

use super::bench::*;
use crate::routine::limits;
use crate::routine::plan::Plan;
use crate::routine::standard::{Planned, Reference, Source};
use crate::routine::step::{Choice, Step};
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration, Thermometer};
use rillmark_proto::reading::Flags;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Outcome, Quantity, Signal};
use rillmark_proto::units::Celsius;

const NTC: Thermometer = Thermometer::Thermistor { r25_ohm: 10_000.0, beta_k: 3950.0 };
/// Standard uncertainty in K of the reference.
const U: Option<f64> = Some(0.03);

fn beside(celsius: Option<f64>) -> Planned {
    let reference = Reference::Thermometer { celsius, standard_uncertainty_k: U };
    let planned = Planned::new("reference".try_into().unwrap(), Source::Reference(reference));
    Planned { lot: "R-7".try_into().unwrap(), ..planned }
}

fn asked(points: usize) -> Plan {
    plan(Quantity::Temperature, &std::vec![beside(None); points])
}

/// A bath in which this kind of thermometer has the resistance of `shown` °C.
fn bath(thermometer: Thermometer, shown: f64) -> Beaker {
    let ohms = thermometer.resistance(Celsius::new(shown)).unwrap();
    Beaker { value: 0.0, milliohm: libm::round(ohms.get() * 1000.0) as u32 }
}

fn found(record: &CalibrationRecord) -> TemperatureCalibration {
    match record.result {
        CalibrationResult::Temperature(thermometer) => thermometer,
        other => panic!("{other:?}"),
    }
}

/// Takes all points, each shown and said by the reference; the check is in the last bath.
fn take(run: &mut Run, thermometer: Thermometer, points: &[(f64, f64)]) -> Step {
    for (standard, (shown, said)) in points.iter().enumerate() {
        let step = run.place_and_soak(&bath(thermometer, *shown));
        let Step::Reference { standard: asked, temperature_c, as_left: false } = step else {
            panic!("{step:?} {:?}", run.said());
        };
        assert_eq!(asked, standard);
        near(temperature_c, *shown, 0.3);
        run.tell(Happened::Reference(*said));
    }
    run.routine.step()
}

fn check(run: &mut Run, thermometer: Thermometer, (shown, said): (f64, f64)) -> CalibrationRecord {
    let step = run.soak(&bath(thermometer, shown));
    assert!(matches!(step, Step::Reference { as_left: true, .. }), "{step:?} {:?}", run.said());
    record(run.tell(Happened::Reference(said)))
}

/// The reference says 0.25 K more at 5 °C and 0.15 K more at 30 °C: by hand 0.20 K in the middle and
/// -0.004 per kelvin. Two points of 0.036 K weigh 2·12.5²/0.036² = 240 000 against the 119 000 of
/// platinum's prior (0.0029), which leaves 2/3 of that, and the 1300 of a thermistor's (0.028).
#[test]
fn two_baths_give_offset_and_gain_whatever_the_thermometer() {
    for (thermometer, gain) in [(PT1000, -0.002_67), (NTC, -0.003_98)] {
        let plan = Plan { thermometer: Some(thermometer), ..asked(2) };
        let mut run = Run::new(plan, first_time());
        let points = [(5.0, 5.25), (30.0, 30.15)];
        let step = take(&mut run, thermometer, &points);
        assert!(matches!(step, Step::Settle { as_left: true, .. }), "{step:?} {:?}", run.said());
        let record = check(&mut run, thermometer, points[1]);
        let calibration = found(&record);
        assert_eq!(calibration.thermometer, thermometer);
        near(calibration.at_c, 17.5, 1e-3);
        near(calibration.offset_k, 0.20, 1e-3);
        near(calibration.gain, gain, 2e-5);
        assert_eq!((record.outcome, record.overrides.len()), (Outcome::Adjusted, 0));
        for (point, (shown, said)) in record.points.iter().zip(points) {
            assert_eq!((point.value, Some(point.value_uncertainty)), (said, U));
            assert_eq!((point.standard.as_str(), point.lot.as_str()), ("reference", "R-7"));
            assert!(matches!(point.signal, Signal::ThermometerMilliohm(_)));
            // What the probe said until now: as a Pt1000, or nothing for a thermistor.
            match thermometer {
                PT1000 => near(point.as_found.unwrap(), shown, 1e-3),
                _ => assert_eq!(point.as_found, None),
            }
        }
        let as_left = record.as_left.unwrap();
        near(as_left.expected, 30.15, 1e-9);
        near(as_left.found, as_left.expected, 0.02);
    }
}

#[test]
fn a_reference_that_is_known_beforehand_is_not_asked_for() {
    let ice = Reference::Ice { standard_uncertainty_k: None };
    let ice = Planned::new("ice-point".try_into().unwrap(), Source::Reference(ice));
    let plan = plan(Quantity::Temperature, &[ice, beside(Some(25.03))]);
    let mut run = Run::new(plan, first_time());
    assert!(!run.says("no-earlier-calibration") && !run.says("thermometer-one-point"));
    let baths = [bath(PT1000, 0.3), bath(PT1000, 25.3)];
    run.all(&baths);
    assert!(run.says("temperature-as-found-outside-tolerance"), "{:?}", run.said());
    let record = run.check(&baths[1]);
    assert_eq!((record.points[0].value, record.points[1].value), (0.0, 25.03));
    near(found(&record).offset_k, -0.28, 0.02);
}

#[test]
fn what_is_within_tolerance_is_left_only_when_there_is_something_to_leave() {
    for known in [false, true] {
        let old = TemperatureCalibration {
            offset_k: 0.1,
            variance_k2: 0.01,
            ..TemperatureCalibration::exact(PT1000)
        };
        let situation = match known {
            true => calibrated(CalibrationResult::Temperature(old)),
            false => first_time(),
        };
        let mut run = Run::new(asked(1), situation);
        assert!(run.says("thermometer-one-point"));
        let step = take(&mut run, PT1000, &[(20.0, 20.15)]);
        assert!(run.says("temperature-as-found-within-tolerance"), "{:?}", run.said());
        match (known, step) {
            (true, Step::Decide(allowed)) => {
                assert!(allowed.leave && allowed.go_on);
                assert_eq!(found(&record(run.choose(Choice::Leave))), old);
            }
            (false, Step::Settle { as_left: true, .. }) => {
                near(found(&check(&mut run, PT1000, (20.0, 20.15))).offset_k, 0.15, 1e-3);
            }
            (_, other) => panic!("{other:?}"),
        }
    }
}

#[test]
fn a_reference_that_is_read_late_belongs_to_other_readings() {
    let mut run = Run::new(asked(1), first_time());
    run.place_and_soak(&bath(PT1000, 20.0));
    let settled_ms = i64::from(TODAY) * MS_PER_DAY + run.ms as i64;
    run.routine.tell_time(settled_ms + limits::REFERENCE_READ_MS.value + 1);
    let step = run.tell(Happened::Reference(20.2));
    assert!(matches!(step, Step::Settle { as_left: false, .. }), "{step:?}");
    assert!(run.says("reference-read-late") && run.routine.points().is_empty());
    // The bath has warmed in the meantime, and both are read again.
    run.soak(&bath(PT1000, 20.4));
    run.tell(Happened::Reference(20.6));
    near(run.routine.points()[0].temperature_c, 20.4, 1e-3);
    assert!(matches!(run.routine.step(), Step::Settle { as_left: true, .. }));
    run.soak(&bath(PT1000, 20.4));
    run.routine.tell_time(settled_ms + 10 * limits::REFERENCE_READ_MS.value);
    let step = run.tell(Happened::Reference(20.6));
    assert!(matches!(step, Step::Settle { as_left: true, .. }), "{step:?}");
}

#[test]
fn what_no_reference_says_is_not_taken() {
    let mut run = Run::new(asked(1), first_time());
    let asking = run.place_and_soak(&bath(PT1000, 20.0));
    for nonsense in [f64::NAN, -20.0, 120.0] {
        assert_eq!(run.tell(Happened::Reference(nonsense)), asking);
        assert!(run.says("reference-impossible"));
    }
    // Fahrenheit, or another bath.
    run.tell(Happened::Reference(68.0));
    run.refuses("reference-far-from-reading");
    assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    run.place_and_soak(&bath(PT1000, 20.0));
    assert_eq!(run.choose(Choice::Wait), asking, "no answer to this question");
    assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    run.place_and_soak(&bath(PT1000, 20.0));
    run.tell(Happened::Reference(20.1));
    assert_eq!(run.routine.points().len(), 1);
}

#[test]
fn another_kind_than_the_stated_one_is_refused() {
    let seen = |kind, connected: Beaker| {
        let mut run = Run::new(Plan { thermometer: Some(kind), ..asked(1) }, first_time());
        run.place_and_soak(&connected);
        run
    };
    // 10 kΩ is nothing that platinum has, and 2 kΩ no temperature of water for either.
    seen(PT1000, bath(NTC, 25.0)).refuses("thermometer-of-other-kind");
    let between = Beaker { value: 0.0, milliohm: 2_000_000 };
    seen(PT1000, between).refuses("thermometer-of-other-kind");
    // The probe flags a thermistor as open as long as it takes it for a Pt1000.
    let mut run = Run::new(Plan { thermometer: Some(NTC), ..asked(1) }, first_time());
    run.flags = Flags::THERMOMETER_OPEN;
    let step = run.place_and_soak(&bath(NTC, 10.0));
    assert!(matches!(step, Step::Reference { .. }), "{step:?} {:?}", run.said());
    run.thermometer = false;
    run.choose(Choice::Retry);
    run.place_and_soak(&bath(NTC, 10.0));
    run.refuses("reading-flagged");
}

#[test]
fn a_reference_is_judged_before_anybody_stands_in_the_water() {
    let coarse = Reference::Thermometer { celsius: None, standard_uncertainty_k: Some(0.5) };
    let coarse = Planned { source: Source::Reference(coarse), ..beside(None) };
    let overdue = Planned { expiry_days: Some(TODAY - 1), ..beside(None) };
    assert!(
        Run::new(plan(Quantity::Temperature, &[coarse]), first_time()).says("reference-coarse")
    );
    let mut run = Run::new(plan(Quantity::Temperature, &[overdue]), first_time());
    assert!(!run.says("standard-expired") && !run.says("reference-coarse"));
    assert_eq!(run.warns("reference-overdue"), Step::Place { standard: 0 });
    let buffer = plan(Quantity::Temperature, &[standard("borax")]);
    let run = Run::new(buffer, first_time());
    assert!(run.says("standard-of-other-quantity") && run.routine.step() == Step::Refused);
}

#[test]
fn points_that_tell_little_or_contradict_each_other_are_told() {
    let mut run = Run::new(asked(2), first_time());
    take(&mut run, PT1000, &[(20.0, 20.3), (24.0, 24.3)]);
    assert!(run.says("thermometer-points-close"), "{:?}", run.said());
    // A slip of 0.5 K at one of three points; class B allows no such gain.
    let mut run = Run::new(asked(3), first_time());
    take(&mut run, PT1000, &[(5.0, 5.3), (20.0, 20.8), (35.0, 35.3)]);
    run.warns("thermometer-residual-large");
    let mut run = Run::new(asked(1), first_time());
    take(&mut run, PT1000, &[(20.0, 21.2)]);
    run.warns("thermometer-offset-large");
}
