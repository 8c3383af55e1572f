//! The cell in air before the first standard. Conductances are made up.

use super::bench::*;
use crate::routine::limits;
use crate::routine::plan::Plan;
use crate::routine::step::{Choice, Step};
use rillmark_metrology::fit::conductivity::ZERO_PRIOR_US;
use rillmark_proto::calibration::conductivity::ConductivityCalibration;
use rillmark_proto::calibration::conductivity::Estimate;
use rillmark_proto::reading::{Flags, Range, Raw, RawConductance};
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Quantity};

fn zero_first() -> Plan {
    let one = plan(Quantity::Conductivity, &[standard("kcl-0.001-mol-per-l")]);
    Plan { zero_in_air: true, nominal_cell_constant: Some(1.0), ..one }
}

/// Conductances in air in pS, a reading a second, until the step is another one.
fn in_air(run: &mut Run, mut conductance_ps: impl FnMut(u64) -> i64) -> Step {
    assert_eq!(run.routine.step(), Step::Air);
    run.place();
    for n in 0..400 {
        let conductance =
            RawConductance { conductance_ps: conductance_ps(n), range: Range::Ohm100k };
        // Nothing that is known of a thermometer matters here.
        let raw = Raw { conductance: Some(conductance), ..Raw::default() };
        let step = run.read_raw(raw, Flags::CELL_OPEN.with(Flags::THERMOMETER_OPEN));
        if !matches!(step, Step::SettleInAir { .. }) {
            return step;
        }
    }
    panic!("never ends");
}

fn cell_of(record: &CalibrationRecord) -> ConductivityCalibration {
    match record.result {
        CalibrationResult::Conductivity(cell) => cell,
        other => panic!("{other:?}"),
    }
}

/// 0.080 µS with a scatter of ±0.001 µS that alternates. Settled, at most 0.01 µS are still to come, a
/// rectangle of 0.0058 µS at most.
#[test]
fn what_remains_in_air_is_taken_off_and_its_uncertainty_kept() {
    let mut run = Run::new(zero_first(), first_time());
    let zero = Estimate { value: 0.08, standard_uncertainty: 0.0 };
    run.cell = ConductivityCalibration { zero_us: zero, ..run.cell };
    let step = in_air(&mut run, |n| 80_000 + if n % 2 == 0 { 1_000 } else { -1_000 });
    assert_eq!(step, Step::Place { standard: 0 });
    assert!(run.says("zero-measured"), "{:?}", run.said());
    let beaker = Beaker::of(&run.routine.plan().standards[0], 21.0);
    run.all(&[beaker]);
    let found = cell_of(&run.check(&beaker));
    near(found.zero_us.value, 0.08, 5e-4);
    assert!((0.001..0.006).contains(&found.zero_us.standard_uncertainty), "{:?}", found.zero_us);
    // Without it the cell constant would be off by the 0.05 % that 0.08 µS are of some 160 µS.
    near(found.cell_constant_per_cm / run.cell.cell_constant_per_cm, 1.0, 2e-5);
}

#[test]
fn a_cell_that_is_not_empty_and_dry_is_refused_until_it_is() {
    let over = (limits::ZERO_US.value * 1.1e6) as i64;
    for wet in [over, 4_000_000, 1_000_000_000, -over] {
        let mut run = Run::new(zero_first(), first_time());
        in_air(&mut run, |_| wet);
        run.refuses("cell-not-dry");
        assert_eq!(run.choose(Choice::Retry), Step::Air);
        assert_eq!(in_air(&mut run, |_| 30_000), Step::Place { standard: 0 });
    }
}

#[test]
fn a_film_of_water_that_dries_is_waited_for_or_taken_with_a_reason() {
    // 0.4 µS that falls with a time constant of 120 s.
    let drying = |n: u64| (400_000.0 * libm::exp(-(n as f64) / 120.0)) as i64 + 20_000;
    let mut run = Run::new(zero_first(), first_time());
    let step = in_air(&mut run, drying);
    assert!(run.ms > 200_000 || matches!(step, Step::Decide(_)), "{step:?} after {} ms", run.ms);
    let mut run = Run::new(zero_first(), first_time());
    run.place();
    for n in 0..20 {
        let conductance = RawConductance { conductance_ps: drying(n), range: Range::Ohm100k };
        let raw = Raw { conductance: Some(conductance), ..Raw::default() };
        run.read_raw(raw, Flags::CELL_OPEN);
    }
    run.choose(Choice::Continue);
    assert_eq!(run.warns("zero-not-settled"), Step::Place { standard: 0 });
    let beaker = Beaker::of(&run.routine.plan().standards[0], 21.0);
    run.all(&[beaker]);
    let record = run.check(&beaker);
    assert_eq!(record.overrides.len(), 1);
    // What was still to come is in its uncertainty.
    assert!(cell_of(&record).zero_us.standard_uncertainty > 0.05, "{:?}", record.result);
}

#[test]
fn a_measured_zero_is_carried_over_until_it_is_measured_again() {
    let zero = Estimate { value: 0.08, standard_uncertainty: 0.004 };
    for (known, expected) in [(zero, zero), (ZERO_PRIOR_US, ZERO_PRIOR_US)] {
        let old = ConductivityCalibration { zero_us: known, ..cell(0.95) };
        let situation = calibrated(CalibrationResult::Conductivity(old));
        let mut run = Run::new(Plan { zero_in_air: false, ..zero_first() }, situation);
        assert_eq!(run.routine.step(), Step::Place { standard: 0 });
        let beaker = Beaker::of(&run.routine.plan().standards[0], 21.0);
        run.all(&[beaker]);
        assert_eq!(run.says("zero-carried-over"), known == zero, "{:?}", run.said());
        while let Step::Decide(allowed) = run.routine.step() {
            run.choose(match allowed.override_ {
                true => Choice::Override(reason()),
                false => Choice::Continue,
            });
        }
        assert_eq!(cell_of(&run.check(&beaker)).zero_us, expected);
    }
}

#[test]
fn only_a_cell_is_held_in_air() {
    let ph = Plan { zero_in_air: true, ..three_buffers() };
    assert_eq!(Run::new(ph, first_time()).routine.step(), Step::Place { standard: 0 });
}
