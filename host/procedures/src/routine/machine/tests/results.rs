//! Whole pH runs: what comes of them, and what stands in the way of a result.

use std::vec::Vec;

use super::bench::*;
use crate::routine::judgement::Judgement;
use crate::routine::limits;
use crate::routine::machine::Routine;
use crate::routine::plan::Plan;
use crate::routine::standard::{Planned, Printed, Source, Stated};
use crate::routine::step::{Choice, Step};
use rillmark_proto::calibration::drift::SensorDrift;
use rillmark_proto::record::codec::encode;
use rillmark_proto::record::verification::Independence;
use rillmark_proto::record::{CalibrationResult, Incident, Outcome, Quantity, Signal};

/// Whole nanovolts and picosiemens are all that is lost.
const ROUNDING: f64 = 1e-6;

#[test]
fn three_buffers_at_their_own_temperatures_give_back_the_electrode() {
    let (plan, situation) = (three_buffers(), first_time());
    let beakers = beakers(&plan);
    let mut run = Run::new(plan.clone(), situation.clone());
    run.all(&beakers);
    let record = run.check(&beakers[2]);
    let CalibrationResult::Ph(found) = record.result else { panic!() };
    near(found.slope_fraction, run.electrode.slope_fraction, ROUNDING);
    near(found.offset_mv, run.electrode.offset_mv, ROUNDING);
    assert_eq!((record.outcome, record.points.len()), (Outcome::Adjusted, 3));
    for (at, point) in record.points.iter().enumerate() {
        assert_eq!(point.standard.as_str(), BUFFERS[at]);
        near(point.temperature_c, beakers[at].temperature().get(), ROUNDING);
        near(point.value, beakers[at].value, ROUNDING);
        let Signal::PotentialNv(nv) = point.signal else { panic!() };
        assert_eq!(Some(nv), run.raw(&beakers[at]).potential_nv);
        assert!(point.settling.settled && point.as_found.is_none());
    }
    let as_left = record.as_left.unwrap();
    near(as_left.expected, beakers[2].value, ROUNDING);
    near(as_left.found, as_left.expected, ROUNDING);
    assert_eq!(as_left.independence, Independence::SameLot);
    assert!(record.overrides.is_empty() && record.previous.is_none());
    assert_eq!((record.board, &record.fitted), (situation.board, &situation.fitted));
    let due_ms = record.utc_ms + i64::from(plan.due_in_days.unwrap()) * MS_PER_DAY;
    assert_eq!(record.due_utc_ms, Some(due_ms));
    assert_eq!(record.utc_ms, situation.utc_ms + run.ms as i64, "the host's time at the end");
}

/// The closing check in a standard of its own: the calibration does not see it, and the record says whether
/// it could show an error of the calibration's bottles.
#[test]
fn a_closing_check_apart_is_asked_for_and_told() {
    for (lot, name, expected) in [
        ("Z9", "phosphate-1-3.5", Independence::Independent),
        ("L1", BUFFERS[1], Independence::SameLot),
        ("", BUFFERS[1], Independence::LotUnknown),
    ] {
        let mut apart = three_buffers();
        let mut own = standard(name);
        own.lot = lot.try_into().unwrap();
        let (beakers, last) = (beakers(&apart), Beaker::of(&own, 22.0));
        apart.standards.push(own).unwrap();
        apart.checks_apart = true;
        let mut run = Run::new(apart, first_time());
        run.all(&beakers);
        assert_eq!(run.routine.step(), Step::Place { standard: 3 });
        assert!(matches!(run.place(), Step::Settle { standard: 3, as_left: true, .. }));
        // Taken again, the beaker is asked for again.
        assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 3 });
        run.place();
        let record = run.check(&last);
        assert_eq!(record.points.len(), 3);
        let as_left = record.as_left.unwrap();
        assert_eq!((as_left.standard.as_str(), as_left.lot.as_str()), (name, lot));
        assert_eq!(as_left.independence, expected, "{name} {lot}");
        near(as_left.expected, last.value, ROUNDING);
        near(as_left.found, as_left.expected, ROUNDING);
    }
}

/// A buffer that is known to 0.05 may read off by twice that, and no more.
#[test]
fn a_closing_check_apart_may_be_off_by_as_much_as_its_standard() {
    let printed = Printed::try_new(Quantity::Ph, &[(22.0, 9.25)], Stated::Absolute(0.05)).unwrap();
    let own = Planned::new("own 9".try_into().unwrap(), Source::Printed(printed));
    // Opened today: air has taken nothing off it yet.
    let own = Planned { opened_days: Some(TODAY), ..own };
    for (off, is_told) in [(0.09, false), (0.12, true)] {
        let mut apart = three_buffers();
        let (beakers, mut last) = (beakers(&apart), Beaker::of(&own, 22.0));
        last.value += off;
        apart.standards.push(own.clone()).unwrap();
        apart.checks_apart = true;
        let mut run = Run::new(apart, first_time());
        run.all(&beakers);
        run.place();
        run.soak(&last);
        assert_eq!(run.says("ph-as-left-off"), is_told, "{off}: {:?}", run.said());
    }
}

#[test]
fn a_bottle_that_comes_twice_is_believed_once() {
    let slope_variance = |lots: [&str; 3]| {
        let mut standards = [BUFFERS[0], BUFFERS[1], BUFFERS[0]].map(standard);
        for (standard, lot) in standards.iter_mut().zip(lots) {
            standard.lot = lot.try_into().unwrap();
        }
        let mut run = Run::new(plan(Quantity::Ph, &standards), first_time());
        let beakers: Vec<_> = standards.iter().map(|buffer| Beaker::of(buffer, 22.0)).collect();
        run.all(&beakers);
        let CalibrationResult::Ph(found) = run.check(&beakers[2]).result else { panic!() };
        found.covariance.slope
    };
    let (one, two) = (slope_variance(["A", "B", "A"]), slope_variance(["A", "B", "C"]));
    // Both buffers' own 0.3 mV beside; of the buffers alone it would be 2 : 1.5.
    assert!(one > 1.1 * two, "{one} with one bottle, {two} with two");
}

#[test]
fn as_found_is_read_with_the_old_coefficients() {
    let old = electrode(1.0, 12.0);
    let mut run = Run::new(three_buffers(), calibrated(CalibrationResult::Ph(old)));
    run.electrode = electrode(0.97, 4.0);
    let beakers = beakers(run.routine.plan());
    for (at, beaker) in beakers.iter().enumerate() {
        run.place_and_soak(beaker);
        let expected = run.raw(beaker).potential().unwrap();
        let expected = old.ph(expected, beaker.temperature()).unwrap().get();
        near(run.routine.points()[at].as_found.unwrap(), expected, ROUNDING);
    }
    assert!(run.says("ph-as-found-outside-tolerance"), "{:?}", run.said());
    let record = run.check(&beakers[2]);
    assert_eq!(record.outcome, Outcome::Adjusted);
    assert!(record.points.iter().all(|point| point.as_found.is_some()));
}

#[test]
fn within_tolerance_the_operator_may_leave_or_adjust() {
    let old = electrode(0.984, -7.25);
    let at_decision = || {
        let mut run = Run::new(three_buffers(), calibrated(CalibrationResult::Ph(old)));
        let beakers = beakers(run.routine.plan());
        let Step::Decide(allowed) = run.all(&beakers) else { panic!("{:?}", run.said()) };
        assert!(allowed.leave && allowed.go_on && allowed.retry && !allowed.override_);
        assert!(run.says("ph-as-found-within-tolerance"));
        (run, beakers)
    };
    let (mut run, _) = at_decision();
    let left = record(run.choose(Choice::Leave));
    let CalibrationResult::Ph(kept) = left.result else { panic!() };
    for (kept, was) in [
        (kept.slope_fraction, old.slope_fraction),
        (kept.offset_mv, old.offset_mv),
        (kept.covariance.slope, old.covariance.slope),
        (kept.covariance.offset_mv2, old.covariance.offset_mv2),
        (kept.covariance.slope_offset_mv, old.covariance.slope_offset_mv),
    ] {
        assert_eq!(kept.to_bits(), was.to_bits());
    }
    assert_eq!((left.outcome, left.as_left), (Outcome::LeftUnadjusted, None));
    assert_eq!(left.points.len(), 3);

    let (mut run, beakers) = at_decision();
    run.choose(Choice::Continue);
    let adjusted = run.check(&beakers[2]);
    let CalibrationResult::Ph(found) = adjusted.result else { panic!() };
    assert_eq!(adjusted.outcome, Outcome::Adjusted);
    near(found.offset_mv, run.electrode.offset_mv, ROUNDING);

    let (mut run, _) = at_decision();
    assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    assert!(run.routine.points().is_empty());
}

/// A week after the calibration before, whose record has no points: a difference of the offset alone.
#[test]
fn the_record_says_how_the_sensor_drifts_and_what_happened_to_it() {
    let old = electrode(0.984, -7.25);
    let done = |incident| {
        let plan = Plan { incident, stored_days: Some(2), ..three_buffers() };
        let mut run = Run::new(plan, calibrated(CalibrationResult::Ph(old)));
        let beakers = beakers(run.routine.plan());
        run.electrode = electrode(0.984, -2.25);
        run.all(&beakers);
        run.check(&beakers[2])
    };
    let record = done(None);
    assert_eq!((record.incident, record.stored_days), (None, Some(2)));
    let SensorDrift::Electrode { offset_mv, slope } = record.drift else { panic!() };
    assert_eq!((offset_mv.differences, slope.differences), (1, 0));
    // 5 mV in five days are more than a rate of 0.39 mV a day and the walk make.
    assert!(offset_mv.rate_per_day > 0.2, "{offset_mv:?}");
    let record = done(Some(Incident::Knocked));
    assert_eq!((record.incident, record.drift), (Some(Incident::Knocked), SensorDrift::ELECTRODE));
}

#[test]
fn a_tolerance_of_the_plan_goes_before_the_default() {
    let old = CalibrationResult::Ph(electrode(0.984, -7.25));
    let mut run = Run::new(Plan { tolerance: Some(1e-4), ..three_buffers() }, calibrated(old));
    let beakers = beakers(run.routine.plan());
    let step = run.all(&beakers);
    assert!(matches!(step, Step::Settle { as_left: true, .. }), "{step:?}");
    assert!(run.says("ph-as-found-outside-tolerance"));
}

#[test]
fn a_slope_out_of_band_needs_a_reason_that_the_record_keeps() {
    let (least, _) = limits::SLOPE_BAND_PERCENT.value;
    let (possible, _) = limits::SLOPE_POSSIBLE_PERCENT.value;
    let mut run = Run::new(three_buffers(), first_time());
    run.electrode = electrode((least + possible) / 200.0, 0.0);
    let beakers = beakers(run.routine.plan());
    run.all(&beakers);
    let number = run.routine.said().iter().find(|said| said.code() == "slope-out-of-band");
    let number = number.map(Judgement::number);
    run.warns("slope-out-of-band");
    let record = run.check(&beakers[2]);
    assert_eq!(record.overrides.len(), 1);
    assert_eq!(Some(record.overrides[0].judgement), number);
    assert_eq!(record.overrides[0].reason, reason());
}

#[test]
fn a_slope_that_no_electrode_has_is_refused() {
    let (least, _) = limits::SLOPE_POSSIBLE_PERCENT.value;
    // Buffers so near to 7 that the label check does not catch a reversed electrode before.
    let near_7 = 0.35 * limits::LABEL_NOMINAL_PH.value;
    let close = [bottle(7.0 - near_7), bottle(7.0 + near_7)];
    let reversed = plan(Quantity::Ph, &close);
    for (plan, slope, code) in [
        (three_buffers(), (least - 5.0) / 100.0, "slope-impossible"),
        (reversed, -0.98, "slope-reversed"),
    ] {
        let mut run = Run::new(plan, first_time());
        run.electrode = electrode(slope, 0.0);
        let beakers = beakers(run.routine.plan());
        run.all(&beakers);
        run.refuses(code);
        assert_eq!(run.choose(Choice::Leave), run.routine.step());
        assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    }
}

#[test]
fn a_refused_line_cannot_be_left_either() {
    // The calibration in force is as far past any use as the electrode: all is within tolerance.
    let (least, _) = limits::SLOPE_POSSIBLE_PERCENT.value;
    let worn = electrode((least - 5.0) / 100.0, 0.0);
    let mut run = Run::new(three_buffers(), calibrated(CalibrationResult::Ph(worn)));
    run.electrode = worn;
    let beakers = beakers(run.routine.plan());
    let step = run.all(&beakers);
    assert!(run.says("ph-as-found-within-tolerance"), "{:?}", run.said());
    run.refuses("slope-impossible");
    assert_eq!(run.choose(Choice::Leave), step);
}

#[test]
fn another_electrode_is_noticed() {
    let before = electrode(0.985, -7.5);
    let change = limits::OFFSET_CHANGE_MV.value;
    for (offset_mv, changed) in [(-7.5 + 0.9 * change, false), (-7.5 + 1.1 * change, true)] {
        let mut run = Run::new(three_buffers(), calibrated(CalibrationResult::Ph(before)));
        run.electrode = electrode(0.985, offset_mv);
        let beakers = beakers(run.routine.plan());
        run.all(&beakers);
        assert_eq!(run.says("offset-far-from-history"), changed, "{:?}", run.said());
        if changed {
            run.warns("offset-far-from-history");
        }
        assert_eq!(run.check(&beakers[2]).overrides.len(), usize::from(changed));
    }
}

#[test]
fn a_check_that_reads_off_warns() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    run.all(&beakers);
    // The potential has moved by 1.2 limits, at no more than 60 mV per pH.
    run.electrode.offset_mv += 1.2 * limits::AS_LEFT_PH.value * 60.0;
    let step = run.soak(&beakers[2]);
    assert!(matches!(step, Step::Decide(allowed) if allowed.retry), "{step:?}");
    let record = record(run.warns("ph-as-left-off"));
    let as_left = record.as_left.unwrap();
    assert!(libm::fabs(as_left.found - as_left.expected) > limits::AS_LEFT_PH.value);
    assert_eq!(record.overrides.len(), 1);
}

#[test]
fn the_same_events_give_the_same_bits() {
    let (least, _) = limits::SLOPE_BAND_PERCENT.value;
    let mut run = Run::new(three_buffers(), first_time());
    run.electrode = electrode((least - 2.0) / 100.0, 3.0);
    run.drift_per_min = 0.01;
    let beakers = beakers(run.routine.plan());
    run.all(&beakers);
    run.warns("slope-out-of-band");
    let once = encode(&run.check(&beakers[2]).into()).unwrap();
    let mut again = Routine::new(three_buffers(), first_time());
    let steps: Vec<Step> = run.happened.iter().map(|event| event.tell(&mut again)).collect();
    assert_eq!(encode(&record(steps.last().unwrap().clone()).into()).unwrap(), once);
}
