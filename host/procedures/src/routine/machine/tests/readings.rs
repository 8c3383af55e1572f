//! Readings that do not settle, cannot be used, or are of another beaker.

use super::bench::*;
use crate::routine::judgement::Judgement;
use crate::routine::limits;
use crate::routine::step::{Choice, Step};
use rillmark_metrology::signal::settle::{
    LEAST_READINGS, TEMPERATURE_BESIDE_CELL, TEMPERATURE_BESIDE_PH,
};
use rillmark_proto::reading::{Flags, Raw};
use rillmark_proto::record::{CalibrationResult, Outcome, Quantity, Signal};

#[test]
fn unsettled_readings_are_taken_only_with_a_reason() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    run.place();
    run.drift_per_min = 4.0;
    for _ in 0..60 {
        run.read(&beakers[0]);
    }
    run.choose(Choice::Continue);
    let number = run.routine.said().iter().map(Judgement::number).next();
    let next = run.warns("potential-not-settled");
    assert_eq!(next, Step::Place { standard: 1 });
    run.drift_per_min = 0.0;
    run.electrode.offset_mv += 4.0 * run.ms as f64 / 60_000.0;
    run.all(&beakers[1..]);
    let record = run.check(&beakers[2]);
    assert_eq!(Some(record.overrides[0].judgement), number);
    assert!(record.overrides.iter().all(|kept| kept.reason == reason()));
    let settled: std::vec::Vec<bool> = record.points.iter().map(|p| p.settling.settled).collect();
    assert_eq!(settled, [false, true, true]);
}

/// What was on its way behind cold glass is in no point, and where there is nothing else nobody can accept it.
#[test]
fn what_had_not_settled_goes_into_no_point() {
    let mut run = Run::new(three_buffers(), first_time());
    let beaker = beakers(run.routine.plan())[0];
    run.place();
    let placed_ms = run.ms;
    let expected = run.raw(&beaker).potential_nv.unwrap();
    loop {
        // One of eleven is 50 mV away, and would be a scatter of 15 mV.
        let mut step = run.read(&beaker);
        for _ in 0..9 {
            if matches!(step, Step::Settle { .. }) {
                step = run.read(&beaker);
            }
        }
        if !matches!(step, Step::Settle { .. }) {
            break;
        }
        let raw = run.raw(&beaker);
        let away = Raw { potential_nv: raw.potential_nv.map(|nv| nv - 50_000_000), ..raw };
        run.read_raw(away, Flags::NOT_SETTLED);
        assert!(run.ms - placed_ms < 60_000, "never settles");
    }
    let point = &run.routine.points()[0];
    assert!(point.settling.settled);
    assert_eq!(point.signal, Signal::PotentialNv(expected));

    let mut run = Run::new(three_buffers(), first_time());
    run.place();
    run.flags = Flags::NOT_SETTLED;
    let step = run.soak(&beaker);
    assert!(
        matches!(step, Step::Decide(allowed) if !allowed.override_ && allowed.wait),
        "{step:?}"
    );
}

#[test]
fn patience_ends_with_a_question() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    run.place();
    let placed_ms = run.ms;
    run.drift_per_min = 4.0;
    let step = run.soak(&beakers[0]);
    assert!(matches!(step, Step::Decide(allowed) if allowed.override_ && allowed.retry));
    assert!(run.ms - placed_ms >= limits::PATIENCE_MS.value);
    assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    assert!(run.routine.points().is_empty());
}

#[test]
fn waiting_further_goes_on_with_the_same_readings_until_they_settle() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    run.place();
    let placed_ms = run.ms;
    run.drift_per_min = 4.0;
    run.soak(&beakers[0]);
    let waited = |step: &Step| match step {
        Step::Settle { standard: 0, progress, as_left: false } => progress.waited_ms,
        other => panic!("{other:?}"),
    };
    // The same beaker goes on: what was waited for counts, and the patience begins anew.
    let step = run.choose(Choice::Wait);
    assert!(waited(&step) >= limits::PATIENCE_MS.value);
    let step = run.soak(&beakers[0]);
    assert!(matches!(step, Step::Decide(allowed) if allowed.wait));
    assert!(run.ms - placed_ms >= 2 * limits::PATIENCE_MS.value);
    run.choose(Choice::Wait);
    run.drift_per_min = 0.0;
    run.electrode.offset_mv += 4.0 * run.ms as f64 / 60_000.0;
    run.soak(&beakers[0]);
    assert!(run.routine.points()[0].settling.settled);
}

#[test]
fn readings_too_few_for_a_drift_cannot_be_accepted() {
    for (readings, accepted) in
        [(0, false), (1, false), (LEAST_READINGS - 1, false), (LEAST_READINGS, true)]
    {
        let mut run = Run::new(three_buffers(), first_time());
        let beaker = beakers(run.routine.plan())[0];
        run.place();
        for _ in 0..readings {
            run.read(&beaker);
        }
        run.choose(Choice::Continue);
        if accepted {
            assert_eq!(run.warns("potential-not-settled"), Step::Place { standard: 1 });
        } else {
            run.refuses("too-few-readings");
            run.choose(Choice::Wait);
            assert_eq!(run.soak(&beaker), Step::Place { standard: 1 });
        }
    }
}

#[test]
fn a_thermometer_that_still_changes_is_told_with_what_may_still_come() {
    let salt = plan(Quantity::Conductivity, &[standard("kcl-0.01-mol-per-kg")]);
    let mut run = Run::new(salt, first_time());
    run.place();
    // 0.01 K from one reading to the next, a second later.
    for n in 0..20 {
        let celsius = 20.0 + 0.01 * f64::from(n);
        run.read(&Beaker::of(&run.routine.plan().standards[0].clone(), celsius));
    }
    run.choose(Choice::Continue);
    let told = run.routine.said().iter().find_map(|said| match *said {
        Judgement::TemperatureNotSettled { drift_k_per_min, to_come_k, limit_k } => {
            Some((drift_k_per_min, to_come_k, limit_k))
        }
        _ => None,
    });
    let (drift, to_come, limit) = told.expect("still warming");
    near(drift, 0.6, 0.001);
    // The slowest thermometer that the rule allows for, and the noise it always allows for.
    let slowest = 0.01 * TEMPERATURE_BESIDE_CELL.slowest_ms / 1_000.0;
    assert!(to_come > slowest && to_come < 1.2 * slowest, "{to_come}");
    near(limit, TEMPERATURE_BESIDE_CELL.to_come, 0.0);
}

#[test]
fn a_thermometer_read_too_seldom_is_no_thermometer_at_rest() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    run.place();
    for _ in 0..10 {
        run.read(&beakers[0]);
    }
    run.choose(Choice::Continue);
    assert!(run.says("too-few-temperatures"), "{:?}", run.said());
}

#[test]
fn another_buffer_is_told_by_the_calibration_in_force_or_a_nominal_electrode() {
    let old = CalibrationResult::Ph(electrode(0.985, -7.5));
    for (situation, far) in
        [(calibrated(old), "buffer-not-as-labelled"), (first_time(), "buffer-far-from-nominal")]
    {
        let mut run = Run::new(three_buffers(), situation);
        let beakers = beakers(run.routine.plan());
        let before = run.routine.step();
        // Another one of the plan is named by its pH at 25 °C: phosphate 6.865.
        run.place_and_soak(&beakers[1]);
        run.refuses("looks-like-other-buffer");
        let numbers = run.routine.said()[0].numbers();
        let (_, looks_like) = *numbers.iter().find(|(is, _)| *is == "looks_like_ph").unwrap();
        near(looks_like, 6.865, 0.001);
        assert_eq!(run.choose(Choice::Retry), before);
        // Water like no buffer of the literature, more than the label's limit away.
        run.place_and_soak(&Beaker { value: 5.55, ..beakers[0] });
        run.refuses(far);
        assert_eq!(run.choose(Choice::Retry), before);
        assert_eq!(run.place_and_soak(&beakers[0]), Step::Place { standard: 1 });
        let mut step = run.all(&beakers[1..]);
        if matches!(step, Step::Decide(_)) {
            step = run.choose(Choice::Continue);
        }
        assert!(matches!(step, Step::Settle { as_left: true, .. }), "{step:?}");
        let record = run.check(&beakers[2]);
        assert_eq!((record.outcome, record.overrides.len()), (Outcome::Adjusted, 0));
    }
}

/// Borax is in the plan, carbonate is not: 0.83 pH higher at 25 °C, less than the label's limit. An
/// electrode could have moved by as much, so a reason passes.
#[test]
fn a_buffer_that_the_plan_does_not_have_is_warned_of_within_the_labels_limit() {
    let old = CalibrationResult::Ph(electrode(0.985, -7.5));
    let mut run = Run::new(three_buffers(), calibrated(old));
    let beakers = beakers(run.routine.plan());
    run.all(&beakers[..2]);
    run.place_and_soak(&Beaker::of(&standard("carbonate"), 22.5));
    run.warns("may-be-other-buffer");
    assert_eq!(run.routine.points().len(), 3);

    // Somewhat drifted is not another bottle, and neither is an electrode of which nothing is known.
    for (situation, away) in [(calibrated(old), 0.45), (first_time(), 0.9)] {
        let mut run = Run::new(three_buffers(), situation);
        run.place_and_soak(&Beaker { value: beakers[0].value + away, ..beakers[0] });
        assert_eq!(run.routine.step(), Step::Place { standard: 1 }, "{:?}", run.said());
    }
}

#[test]
fn a_standard_outside_its_table_is_refused_with_the_range() {
    let mut run = Run::new(three_buffers(), first_time());
    let (min, max) = run.routine.plan().standards[0].source.range();
    let beaker = Beaker::new(4.0, max + 2.0);
    run.place_and_soak(&beaker);
    run.refuses("standard-outside-table");
    let celsius = beaker.temperature().get();
    let numbers = run.routine.said()[0].numbers();
    let number = |name| numbers.iter().find(|(is, _)| *is == name).map(|(_, value)| *value);
    assert_eq!((number("min_c"), number("max_c")), (Some(min), Some(max)));
    near(number("temperature_c").unwrap(), celsius, 1e-9);
}

#[test]
fn readings_that_cannot_be_used_are_refused_after_a_while() {
    let salt = plan(Quantity::Conductivity, &[standard("kcl-0.01-mol-per-kg")]);
    for (plan, flags, thermometer, code) in [
        (three_buffers(), Flags::ADC_SILENT, true, "reading-flagged"),
        (three_buffers(), Flags::POTENTIAL_OVER_RANGE, true, "reading-flagged"),
        (three_buffers(), Flags::THERMOMETER_OPEN, true, "reading-flagged"),
        (salt.clone(), Flags::CELL_OPEN, true, "reading-flagged"),
        (salt.clone(), Flags::CELL_OVER_RANGE, true, "reading-flagged"),
        (salt, Flags::CELL_CHANGED, true, "reading-flagged"),
        (three_buffers(), Flags::NONE, false, "temperature-missing"),
    ] {
        let mut run = Run::new(plan, first_time());
        let beaker = beakers(run.routine.plan())[0];
        run.place();
        run.read(&beaker);
        let usable_ms = run.ms;
        (run.flags, run.thermometer) = (flags, thermometer);
        let step = run.soak(&beaker);
        assert!(run.ms - usable_ms > limits::UNUSABLE_MS.value, "{code} {step:?}");
        assert!(run.ms - usable_ms <= limits::UNUSABLE_MS.value + 1_000, "{code}");
        run.refuses(code);
        assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    }
}

#[test]
fn a_short_gap_of_unusable_readings_is_passed_over() {
    let mut run = Run::new(three_buffers(), first_time());
    let beaker = beakers(run.routine.plan())[0];
    run.place();
    run.read(&beaker);
    run.flags = Flags::POTENTIAL_OVER_RANGE;
    let until = run.ms + limits::UNUSABLE_MS.value - 1_000;
    while run.ms < until {
        run.read(&beaker);
    }
    run.flags = Flags::NONE;
    assert_eq!(run.soak(&beaker), Step::Place { standard: 1 });
}

/// Reads in the first beaker until the thermometer has settled and the signal almost has.
fn almost_settled() -> (Run, Beaker) {
    let mut run = Run::new(three_buffers(), first_time());
    let beaker = beakers(run.routine.plan())[0];
    run.place();
    run.drift_per_min = 4.0;
    loop {
        let Step::Settle { progress, .. } = run.read(&beaker) else { panic!() };
        if progress.temperature.settled && progress.waited_ms > 25_000 {
            run.electrode.offset_mv += 4.0 * run.ms as f64 / 60_000.0;
            run.drift_per_min = 0.0;
            return (run, beaker);
        }
    }
}

#[test]
fn a_restart_of_the_probe_starts_the_settling_anew() {
    let (mut run, beaker) = almost_settled();
    (run.boot, run.ms, run.running) = (2, 1_000, 0);
    let Step::Settle { progress, .. } = run.read(&beaker) else { panic!() };
    let waited = (progress.waited_ms, progress.temperature.settled, progress.verdict.settled);
    assert_eq!(waited, (0, false, false));
    let restarted_ms = run.ms;
    assert_eq!(run.soak(&beaker), Step::Place { standard: 1 });
    assert!(run.ms - restarted_ms >= TEMPERATURE_BESIDE_PH.span_ms);
    let waited_ms = run.routine.points()[0].settling.waited_ms;
    assert_eq!(u64::from(waited_ms), run.ms - restarted_ms);
}

#[test]
fn a_temperature_from_before_a_restart_settles_nothing() {
    let (mut run, beaker) = almost_settled();
    // The first reading after the restart, with the fresh temperature, was lost on the line.
    (run.boot, run.ms, run.running) = (2, 1_000, 1);
    let Step::Settle { progress, .. } = run.read(&beaker) else { panic!() };
    assert!(!progress.temperature.settled);
}

#[test]
fn time_that_steps_back_does_no_harm() {
    let (mut run, beaker) = almost_settled();
    (run.ms, run.running) = (run.ms - 12_000, 0);
    run.read(&beaker);
    assert_eq!(run.soak(&beaker), Step::Place { standard: 1 });
}
