//! What is said before the first beaker.

use super::bench::*;
use crate::routine::plan::Plan;
use crate::routine::step::{Choice, Step};
use rillmark_proto::record::{CalibrationResult, Outcome, Quantity};

#[test]
fn a_plan_that_cannot_work_is_refused_at_once() {
    let mut unfitted = first_time();
    unfitted.fitted.electrode = None;
    let buffers = BUFFERS.map(standard);
    let salt = standard("kcl-0.01-mol-per-kg");
    let mixed = plan(Quantity::Ph, &[buffers[0].clone(), salt]);
    let near = plan(Quantity::Ph, &["phosphate-1-1", "technical-7.00"].map(standard));
    for (plan, situation, code) in [
        (three_buffers(), unfitted, "not-equipped"),
        (plan(Quantity::Ph, &[]), first_time(), "too-few-points"),
        (plan(Quantity::Conductivity, &[]), first_time(), "too-few-points"),
        (mixed, first_time(), "standard-of-other-quantity"),
        (near, first_time(), "buffers-too-close"),
    ] {
        let mut run = Run::new(plan, situation);
        assert_eq!(run.routine.step(), Step::Refused, "{code}");
        assert!(run.says(code), "{code}: {:?}", run.said());
        for choice in [Choice::Continue, Choice::Override(reason()), Choice::Retry, Choice::Leave] {
            assert_eq!(run.choose(choice), Step::Refused);
        }
        assert_eq!(run.place(), Step::Refused);
    }
}

/// The offset moves, the slope stays what it was; what it is uncertain by grows.
#[test]
fn a_single_buffer_takes_the_slope_from_before_when_the_operator_says_why() {
    let old = electrode(0.97, 4.0);
    let mut run = Run::new(
        plan(Quantity::Ph, &[standard(BUFFERS[1])]),
        calibrated(CalibrationResult::Ph(old)),
    );
    assert!(run.says("single-point"));
    assert!(matches!(run.routine.step(), Step::Decide(_)));
    assert!(matches!(run.choose(Choice::Override(reason())), Step::Place { .. }));
    run.electrode = electrode(0.97, 9.0);
    let beaker = Beaker::of(&standard(BUFFERS[1]), 22.0);
    run.place();
    let mut step = run.soak(&beaker);
    for _ in 0..4 {
        step = match step {
            Step::Decide(_) => run.choose(Choice::Override(reason())),
            Step::Settle { .. } => run.soak(&beaker),
            other => other,
        };
    }
    let Step::Finished(record) = run.routine.step() else { panic!("{:?}", run.routine.step()) };
    let CalibrationResult::Ph(found) = record.result else { panic!("{record:?}") };
    assert_eq!(found.slope_fraction, 0.97);
    assert!(libm::fabs(found.offset_mv - 9.0) < 0.01, "{found:?}");
    assert!(found.covariance.slope > old.covariance.slope);
    assert!(record.overrides.iter().any(|kept| kept.judgement == 69));
}

#[test]
fn it_is_said_when_nothing_can_tell_a_wrong_bottle_from_the_right_one() {
    let one = || plan(Quantity::Conductivity, &[standard("kcl-0.01-mol-per-kg")]);
    let stated = Plan { nominal_cell_constant: Some(1.0), ..one() };
    let known = calibrated(CalibrationResult::Conductivity(cell(1.0)));
    for (plan, situation, unchecked) in [
        (one(), first_time(), true),
        (stated, first_time(), false),
        (one(), known, false),
        // A glass electrode's nominal line is known.
        (three_buffers(), first_time(), false),
    ] {
        assert_eq!(Run::new(plan, situation).says("label-unchecked"), unchecked);
    }
}

#[test]
fn an_expired_standard_warns_before_the_first_beaker() {
    for (expiry, expired) in [(Some(TODAY), false), (None, false), (Some(TODAY - 1), true)] {
        let mut plan = three_buffers();
        plan.standards[1].expiry_days = expiry;
        let mut run = Run::new(plan, first_time());
        assert_eq!(run.says("standard-expired"), expired);
        if expired {
            assert_eq!(run.warns("standard-expired"), Step::Place { standard: 0 });
        }
        let beakers = beakers(run.routine.plan());
        run.all(&beakers);
        let record = run.check(&beakers[2]);
        assert_eq!(record.outcome, Outcome::Adjusted);
        assert_eq!(record.overrides.len(), usize::from(expired));
        assert_eq!(record.points[1].expiry_days, expiry);
    }
}

/// The calibration before is a week old.
#[test]
fn days_in_storage_are_days_since_a_calibration_before() {
    let before = || calibrated(CalibrationResult::Ph(electrode(0.984, -7.25)));
    let mut other = before();
    other.fitted.electrode = Some("E2".try_into().unwrap());
    let mut ahead = before();
    ahead.before.as_mut().unwrap().utc_ms += 30 * MS_PER_DAY;
    for (stored_days, situation, code, refused) in [
        (7, before(), "stored-days-counted", false),
        (8, before(), "stored-longer-than-passed", true),
        (1, ahead, "stored-longer-than-passed", true),
        (1, first_time(), "stored-since-nothing", true),
        (1, other, "stored-since-nothing", true),
    ] {
        let run = Run::new(Plan { stored_days: Some(stored_days), ..three_buffers() }, situation);
        assert!(run.says(code), "{code}: {:?}", run.said());
        assert_eq!(run.routine.step() == Step::Refused, refused, "{code}");
    }
}

#[test]
fn a_clock_that_jumped_is_told_before_the_first_beaker() {
    for (days_ago, code) in
        [(-3650, Some("dated-before-earlier")), (730, None), (731, Some("long-since-earlier"))]
    {
        let mut situation = calibrated(CalibrationResult::Ph(electrode(0.984, -7.25)));
        let record = situation.before.as_mut().unwrap();
        record.utc_ms = situation.utc_ms - days_ago * MS_PER_DAY;
        let run = Run::new(three_buffers(), situation);
        assert!(code.is_none_or(|code| run.says(code)), "{days_ago}: {:?}", run.said());
        let about_time = ["dated-before-earlier", "long-since-earlier"];
        let said = about_time.iter().filter(|code| run.says(code)).count();
        assert_eq!(said, usize::from(code.is_some()), "{days_ago}: {:?}", run.said());
    }
}
