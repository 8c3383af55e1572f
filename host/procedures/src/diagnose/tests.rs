use proptest::prelude::*;
use std::vec::Vec;

use super::evidence::{
    CellEvidence, ColdSeen, Earlier, ElectrodeEvidence, Evidence, LineSeen, Rest,
    ThermometerEvidence,
};
use super::rows::{Effect, ROWS, UNKNOWN, permitted, row};
use super::set::Member;
use super::{Answer, Cause, Grade, Kind, Set, Sign, diagnose};

fn line(slope_percent: f64, offset_mv: f64) -> LineSeen {
    LineSeen { slope_percent, slope_uncertainty_percent: 0.3, offset_mv }
}

const DAY_MS: i64 = 86_400_000;

fn rest(potential_mv: f64, scatter_mv: f64) -> Rest {
    Rest { potential_mv, drift_mv_per_min: 0.05, scatter_mv }
}

/// A healthy probe, looked at from all sides. The numbers are those of a probe of the bench.
fn healthy() -> Evidence {
    let rests = [rest(3.0, 0.02), rest(176.0, 0.03), rest(-174.0, 0.03), rest(4.0, 0.02)];
    Evidence {
        electrode: ElectrodeEvidence {
            line: Some(line(98.6, 3.0)),
            disagreement: Some(0.8),
            odd_buffer: None,
            line_utc_ms: Some(90 * DAY_MS),
            earlier: [Earlier { slope_percent: 98.8, offset_mv: 2.0, utc_ms: Some(0) }]
                .into_iter()
                .collect(),
            response_s: Some(12.0),
            settling_s: Some(55.0),
            rests: rests.into_iter().collect(),
            rests_left_out: 0,
            shake_mv: Some(0.004),
            stir_mv: Some(0.2),
            stir_deviation_mv: Some(0.01),
            missing: Some(0),
            cold: Some(ColdSeen { warm: line(98.6, 3.0), cold: line(98.5, 3.0) }),
        },
        cell: CellEvidence {
            constant_per_cm: Some(1.004),
            earlier_per_cm: Some(1.0),
            nominal_per_cm: None,
            jump_percent: Some(0.02),
            standards_percent: Some(0.4),
        },
        thermometer: ThermometerEvidence {
            off_k: Some(0.1),
            drift_k_per_min: Some(0.01),
            readings: Some(3_000),
            open: 0,
            short: 0,
        },
    }
}

fn likely(causes: &[Cause]) -> Answer {
    Answer::Likely(Set::of(causes))
}

/// Evidence as a fault leaves it, and what it comes to.
type Case = (&'static str, fn(&mut Evidence), Answer);

#[test]
fn each_fault_is_told_by_its_evidence() {
    let cases: [Case; 14] = [
        ("healthy", |_| (), Answer::NothingFound),
        (
            "aged",
            |e| {
                e.electrode.line = Some(line(90.0, 3.0));
                (e.electrode.response_s, e.electrode.settling_s) = (Some(80.0), Some(240.0));
            },
            likely(&[Cause::AgeingGlass]),
        ),
        (
            "cracked",
            |e| {
                let rests = [rest(0.4, 0.01), rest(22.0, 0.02), rest(-22.0, 0.02)];
                e.electrode.rests = rests.into_iter().collect();
                e.electrode.line = Some(line(12.0, 0.4));
                e.electrode.cold = Some(ColdSeen { warm: line(12.0, 0.4), cold: line(5.5, 0.2) });
            },
            likely(&[Cause::CrackedGlass]),
        ),
        (
            "clogged",
            |e| {
                for rest in &mut e.electrode.rests {
                    rest.scatter_mv = 0.9;
                }
                e.electrode.stir_mv = Some(-4.0);
            },
            likely(&[Cause::CloggedJunction]),
        ),
        (
            "contaminated junction",
            |e| {
                e.electrode.line = Some(line(98.6, 36.0));
                for rest in &mut e.electrode.rests {
                    rest.drift_mv_per_min = 1.2;
                }
            },
            likely(&[Cause::ContaminatedJunction]),
        ),
        (
            "contaminated buffer",
            |e| e.electrode.disagreement = Some(8.0),
            likely(&[Cause::ContaminatedBuffer]),
        ),
        (
            "bubble",
            |e| {
                e.cell.constant_per_cm = Some(1.2);
                (e.cell.jump_percent, e.cell.standards_percent) = (Some(9.0), Some(-6.0));
            },
            likely(&[Cause::Bubble]),
        ),
        ("fouled", |e| e.cell.constant_per_cm = Some(1.2), likely(&[Cause::FouledCell])),
        (
            "wet",
            |e| {
                let rests = [rest(2.5, 0.04), rest(140.0, 2.4), rest(-138.0, 2.9)];
                e.electrode.rests = rests.into_iter().collect();
                e.electrode.line = Some(line(79.0, 2.5));
                e.electrode.cold = Some(ColdSeen { warm: line(79.0, 2.5), cold: line(60.0, 2.0) });
                (e.electrode.response_s, e.electrode.settling_s) = (None, Some(420.0));
            },
            likely(&[Cause::WetConnector]),
        ),
        (
            "thermometer off, and with it the cell constant",
            |e| {
                e.thermometer.off_k = Some(2.5);
                e.cell.constant_per_cm = Some(1.05);
            },
            likely(&[Cause::ThermometerOffset]),
        ),
        ("hum", |e| e.electrode.shake_mv = Some(0.2), likely(&[Cause::Hum])),
        ("open", |e| e.thermometer.open = 40, likely(&[Cause::ThermometerOpen])),
        ("short", |e| e.thermometer.short = 40, likely(&[Cause::ThermometerShort])),
        (
            "aged, and a bubble beside it",
            |e| {
                e.electrode.line = Some(line(90.0, 3.0));
                e.electrode.response_s = Some(80.0);
                (e.cell.constant_per_cm, e.cell.jump_percent) = (Some(1.2), Some(9.0));
            },
            likely(&[Cause::AgeingGlass, Cause::Bubble]),
        ),
    ];
    for (name, change, answer) in cases {
        let mut evidence = healthy();
        change(&mut evidence);
        let diagnosis = diagnose(&evidence);
        assert_eq!(diagnosis.answer, answer, "{name}: {:?}", diagnosis.observed);
        let named: Set<Cause> = diagnosis.findings.iter().map(|finding| finding.cause).collect();
        assert_eq!(likely(&named.iter().collect::<Vec<_>>()), likely_or_empty(&answer), "{name}");
    }
}

fn likely_or_empty(answer: &Answer) -> Answer {
    match answer {
        Answer::Likely(set) => Answer::Likely(*set),
        _ => Answer::Likely(Set::EMPTY),
    }
}

#[test]
fn what_looks_alike_is_unsure_and_names_what_would_part_it() {
    // A slope that is low and nothing else known: glass, crack or connector.
    let mut evidence = healthy();
    evidence.electrode.line = Some(line(88.0, 3.0));
    (evidence.electrode.response_s, evidence.electrode.settling_s) = (None, None);
    evidence.electrode.cold = None;
    let diagnosis = diagnose(&evidence);
    let Answer::Unsure { gather, .. } = diagnosis.answer else {
        panic!("{:?}", diagnosis.answer);
    };
    assert!(gather.has(Kind::Response), "{gather:?}");

    // A cell constant that has risen, without a reference thermometer.
    let mut evidence = healthy();
    evidence.cell.constant_per_cm = Some(1.08);
    evidence.thermometer.off_k = None;
    let diagnosis = diagnose(&evidence);
    let Answer::Unsure { any_of, gather, .. } = diagnosis.answer else {
        panic!("{:?}", diagnosis.answer);
    };
    assert_eq!(any_of.as_slice(), [Set::of(&[Cause::FouledCell])]);
    assert_eq!(gather, Set::of(&[Kind::ReferenceThermometer]));
    // By 30 % no thermometer is off.
    evidence.cell.constant_per_cm = Some(1.3);
    assert_eq!(diagnose(&evidence).answer, likely(&[Cause::FouledCell]));
}

/// Evidence of a probe that nobody has seen before: two buffers, one standard.
fn first_time() -> Evidence {
    let mut evidence = healthy();
    evidence.electrode.disagreement = None;
    evidence.electrode.earlier.clear();
    (evidence.electrode.stir_mv, evidence.electrode.cold) = (None, None);
    (evidence.cell.earlier_per_cm, evidence.cell.standards_percent) = (None, None);
    evidence.thermometer.off_k = None;
    evidence
}

#[test]
fn nothing_found_says_in_how_many_causes() {
    let whole = diagnose(&healthy());
    assert_eq!((whole.answer.clone(), whole.examined().len()), (Answer::NothingFound, 12));
    let first = diagnose(&first_time());
    assert_eq!(first.answer, Answer::NothingFound);
    // Without stirring, a third buffer, another cell constant and a reference thermometer.
    let missing: Vec<_> = first.not_examined.iter().map(|not| not.cause).collect();
    let expected = [
        Cause::CloggedJunction,
        Cause::ContaminatedBuffer,
        Cause::FouledCell,
        Cause::ThermometerOffset,
    ];
    assert_eq!((missing.as_slice(), first.examined().len()), (&expected[..], 8));
    // One beaker: what readings alone tell.
    let mut readings = Evidence::default();
    readings.electrode.shake_mv = Some(0.004);
    readings.thermometer.readings = Some(900);
    let seen = diagnose(&readings);
    assert_eq!((seen.answer.clone(), seen.examined().len()), (Answer::NothingFound, 3));
}

#[test]
fn a_cell_that_conducts_16_percent_too_little_is_unclear_and_not_examined_away() {
    let mut evidence = first_time();
    evidence.cell.nominal_per_cm = Some(1.0);
    // 16 % of the conductance is missing at 1/0.84 of the constant.
    evidence.cell.constant_per_cm = Some(1.0 / 0.84);
    let diagnosis = diagnose(&evidence);
    let could_be = Set::of(&[Cause::FouledCell, Cause::ThermometerOffset]);
    let signs = Set::of(&[Sign::ConductanceLow]);
    assert_eq!(diagnosis.answer, Answer::Unclear { signs, could_be });
    assert_eq!(diagnosis.not_ruled_out, Set::of(&[Cause::FouledCell]));
    // A record alone says no less.
    let mut record = Evidence { cell: evidence.cell, ..Evidence::default() };
    record.cell.jump_percent = None;
    let Answer::Unclear { could_be, .. } = diagnose(&record).answer else { panic!("{record:?}") };
    assert!(could_be.has(Cause::FouledCell), "{could_be:?}");
    // What cells differ by from their maker's figure hides as much of a film.
    evidence.cell.constant_per_cm = Some(1.05);
    let diagnosis = diagnose(&evidence);
    assert_eq!(diagnosis.answer, Answer::NothingFound);
    assert!(!diagnosis.examined().has(Cause::FouledCell));
}

#[test]
fn what_no_cause_brings_cannot_be_named() {
    let strange: [Case; 4] = [
        (
            "readings missing",
            |e| e.electrode.missing = Some(40),
            unnamed(&[Sign::PotentialMissing], &[]),
        ),
        (
            "a temperature that creeps, and what is computed with it",
            |e| {
                e.thermometer.drift_k_per_min = Some(-2.0);
                (e.electrode.disagreement, e.cell.constant_per_cm) = (Some(4.0), Some(0.93));
            },
            unnamed(&[Sign::TemperatureDrifts], &[]),
        ),
        (
            "restless everywhere, and hum is known",
            |e| {
                e.electrode.rests.iter_mut().for_each(|rest| rest.scatter_mv = 0.9);
                e.electrode.stir_mv = Some(0.2);
            },
            unnamed(&[Sign::Restless], &[]),
        ),
        (
            "two standards, and a bad slope beside them",
            |e| {
                e.cell.standards_percent = Some(-9.0);
                e.electrode.line = Some(line(90.0, 3.0));
                (e.electrode.response_s, e.electrode.settling_s) = (Some(80.0), Some(240.0));
            },
            unnamed(&[Sign::StandardsDisagree], &[Cause::AgeingGlass]),
        ),
    ];
    for (name, change, answer) in strange {
        let mut evidence = healthy();
        change(&mut evidence);
        assert_eq!(diagnose(&evidence).answer, answer, "{name}");
    }
}

fn unnamed(unexplained: &[Sign], beside: &[Cause]) -> Answer {
    Answer::Unnamed { unexplained: Set::of(unexplained), beside: Set::of(beside) }
}

#[test]
fn a_cause_behind_another_is_not_ruled_out() {
    let mut evidence = healthy();
    (evidence.cell.constant_per_cm, evidence.cell.jump_percent) = (Some(1.2), Some(9.0));
    let diagnosis = diagnose(&evidence);
    assert_eq!(diagnosis.answer, likely(&[Cause::Bubble]));
    assert_eq!(diagnosis.not_ruled_out, Set::of(&[Cause::FouledCell]));
    // A cracked bulb leaves nothing that a bad bottle or an old glass would show in.
    let mut evidence = healthy();
    evidence.electrode.line = Some(line(4.0, 0.4));
    (evidence.electrode.cold, evidence.electrode.response_s) = (None, Some(40.0));
    let diagnosis = diagnose(&evidence);
    let hidden = Set::of(&[Cause::ContaminatedBuffer]);
    assert!(diagnosis.not_ruled_out.holds(hidden), "{:?}", diagnosis.not_ruled_out);
}

#[test]
fn two_buffers_do_not_tell_an_old_electrode_from_a_bad_bottle() {
    let mut evidence = healthy();
    evidence.electrode.line = Some(line(92.0, 3.0));
    evidence.electrode.disagreement = None;
    evidence.electrode.cold = None;
    let diagnosis = diagnose(&evidence);
    let Answer::Unsure { gather, .. } = diagnosis.answer else {
        panic!("{:?}", diagnosis.answer);
    };
    assert!(gather.has(Kind::ThirdBuffer), "{gather:?}");
}

#[test]
fn without_evidence_there_is_no_answer() {
    let diagnosis = diagnose(&Evidence::default());
    assert_eq!(diagnosis.answer, Answer::NotEnough);
    assert_eq!(diagnosis.not_examined.len(), Cause::ALL.len());
}

/// A calibration of cells alone, and one whose electrode settles neither early nor late.
#[test]
fn evidence_that_rules_nothing_out_is_not_enough() {
    let mut evidence = Evidence::default();
    evidence.electrode.settling_s = Some(72.0);
    evidence.electrode.line = Some(line(96.2, 3.0));
    let diagnosis = diagnose(&evidence);
    assert_eq!((diagnosis.answer.clone(), diagnosis.examined().len()), (Answer::NotEnough, 0));
    assert_eq!(diagnosis.not_ruled_out, Set::of(&[Cause::AgeingGlass]));
}

#[test]
fn an_offset_that_moves_within_the_day_is_unclear_sooner() {
    let moved = |by_mv: f64, now_ms| {
        let mut evidence = healthy();
        evidence.electrode.line = Some(line(98.6, 2.0 + by_mv));
        evidence.electrode.line_utc_ms = now_ms;
        diagnose(&evidence).answer
    };
    let unclear = |answer: &Answer| matches!(answer, Answer::Unclear { signs, .. } if signs.has(Sign::OffsetShifted));
    for now_ms in [0, 600_000, DAY_MS] {
        assert!(unclear(&moved(6.4, Some(now_ms))), "{now_ms}");
        assert!(unclear(&moved(-6.4, Some(now_ms))), "{now_ms}");
        assert_eq!(moved(3.9, Some(now_ms)), Answer::NothingFound, "{now_ms}");
    }
    // Later, at an unknown time, or by a clock that was set back.
    for now_ms in [Some(DAY_MS + 1), Some(-1), Some(i64::MIN), None] {
        assert_eq!(moved(6.4, now_ms), Answer::NothingFound, "{now_ms:?}");
    }
    assert!(unclear(&moved(7.4, None)));
}

#[test]
fn the_table_is_whole() {
    for (index, cause) in Cause::ALL.iter().enumerate() {
        assert_eq!(row(*cause).cause, *cause);
        assert_eq!(cause.number() as usize, index);
    }
    for row in &ROWS {
        assert!(!row.needs.is_empty() && !row.hallmarks.is_empty(), "{:?}", row.cause);
        let effect = |sign: Sign| row.effects.iter().find(|(of, _)| *of == sign);
        assert!(!row.named_by.is_empty(), "{:?}", row.cause);
        for hallmark in row.hallmarks.iter().chain(row.named_by) {
            assert!(effect(*hallmark).is_some(), "{:?} has {hallmark:?}", row.cause);
        }
        for (sign, _) in row.effects {
            assert_eq!(row.effects.iter().filter(|(of, _)| of == sign).count(), 1, "{sign:?}");
        }
        assert!(row.effects.iter().any(|(_, effect)| *effect == Effect::Brings));
        for (other, by) in row.alike {
            assert!(*other != row.cause && !by.is_empty(), "{:?}", row.cause);
        }
    }
    for sign in Sign::ALL {
        let known = ROWS.iter().any(|row| row.effect(*sign).is_some());
        assert_eq!(known, !UNKNOWN.contains(sign), "{sign:?}");
    }
}

#[test]
fn permitted_answers_hold_the_truth_and_shrink_with_the_evidence() {
    let all: Set<Kind> = Kind::ALL.iter().copied().collect();
    for cause in Cause::ALL {
        let (poor, rich) = (permitted(*cause, Set::EMPTY), permitted(*cause, all));
        assert!(poor.has(*cause) && poor.holds(rich), "{cause:?}");
        assert_eq!(rich, Set::of(&[*cause]), "all evidence tells {cause:?} from every other");
    }
}

prop_compose! {
    fn some(range: core::ops::Range<f64>)(there in any::<bool>(), value in range) -> Option<f64> {
        there.then_some(value)
    }
}

prop_compose! {
    fn any_evidence()(
        slope in some(-120.0..120.0),
        earlier in some(50.0..105.0),
        offset in -100.0..100.0,
        disagreement in some(0.0..20.0),
        response in some(0.0..500.0),
        settling in some(0.0..500.0),
        rests in proptest::collection::vec((-300.0..300.0, -20.0..20.0, 0.0..5.0), 0..6),
        shake in some(0.0..1.0),
        stir in some(-20.0..20.0),
        cold in some(-120.0..120.0),
        cell in proptest::collection::vec(some(0.1..3.0), 3),
        jump in some(0.0..50.0),
        standards in some(-50.0..50.0),
        off in some(-10.0..10.0),
        readings in proptest::option::of(0u32..1_000),
        creep in some(-3.0..3.0),
        flagged in proptest::option::of((0u32..3, 0u32..3, 0u32..6)),
    ) -> Evidence {
        let line_of = |slope: f64| line(slope, offset);
        let rests = rests.into_iter().map(|(potential_mv, drift_mv_per_min, scatter_mv)| {
            Rest { potential_mv, drift_mv_per_min, scatter_mv }
        });
        let earlier = earlier.map(|slope_percent| {
            Earlier { slope_percent, offset_mv: 0.0, utc_ms: None }
        });
        Evidence {
            electrode: ElectrodeEvidence {
                line_utc_ms: None,
                line: slope.map(line_of),
                disagreement,
                odd_buffer: None,
                earlier: earlier.into_iter().collect(),
                response_s: response,
                settling_s: settling,
                rests_left_out: 0,
 rests: rests.collect(),
                shake_mv: shake,
                stir_mv: stir,
                stir_deviation_mv: None,
                missing: flagged.map(|(_, _, missing)| missing),
                cold: slope.zip(cold).map(|(warm, cold)| ColdSeen {
                    warm: line_of(warm),
                    cold: line_of(cold),
                }),
            },
            cell: CellEvidence {
                constant_per_cm: cell[0],
                earlier_per_cm: cell[1],
                nominal_per_cm: cell[2],
                jump_percent: jump,
                standards_percent: standards,
            },
            thermometer: ThermometerEvidence {
                off_k: off,
                drift_k_per_min: creep,
                readings,
                open: flagged.map_or(0, |(open, ..)| open),
                short: flagged.map_or(0, |(_, short, _)| short),
            },
        }
    }
}

proptest! {
    #[test]
    fn no_cause_is_named_without_its_least_evidence(evidence in any_evidence()) {
        let there = evidence.kinds();
        let diagnosis = diagnose(&evidence);
        for finding in &diagnosis.findings {
            prop_assert!(row(finding.cause).missing(there).is_empty(), "{finding:?}");
        }
        for not in &diagnosis.not_examined {
            prop_assert!(!not.missing.is_empty() && not.missing.and(there).is_empty());
        }
        if let Answer::Unsure { gather, .. } = &diagnosis.answer {
            prop_assert!(gather.and(there).is_empty(), "what is there is not asked for again");
        }
    }

    #[test]
    fn an_answer_accounts_for_every_sign_and_no_fault_means_none(evidence in any_evidence()) {
        let diagnosis = diagnose(&evidence);
        let present: Vec<_> =
            diagnosis.observed.iter().filter(|seen| seen.grade == Grade::Present).collect();
        match diagnosis.answer {
            Answer::NothingFound | Answer::Unclear { .. } => prop_assert!(present.is_empty()),
            Answer::Likely(set) => {
                prop_assert!(!present.is_empty() && !set.is_empty());
                for seen in present {
                    let brings = set.iter().any(|cause| row(cause).effect(seen.sign).is_some());
                    prop_assert!(brings, "{seen:?}");
                }
            }
            Answer::Unsure { .. } | Answer::Unnamed { .. } => prop_assert!(!present.is_empty()),
            Answer::NotEnough => {}
        }
    }
}
