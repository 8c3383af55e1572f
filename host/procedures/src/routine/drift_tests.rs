use super::*;
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::ph::Isopotential;
use rillmark_proto::calibration::ph::PhCovariance;
use rillmark_proto::calibration::temperature::PT1000;
use rillmark_proto::calibration::temperature::Thermometer;
use rillmark_proto::identity::BoardId;
use rillmark_proto::record::fitted::Fitted;
use rillmark_proto::record::{Settling, Signal};

const DAY_MS: i64 = 86_400_000;

fn serial(text: &str) -> Option<Serial> {
    Some(text.try_into().unwrap())
}

fn record(result: CalibrationResult, utc_ms: i64) -> CalibrationRecord {
    CalibrationRecord {
        board: BoardId([1; 8]),
        fitted: Fitted { electrode: serial("E1"), cell: serial("E1"), thermometer: serial("E1") },
        utc_ms,
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
    }
}

fn ph(slope: f64, offset_mv: f64, at_c: f64) -> CalibrationResult {
    let covariance = PhCovariance { slope: 4e-6, offset_mv2: 0.25, slope_offset_mv: 0.0 };
    CalibrationResult::Ph(PhCalibration {
        covariance,
        at_c,
        isopotential: Isopotential { ph: 7.0, standard_uncertainty: 0.0 },
        ..PhCalibration::exact(slope, offset_mv)
    })
}

fn cell(per_cm: f64) -> CalibrationResult {
    CalibrationResult::Conductivity(ConductivityCalibration {
        variance_per_cm2: 1e-6,
        ..ConductivityCalibration::exact(per_cm, Compensation::Linear { per_kelvin: 0.0191 })
    })
}

/// A point in a buffer of this pH at 25 °C.
fn point(value: f64, potential_mv: f64) -> Point {
    Point {
        standard: "made up".try_into().unwrap(),
        lot: Default::default(),
        expiry_days: None,
        opened_days: None,
        single_use: false,
        dissolved: None,
        certificate: Default::default(),
        basis: None,
        value,
        value_uncertainty: 0.01,
        value_per_kelvin: 0.0,
        temperature_c: 25.0,
        signal: Signal::PotentialNv((potential_mv * 1e6) as i32),
        as_found: None,
        settling: Settling {
            settled: true,
            drift_per_min: 0.0,
            scatter: 0.0,
            waited_ms: 0,
            time_constant_s: None,
        },
    }
}

/// Two buffers of an electrode with the Nernst slope and this offset.
fn two_points(offset_mv: f64) -> [Point; 2] {
    let at = |value: f64| point(value, offset_mv - 59.159_35 * (value - 7.0));
    [at(7.0), at(4.0)]
}

/// What is known when a sensor was calibrated again after so many days.
fn after(
    before: &CalibrationRecord,
    result: &CalibrationResult,
    points: &[Point],
    days: i64,
    change: impl Fn(&mut Made<'_>),
) -> SensorDrift {
    let name = serial("E1");
    let mut made = Made {
        points,
        result,
        outcome: Outcome::Adjusted,
        utc_ms: before.utc_ms + days * DAY_MS,
        serial: name.as_ref(),
        incident: None,
        stored_days: None,
    };
    change(&mut made);
    now_known(&made, Some(before))
}

fn offset_and_slope(drift: SensorDrift) -> (Drift, Drift) {
    match drift {
        SensorDrift::Electrode { offset_mv, slope } => (offset_mv, slope),
        other => panic!("{other:?}"),
    }
}

fn two(offset_mv: f64) -> CalibrationRecord {
    CalibrationRecord {
        points: two_points(offset_mv).into_iter().collect(),
        ..record(ph(1.0, offset_mv, 25.0), 0)
    }
}

#[test]
fn a_sensor_without_a_record_has_the_default_of_its_kind() {
    let (result, points) = (ph(1.0, 0.0, 25.0), two_points(0.0));
    let name = serial("E1");
    let made = Made {
        points: &points,
        result: &result,
        outcome: Outcome::Adjusted,
        utc_ms: 0,
        serial: name.as_ref(),
        incident: None,
        stored_days: None,
    };
    assert_eq!(now_known(&made, None), SensorDrift::ELECTRODE);
    // Another electrode's record tells nothing of this one.
    let mut other = two(0.0);
    other.fitted.electrode = serial("E2");
    assert_eq!(now_known(&made, Some(&other)), SensorDrift::ELECTRODE);
}

#[test]
fn offset_and_slope_drift_each_by_their_difference() {
    let (later, points) = (ph(0.99, -6.0, 25.0), two_points(-6.0));
    let (offset, slope) = offset_and_slope(after(&two(0.0), &later, &points, 20, |_| ()));
    let (usual, usual_slope) = offset_and_slope(SensorDrift::ELECTRODE);
    let check = |difference, variance: f64| Check {
        days: 20.0,
        difference,
        standard_uncertainty: variance.sqrt(),
    };
    assert_eq!(offset, usual.after(&check(-6.0, 0.5), &usual));
    assert_eq!(slope, usual_slope.after(&check(0.99 - 1.0, 8e-6), &usual_slope));
    // −6 mV in 20 days, of which the walk explains a part.
    assert!((-0.3..-0.1).contains(&offset.rate_per_day), "{offset:?}");
    assert_eq!((offset.differences, slope.differences), (1, 1));
}

#[test]
fn stored_days_do_not_count_and_a_single_buffer_tells_no_slope() {
    let (later, points) = (ph(1.0, -6.0, 25.0), two_points(-6.0));
    let before = two(0.0);
    let in_use = after(&before, &later, &points, 20, |_| ());
    let stored = after(&before, &later, &points, 50, |made| made.stored_days = Some(30));
    assert_eq!(in_use, stored);
    // Stored for longer than there were days, or a clock that went back: no days in use.
    let never = after(&before, &later, &points, 20, |made| made.stored_days = Some(30));
    assert_eq!(never, SensorDrift::ELECTRODE);
    assert_eq!(after(&before, &later, &points, -20, |_| ()), SensorDrift::ELECTRODE);
    // Two years and no more.
    assert_ne!(after(&before, &later, &points, 730, |_| ()), SensorDrift::ELECTRODE);
    assert_eq!(after(&before, &later, &points, 731, |_| ()), SensorDrift::ELECTRODE);

    let (offset, slope) = offset_and_slope(after(&before, &later, &points[..1], 20, |_| ()));
    assert_eq!((offset.differences, slope.differences), (1, 0));
}

/// Day 10, then ten years ahead by a wrong clock, then day 11: what was known on day 10 stays.
#[test]
fn a_wrong_clock_teaches_nothing() {
    let known = offset_and_slope(SensorDrift::ELECTRODE);
    let (mut last, mut moved) = (two(0.0), 0.0);
    for to_day in [3651, -3650] {
        moved -= 0.4;
        let (later, points) = (ph(1.0, moved, 25.0), two_points(moved));
        let drift = after(&last, &later, &points, to_day, |_| ());
        assert_eq!(offset_and_slope(drift), known, "{to_day} days");
        last = CalibrationRecord {
            points: points.into_iter().collect(),
            drift,
            ..record(later, last.utc_ms + to_day * DAY_MS)
        };
    }
}

#[test]
fn what_makes_another_sensor_of_it_begins_anew() {
    let (later, points) = (ph(1.0, -6.0, 25.0), two_points(-6.0));
    let mut before = two(0.0);
    let known =
        Drift { rate_per_day: -0.25, rate_uncertainty: 0.125, walk_per_day: 0.125, differences: 7 };
    before.drift = SensorDrift::Electrode { offset_mv: known, slope: known };
    let of = |incident| {
        offset_and_slope(after(&before, &later, &points, 20, |made| made.incident = Some(incident)))
    };
    for incident in [Incident::Dried, Incident::Knocked] {
        assert_eq!(of(incident), offset_and_slope(SensorDrift::ELECTRODE));
    }
    // Washed or filled again its rate is less sure; the step of that day is no drift.
    let (usual, _) = offset_and_slope(SensorDrift::ELECTRODE);
    for incident in [Incident::Cleaned, Incident::Refilled] {
        assert_eq!(of(incident).0, known.renewed(&usual));
        assert!(of(incident).0.rate_uncertainty > known.rate_uncertainty);
    }
}

/// The points of both records say −3 mV and −6 mV, though the first left 0 mV in force.
#[test]
fn coefficients_that_were_left_are_a_check_by_their_points() {
    let before = CalibrationRecord {
        outcome: Outcome::LeftUnadjusted,
        result: ph(1.0, 0.0, 25.0),
        ..two(-3.0)
    };
    let (points, left) = (two_points(-6.0), before.result);
    let drift = after(&before, &left, &points, 20, |made| made.outcome = Outcome::LeftUnadjusted);
    let (offset, _) = offset_and_slope(drift);
    assert_eq!(offset.differences, 1);
    let (usual, _) = offset_and_slope(SensorDrift::ELECTRODE);
    // Each offset is the middle of the line's, with u = 0.6 mV a buffer: about 0.8 mV for both.
    let check = Check { days: 20.0, difference: -3.0, standard_uncertainty: 0.8 };
    let expected = usual.after(&check, &usual);
    let off = (offset.rate_per_day - expected.rate_per_day).abs();
    assert!(off < 0.01, "{offset:?}, about {expected:?}");
}

/// One electrode read at two temperatures: its line turns about the isopotential pH, here 6, so that 10 K
/// change the potential at pH 7 by 1.984 mV (R ln 10 / F · 10 K); that is no drift.
#[test]
fn an_offset_is_referred_to_the_temperature_of_the_one_before() {
    let at = |offset_mv, at_c| match ph(1.0, offset_mv, at_c) {
        CalibrationResult::Ph(calibration) => PhCalibration {
            isopotential: Isopotential { ph: 6.0, standard_uncertainty: 0.5 },
            ..calibration
        },
        other => panic!("{other:?}"),
    };
    let (difference, u) = offset(&at(0.0, 25.0), &at(-1.984_17, 35.0));
    assert!(difference.abs() < 1e-4, "{difference}");
    assert!((u - (0.5f64 + 0.992_09 * 0.992_09).sqrt()).abs() < 1e-4, "{u}");
}

#[test]
fn a_cell_drifts_by_its_ratio_and_a_thermometer_by_its_offset() {
    let SensorDrift::Cell { relative: usual } = SensorDrift::CELL else { panic!() };
    let drift = after(&record(cell(1.0), 0), &cell(1.01), &[], 20, |_| ());
    let u = (1e-3f64).hypot(1e-3 / 1.01);
    let check = Check { days: 20.0, difference: 1.01f64.ln(), standard_uncertainty: u };
    assert_eq!(drift, SensorDrift::Cell { relative: usual.after(&check, &usual) });

    let thermometer = |thermometer, offset_k| {
        CalibrationResult::Temperature(TemperatureCalibration {
            offset_k,
            variance_k2: 0.0025,
            ..TemperatureCalibration::exact(thermometer)
        })
    };
    let before = record(thermometer(PT1000, 0.0), 0);
    let drift = after(&before, &thermometer(PT1000, 0.1), &[], 20, |_| ());
    let SensorDrift::Thermometer { offset_k } = drift else { panic!("{drift:?}") };
    assert_eq!(offset_k.differences, 1);
    // A thermometer of another kind is another one.
    let thermistor = Thermometer::Thermistor { r25_ohm: 1e4, beta_k: 3950.0 };
    let other = after(&before, &thermometer(thermistor, 0.1), &[], 20, |_| ());
    assert_eq!(other, SensorDrift::THERMOMETER);
}
