//! Sick and healthy probes are told apart as well as is claimed: a smaller run of the example
//! `fault_table`, on seeds of its own.

mod fault_table;

use fault_table::chance::Chance;
use fault_table::score::{Score, score};
use fault_table::table::{Run, pairs};
use fault_table::visit::{Extent, ailment, visit};
use rillmark_bench::Ailments;
use rillmark_proto::diagnose::set::Member;
use rillmark_proto::diagnose::{Answer, Cause, Grade, diagnose};

/// Seeds that nothing was tuned on: the limits were tuned on those below 1 000.
const SEED: u64 = 700_000;

#[test]
fn few_answers_are_wrong_and_few_healthy_probes_alarmed() {
    let mut run = Run::default();
    for visit in 0..25 {
        run.take(SEED + visit, &Vec::new(), Extent::Full);
    }
    for (index, severity) in (0..).zip([0.5, 0.8]) {
        for cause in Cause::ALL {
            run.take(SEED + 100 + index, &vec![(*cause, severity)], Extent::Full);
        }
    }
    let mut chance = Chance::new(SEED, 0);
    for (seed, (one, other)) in (SEED + 200..).zip(pairs()).step_by(2) {
        let mut severity = || chance.between(0.3, 1.0);
        run.take(seed, &vec![(one, severity()), (other, severity())], Extent::Full);
    }
    assert!(run.wrong_percent() <= 2.0, "{:?}", run.wrong);
    assert!(run.alarmed_percent() <= 2.0, "{:?}", run.answers["healthy"]);
    assert!(run.unsure_percent() <= 25.0, "{:?}", run.scores);
    // And it says something at all.
    let medium = run.single_medium;
    assert!(medium.right * 10 >= medium.count() * 9, "{medium:?}");
}

#[test]
fn a_calibration_alone_gives_few_wrong_answers_too() {
    let mut run = Run::default();
    for extent in [Extent::Calibration, Extent::FirstTime, Extent::Readings] {
        for visit in 0..4 {
            run.take(SEED + 300 + visit, &Vec::new(), extent);
        }
        for cause in Cause::ALL {
            run.take(SEED + 400, &vec![(*cause, 0.6)], extent);
        }
    }
    assert!(run.wrong_percent() <= 2.0, "{:?}", run.wrong);
    assert!(run.alarmed_percent() <= 2.0, "{:?}", run.answers["healthy"]);
}

/// The score must be able to fail: the answer to another fault is wrong.
#[test]
fn the_answer_to_another_fault_is_wrong() {
    for cause in Cause::ALL {
        let ailments = Ailments::only(ailment(*cause), 0.8);
        let evidence = visit(SEED + 500, ailments, Extent::Full);
        let (there, diagnosis) = (evidence.kinds(), diagnose(&evidence));
        assert!(matches!(diagnosis.answer, Answer::Likely(_)), "{cause:?}: {:?}", diagnosis.answer);
        assert_eq!(score(&[(*cause, 0.8)], there, &diagnosis), Score::Right, "{cause:?}");
        assert_eq!(score(&[], there, &diagnosis), Score::Wrong, "healthy");
        for other in Cause::ALL.iter().filter(|other| *other != cause) {
            let score = score(&[(*other, 0.8)], there, &diagnosis);
            assert_eq!(score, Score::Wrong, "{cause:?} for {other:?}");
        }
    }
}

#[test]
fn a_healthy_probe_shows_every_sign_as_absent_or_vague() {
    let diagnosis = diagnose(&visit(SEED + 600, Ailments::default(), Extent::Full));
    assert_eq!(diagnosis.answer, Answer::NoFault);
    assert!(diagnosis.observed.iter().all(|seen| seen.grade != Grade::Present));
    assert!(diagnosis.not_examined.is_empty(), "{:?}", diagnosis.not_examined);
    assert_eq!(diagnosis.observed.len(), rillmark_proto::diagnose::Sign::ALL.len());
}
