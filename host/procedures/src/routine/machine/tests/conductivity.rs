//! Whole conductivity runs.

use super::bench::*;
use crate::routine::limits;
use crate::routine::plan::Plan;
use crate::routine::step::{Choice, Step};
use rillmark_metrology::reference::conductivity_standards;
use rillmark_proto::record::{CalibrationResult, Outcome, Quantity, Signal};

const STANDARD: &str = "kcl-0.01-mol-per-kg";

fn one_standard() -> Plan {
    plan(Quantity::Conductivity, &[standard(STANDARD)])
}

#[test]
fn the_standards_value_at_the_solutions_temperature_gives_the_cell_constant() {
    for celsius in [5.0, 18.0, 25.0, 31.5] {
        let mut run = Run::new(one_standard(), first_time());
        let beaker = Beaker::of(&run.routine.plan().standards[0], celsius);
        run.all(&[beaker]);
        let record = run.check(&beaker);
        let table = conductivity_standards::by_name(STANDARD).unwrap();
        let table = table.conductivity(beaker.temperature()).unwrap().value;
        let point = &record.points[0];
        near(point.value, table, 1e-9 * table);
        assert!(matches!(point.signal, Signal::Conductance(_)) && point.settling.settled);
        let CalibrationResult::Conductivity(found) = record.result else { panic!() };
        near(found.cell_constant_per_cm, run.cell.cell_constant_per_cm, 1e-7);
        near(record.as_left.unwrap().found, table, 1e-6 * table);
    }
}

#[test]
fn a_cell_within_tolerance_may_be_left() {
    let off = 1.0 + 0.5 * limits::AS_FOUND_PERCENT.value / 100.0;
    let mut run = Run::new(one_standard(), first_time());
    let old = cell(run.cell.cell_constant_per_cm * off);
    run = Run::new(one_standard(), calibrated(CalibrationResult::Conductivity(old)));
    let beaker = Beaker::of(&run.routine.plan().standards[0], 21.0);
    let Step::Decide(allowed) = run.all(&[beaker]) else { panic!("{:?}", run.said()) };
    assert!(allowed.leave && run.says("conductivity-as-found-within-tolerance"));
    near(run.routine.points()[0].as_found.unwrap(), beaker.value * off, 1e-3);
    let record = record(run.choose(Choice::Leave));
    assert_eq!(record.outcome, Outcome::LeftUnadjusted);
    assert_eq!(record.result, CalibrationResult::Conductivity(old));
}

#[test]
fn another_beaker_is_told_by_the_cell_constant_in_force_or_the_nominal_one() {
    let cell_constant = Run::new(one_standard(), first_time()).cell.cell_constant_per_cm;
    let nominal = Plan { nominal_cell_constant: Some(cell_constant), ..one_standard() };
    let in_force = calibrated(CalibrationResult::Conductivity(cell(cell_constant)));
    for (plan, situation, limit) in [
        (one_standard(), in_force, limits::LABEL_PERCENT),
        (nominal, first_time(), limits::LABEL_NOMINAL_PERCENT),
    ] {
        for sign in [-1.0, 1.0] {
            let mut run = Run::new(plan.clone(), situation.clone());
            let right = Beaker::of(&plan.standards[0], 21.0);
            let factor = 1.0 + sign * 1.05 * limit.value / 100.0;
            run.all(&[Beaker { value: right.value * factor, ..right }]);
            run.refuses("standard-not-as-labelled");
            assert_eq!(run.choose(Choice::Retry), Step::Place { standard: 0 });
            let mut step = run.all(&[right]);
            if matches!(step, Step::Decide(_)) {
                step = run.choose(Choice::Continue);
            }
            assert!(matches!(step, Step::Settle { as_left: true, .. }), "{step:?}");
            assert_eq!(run.check(&right).points.len(), 1);
        }
    }
}

/// 12 880 µS/cm at 25 °C: the solutions around it are within 0.5 % of each other.
#[test]
fn another_standard_is_named() {
    let in_force = calibrated(CalibrationResult::Conductivity(cell(0.87)));
    let mut run = Run::new(one_standard(), in_force);
    run.place_and_soak(&Beaker::of(&standard("12880"), 21.0));
    run.refuses("looks-like-other-standard");
    let numbers = run.routine.said()[0].numbers();
    let (_, looks_like) = *numbers.iter().find(|(is, _)| *is == "looks_like_us_cm").unwrap();
    near(looks_like, 12_880.0, 12.0);
}

#[test]
fn another_cell_and_a_check_that_reads_off_warn() {
    let change = 1.0 + 1.2 * limits::CELL_CONSTANT_CHANGE_PERCENT.value / 100.0;
    let old = Run::new(one_standard(), first_time()).cell;
    let situation = calibrated(CalibrationResult::Conductivity(old));
    let mut run = Run::new(one_standard(), situation);
    run.cell = cell(old.cell_constant_per_cm * change);
    let beaker = Beaker::of(&run.routine.plan().standards[0], 24.0);
    run.all(&[beaker]);
    run.warns("cell-constant-far-from-history");
    let off = 1.0 + 1.2 * limits::AS_LEFT_PERCENT.value / 100.0;
    run.soak(&Beaker { value: beaker.value * off, ..beaker });
    assert_eq!(record(run.warns("conductivity-as-left-off")).overrides.len(), 2);
}
