//! Bottles at one temperature, and in the right order.

use std::vec::Vec;

use super::bench::*;
use crate::routine::judgement::Judgement;
use crate::routine::limits;
use crate::routine::step::{Choice, Step};
use rillmark_proto::record::{MAX_OVERRIDES, Quantity};

const FIRST_C: f64 = 22.0;

/// A run that has taken the first of three buffers at [`FIRST_C`].
fn after_the_first() -> Run {
    let mut run = Run::new(three_buffers(), first_time());
    let first = run.routine.plan().standards[0].clone();
    assert_eq!(run.place_and_soak(&Beaker::of(&first, FIRST_C)), Step::Place { standard: 1 });
    run
}

fn second(run: &Run, celsius: f64) -> Beaker {
    Beaker::of(&run.routine.plan().standards[1], celsius)
}

#[test]
fn a_bottle_at_the_first_ones_temperature_is_taken_without_a_word() {
    let limit_k = limits::TEMPERATURE_SPAN_K.value;
    for celsius in [FIRST_C - limit_k + 0.01, FIRST_C, FIRST_C + limit_k - 0.01] {
        let mut run = after_the_first();
        let beaker = second(&run, celsius);
        assert_eq!(run.place_and_soak(&beaker), Step::Place { standard: 2 });
        assert_eq!(run.said(), [""; 0], "{celsius}");
    }
}

#[test]
fn a_cold_or_warm_bottle_warns_with_both_temperatures() {
    for celsius in [8.0, FIRST_C - 2.01, FIRST_C + 2.01, 35.0] {
        let mut run = after_the_first();
        let beaker = second(&run, celsius);
        run.place_and_soak(&beaker);
        let [Judgement::StandardTemperatureDiffers { point, temperature_c, first_c, limit_k }] =
            run.routine.said()
        else {
            panic!("{celsius}: {:?}", run.said());
        };
        assert_eq!((*point, *limit_k), (2, limits::TEMPERATURE_SPAN_K.value));
        near(*temperature_c, celsius, 0.001);
        near(*first_c, FIRST_C, 0.001);
        assert_eq!(run.warns("standard-temperature-differs"), Step::Place { standard: 2 });
    }
}

#[test]
fn a_bottle_that_was_let_to_warm_is_taken_and_nothing_is_kept_of_the_warning() {
    let mut run = after_the_first();
    let cold = second(&run, 8.0);
    run.place_and_soak(&cold);
    assert!(run.says("standard-temperature-differs"));
    assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 1 });
    let warm = second(&run, FIRST_C + 1.0);
    assert_eq!(run.place_and_soak(&warm), Step::Place { standard: 2 });
    let third = Beaker::of(&run.routine.plan().standards[2], FIRST_C);
    run.place_and_soak(&third);
    assert!(run.check(&third).overrides.is_empty());
}

#[test]
fn work_at_two_temperatures_on_purpose_is_kept_with_its_reason_and_not_told_again() {
    let mut run = after_the_first();
    let warm = second(&run, 40.0);
    run.place_and_soak(&warm);
    run.warns("standard-temperature-differs");
    let third = Beaker::of(&run.routine.plan().standards[2], FIRST_C);
    run.place_and_soak(&third);
    assert!(!run.says("temperatures-differ"), "{:?}", run.said());
    let record = run.check(&third);
    let kept: Vec<_> = record.overrides.iter().map(|kept| kept.judgement).collect();
    let differs =
        Judgement::each(1).find(|judgement| judgement.code() == "standard-temperature-differs");
    assert_eq!(kept, [differs.unwrap().number()]);
    assert!(kept.len() < MAX_OVERRIDES);
}

/// Each bottle is within the limit of the first one, but not of the other: worth a note.
#[test]
fn bottles_to_either_side_of_the_first_are_a_note() {
    let mut run = after_the_first();
    let (cool, third) =
        (second(&run, 20.5), Beaker::of(&run.routine.plan().standards[2], FIRST_C + 1.5));
    run.place_and_soak(&cool);
    run.place_and_soak(&third);
    assert!(run.says("temperatures-differ"), "{:?}", run.said());
    run.check(&third);
}

#[test]
fn conductivity_standards_are_held_to_it_too() {
    let standards = ["1413", "kcl-0.1-mol-per-kg"].map(standard);
    let mut run = Run::new(plan(Quantity::Conductivity, &standards), first_time());
    run.place_and_soak(&Beaker::of(&standards[0], 25.0));
    run.place_and_soak(&Beaker::of(&standards[1], 21.0));
    run.warns("standard-temperature-differs");
}

#[test]
fn an_alkaline_buffer_before_another_one_is_a_note() {
    let order = |names: &[&str]| {
        let standards: Vec<_> = names.iter().map(|name| standard(name)).collect();
        let run = Run::new(plan(Quantity::Ph, &standards), first_time());
        run.routine
            .said()
            .iter()
            .filter_map(|said| match said {
                Judgement::AlkalineNotLast { point, .. } => Some(*point),
                _ => None,
            })
            .collect::<Vec<_>>()
    };
    let none: [u8; 0] = [];
    assert_eq!(order(&["phosphate-1-1", "phthalate-1977", "borax"]), none);
    assert_eq!(order(&["phosphate-1-1", "borax", "carbonate"]), none);
    assert_eq!(order(&["borax", "phosphate-1-1"]), [1]);
    assert_eq!(order(&["carbonate", "borax", "phthalate-1977"]), [1, 2]);
}

/// The electrode is 40 mV short of its buffer when the second point is taken in haste.
#[test]
fn a_point_taken_in_haste_is_suspected_before_the_electrode() {
    let mut run = after_the_first();
    let beaker = second(&run, FIRST_C);
    run.place();
    run.electrode.offset_mv += 40.0;
    run.drift_per_min = 30.0;
    (0..30).for_each(|_| drop(run.read(&beaker)));
    run.choose(Choice::Continue);
    run.warns("potential-not-settled");
    run.electrode.offset_mv -= 40.0;
    run.drift_per_min = 0.0;
    let third = Beaker::of(&run.routine.plan().standards[2], FIRST_C);
    run.place_and_soak(&third);
    assert_eq!(run.routine.said()[0], Judgement::TakenUnsettled { point: 2 }, "{:?}", run.said());
    assert!(run.says("residual-large"), "{:?}", run.said());
    // Taken again in peace nothing is suspected any more.
    assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
    let beakers = beakers(run.routine.plan());
    run.all(&beakers);
    assert!(!run.says("taken-unsettled"), "{:?}", run.said());
    assert!(run.check(&beakers[2]).overrides.is_empty());
}
