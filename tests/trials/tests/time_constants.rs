//! The time constant of a point is that of the sensor on the bench.

use rillmark_trials::settle::{Case, Kind, run};

/// Found over true of every case that is told and wanted.
fn ratios(kind: Kind, wanted: impl Fn(&Case) -> bool) -> (Vec<f64>, usize) {
    let cases: Vec<_> =
        (0..100).map(|number| Case::drawn(kind, number, false)).filter(wanted).collect();
    let told = |case: &Case| Some(run(case).time_constant_s? / case.time_constants_s().1);
    let mut told: Vec<f64> = cases.iter().filter_map(told).collect();
    told.sort_by(f64::total_cmp);
    println!("{kind:?}: {} of {}: {told:.2?}", told.len(), cases.len());
    (told, cases.len())
}

#[test]
fn a_sensor_with_one_time_constant_is_told_by_it() {
    for kind in [Kind::OneConstant, Kind::Filling] {
        let (told, cases) = ratios(kind, |_| true);
        assert!(told.len() * 10 >= cases * 7, "{kind:?}: {} of {cases}", told.len());
        let right = told.iter().filter(|ratio| (0.8..1.25).contains(*ratio)).count();
        assert!(right * 10 >= told.len() * 9, "{kind:?}: {told:.2?}");
    }
}

/// Of two that lie far apart the slow one is told, or what the two together look like, but seldom the fast
/// one: that would promise too much.
#[test]
fn of_two_time_constants_the_slow_one_is_told() {
    let (told, cases) = ratios(Kind::TwoConstants, |case| {
        let (fast, slow, part) = case.time_constants_s();
        slow > 3.0 * fast && part < 0.9
    });
    let right = told.iter().filter(|ratio| (0.7..1.4).contains(*ratio)).count();
    assert!(told.len() * 10 >= cases * 5, "{} of {cases}", told.len());
    assert!(right * 10 >= told.len() * 8, "{told:.2?}");
}
