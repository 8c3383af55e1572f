//! Cancelling, events out of place, and the room for overrides.

use std::collections::BTreeSet;
use std::format;

use super::bench::*;
use crate::routine::limits;
use crate::routine::machine::Routine;
use crate::routine::step::{Choice, Event, Step};
use rillmark_proto::record::MAX_OVERRIDES;

/// A run through every kind of step, warnings overridden.
fn long_run() -> Run {
    let mut plan = three_buffers();
    plan.standards[0].expiry_days = Some(TODAY - 1);
    let mut run = Run::new(plan, first_time());
    let (band, _) = limits::SLOPE_BAND_PERCENT.value;
    run.electrode = electrode((band - 2.0) / 100.0, 0.0);
    run.warns("standard-expired");
    let beakers = beakers(run.routine.plan());
    run.place_and_soak(&beakers[2]);
    run.refuses("looks-like-other-buffer");
    run.choose(Choice::Retry);
    run.all(&beakers);
    run.warns("slope-out-of-band");
    run.electrode.offset_mv += 1.2 * limits::AS_LEFT_PH.value * 60.0;
    run.soak(&beakers[2]);
    run.warns("ph-as-left-off");
    assert!(matches!(run.routine.step(), Step::Finished(_)));
    run
}

fn kind(routine: &Routine) -> std::string::String {
    match routine.step() {
        Step::Settle { standard, as_left, .. } => format!("settle {standard} {as_left}"),
        Step::Decide(_) => format!("decide {}", routine.said()[0].code()),
        other => format!("{other:?}"),
    }
}

#[test]
fn cancelling_at_any_step_leaves_no_record() {
    let run = long_run();
    let mut routine = Routine::new(run.routine.plan().clone(), first_time());
    let mut kinds = BTreeSet::new();
    for event in &run.happened {
        kinds.insert(kind(&routine));
        let mut cancelled = routine.clone();
        assert_eq!(cancelled.on(Event::Choice(Choice::Cancel)), Step::Cancelled);
        assert_eq!(event.tell(&mut cancelled), Step::Cancelled);
        assert_eq!(cancelled.on(Event::Placed), Step::Cancelled);
        event.tell(&mut routine);
    }
    assert!(matches!(routine.step(), Step::Finished(_)));
    // Three beakers to place and to settle in, the check, and four decisions.
    assert_eq!(kinds.len(), 3 + 3 + 1 + 4, "{kinds:?}");
}

#[test]
fn events_out_of_place_change_nothing() {
    let run = long_run();
    let mut routine = Routine::new(run.routine.plan().clone(), first_time());
    let mut seen = BTreeSet::new();
    for event in &run.happened {
        if seen.insert(kind(&routine)) {
            let before = (routine.step(), routine.said().len(), routine.points().len());
            let settling = matches!(before.0, Step::Settle { .. });
            let foreign = match before.0 {
                Step::Place { .. } => {
                    [Choice::Continue, Choice::Override(reason()), Choice::Retry, Choice::Leave]
                        .map(Some)
                }
                Step::Settle { .. } => {
                    [Some(Choice::Override(reason())), Some(Choice::Leave), None, None]
                }
                _ => [Some(Choice::Continue), Some(Choice::Leave), None, None],
            };
            for choice in foreign.into_iter().flatten() {
                routine.on(Event::Choice(choice));
            }
            if !matches!(before.0, Step::Place { .. }) {
                routine.on(Event::Placed);
            }
            if let (false, Some(Happened::Reading(reading))) = (settling, run.happened.last()) {
                routine.on(Event::Reading(reading));
            }
            let after = (routine.step(), routine.said().len(), routine.points().len());
            assert_eq!(after, before);
        }
        event.tell(&mut routine);
    }
    assert_eq!(routine.step(), run.routine.step());
}

#[test]
fn a_finished_routine_stays_finished() {
    let mut run = long_run();
    let finished = run.routine.step();
    for choice in [Choice::Cancel, Choice::Retry, Choice::Leave, Choice::Continue] {
        assert_eq!(run.choose(choice), finished);
    }
    assert_eq!(run.place(), finished);
}

/// Takes the standard that is asked for before it has settled.
fn take_unsettled(run: &mut Run, beaker: &Beaker) {
    run.place();
    for _ in 0..8 {
        run.read(beaker);
    }
    run.choose(Choice::Continue);
}

#[test]
fn more_overrides_than_a_record_holds_are_refused() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    let mut kept = 0;
    for beaker in &beakers {
        take_unsettled(&mut run, beaker);
        let warnings = run.routine.said().len();
        run.choose(Choice::Override(reason()));
        if kept + warnings > MAX_OVERRIDES {
            run.refuses("too-many-overrides");
            return;
        }
        kept += warnings;
    }
    panic!("{kept} overrides fit");
}

#[test]
fn what_was_overridden_for_a_point_taken_again_is_forgotten() {
    let mut run = Run::new(three_buffers(), first_time());
    let beakers = beakers(run.routine.plan());
    // The wrong beaker, accepted unsettled, then refused for its label.
    take_unsettled(&mut run, &beakers[2]);
    run.choose(Choice::Override(reason()));
    run.refuses("looks-like-other-buffer");
    run.choose(Choice::Retry);
    run.all(&beakers);
    assert_eq!(run.check(&beakers[2]).overrides.len(), 0);
}
