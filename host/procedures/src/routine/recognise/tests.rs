use std::vec::Vec;

use super::*;
use crate::routine::standard::{Printed, Stated};
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::calibration::drift::SensorDrift;
use rillmark_proto::calibration::ph::PhCovariance;
use rillmark_proto::units::{MicrosiemensPerCm, Ph};

const AT: Celsius = Celsius::new(25.0);

/// A made-up electrode, known to 0.2 % and 0.3 mV.
const ELECTRODE: PhCalibration = PhCalibration {
    covariance: PhCovariance { slope: 4e-6, offset_mv2: 0.09, slope_offset_mv: 0.0 },
    ..PhCalibration::exact(0.985, -7.5)
};

/// A made-up cell, known to 0.5 %.
const CELL: ConductivityCalibration = ConductivityCalibration {
    variance_per_cm2: 0.0045 * 0.0045,
    ..ConductivityCalibration::exact(0.9, Compensation::Linear { per_kelvin: 0.0191 })
};

fn sources(names: &[&str]) -> Vec<Source> {
    let solution = |name| conductivity_standards::by_name(name).map(Source::Solution);
    let buffer = |name| buffers::by_name(name).map(Source::Buffer);
    names.iter().map(|name| buffer(name).or_else(|| solution(name)).unwrap()).collect()
}

fn all_buffers() -> Vec<Source> {
    buffers::ALL.iter().map(Source::Buffer).collect()
}

/// So many days after its calibration, with the drift of one of which nothing is known.
fn electrode(days: f64) -> Known {
    let drifted = Some(Circumstances::drifted(&SensorDrift::ELECTRODE, days));
    Known::Electrode { calibration: ELECTRODE, drifted }
}

/// Names of what is near when the electrode stands in this pH, `off` mV away from its calibration.
fn near(known: &Known, standards: &[Source], ph: f64, off: f64) -> (&'static str, Vec<usize>) {
    let mv = ELECTRODE.potential(Ph::new(ph), AT).unwrap().get() + off;
    let seen = Seen::Potential(Millivolts::new(mv));
    kind(&recognise(known, seen, AT, 0.0, standards))
}

fn kind(recognition: &Recognition) -> (&'static str, Vec<usize>) {
    let indices = |near: &[Candidate]| {
        let mut indices: Vec<_> = near.iter().map(|near| near.index).collect();
        indices.sort_unstable();
        indices
    };
    match recognition.answer() {
        Recognised::One(near) => ("one", indices(near)),
        Recognised::Ambiguous(near) => ("ambiguous", indices(near)),
        Recognised::NoneNear => ("none", Vec::new()),
    }
}

#[test]
fn each_of_the_usual_three_is_recognised_with_and_without_a_calibration() {
    let three = sources(&["4.01", "7.00", "10.01"]);
    for known in [electrode(0.0), electrode(365.0), Known::AnyElectrode] {
        for (index, source) in three.iter().enumerate() {
            let ph = source.value(AT).unwrap().value;
            for off in [-8.0, 0.0, 8.0] {
                assert_eq!(near(&known, &three, ph, off), ("one", std::vec![index]), "{known:?}");
            }
        }
    }
}

#[test]
fn lake_water_between_the_buffers_is_none_of_them() {
    let three = sources(&["4.01", "7.00", "10.01"]);
    for ph in [2.5, 5.5, 8.4, 11.5] {
        assert_eq!(near(&electrode(7.0), &three, ph, 0.0).0, "none", "{ph}");
    }
    // pH 8.4 of a nominal electrode is 83 mV: more than 60 mV from 7.00, less than 91 from 10.01.
    assert_eq!(near(&Known::AnyElectrode, &three, 8.4, 7.5).0, "none");
}

/// Phthalate stands in the list under four names that differ by 0.003 pH at 25 °C and by 0.010 at 0 °C:
/// no signal tells them apart, and nobody has to choose between them.
#[test]
fn one_composition_under_four_names_is_one_at_every_temperature() {
    let names = sources(&["phthalate-1962", "phthalate-1977", "phthalate-2002", "4.01", "7.00"]);
    for t in [0.0, 10.0, 25.0, 40.0, 50.0] {
        let at = Celsius::new(t);
        let seen = Seen::Potential(ELECTRODE.potential(Ph::new(4.006), at).unwrap());
        let found = recognise(&electrode(0.0), seen, at, 0.0, &names);
        let (kind, mut which) = kind(&found);
        which.sort_unstable();
        assert_eq!((kind, which), ("one", std::vec![0, 1, 2, 3]), "{t} °C");
    }
}

/// Citrate (3.776) is 13.4 mV from phthalate (4.006): a fresh calibration tells them apart only by
/// 3 · √(3² + …) = 9.5 mV, so the middle is both.
#[test]
fn neighbours_are_ambiguous_and_more_of_them_the_older_the_calibration() {
    let neighbours = sources(&["citrate", "phthalate-1977", "phosphate-1-1"]);
    assert_eq!(near(&electrode(0.0), &neighbours, 3.776, 0.0), ("one", std::vec![0]));
    assert_eq!(near(&electrode(0.0), &neighbours, 3.89, 0.0), ("ambiguous", std::vec![0, 1]));
    assert_eq!(near(&electrode(60.0), &neighbours, 3.776, 0.0), ("ambiguous", std::vec![0, 1]));
    let mut before = 0;
    for age in [0.0, 7.0, 30.0, 60.0, 1000.0] {
        let count = near(&electrode(age), &all_buffers(), 7.0, 0.0).1.len();
        assert!(count >= before, "{age}");
        before = count;
    }
    // An unknown age is the oldest.
    let unknown = Known::Electrode { calibration: ELECTRODE, drifted: None };
    assert_eq!(near(&unknown, &all_buffers(), 7.0, 0.0).1.len(), before);
    // Two clocks that disagree by hours.
    let fresh = near(&electrode(0.0), &all_buffers(), 7.0, 0.0);
    assert_eq!(near(&electrode(-0.2), &all_buffers(), 7.0, 0.0), fresh);
}

fn conductivity(known: &Known, us_cm: f64, names: &[&str]) -> (&'static str, Vec<usize>) {
    let us = CELL.conductance(MicrosiemensPerCm::new(us_cm), Range::Ohm1k).unwrap();
    kind(&recognise(known, Seen::Conductance(us, Range::Ohm1k), AT, 0.0, sources(names)))
}

#[test]
fn conductivity_standards_are_told_apart_but_1408_and_1413_are_not() {
    let (fresh, old) = (Some(Circumstances::default()), None);
    let nominal = Known::NominalCell { cell_constant_per_cm: 1.0 };
    let labels = ["84", "147", "1413", "12880", "108620"];
    for drifted in [fresh, old] {
        let known = Known::Cell { calibration: CELL, drifted };
        for (index, us_cm) in [84.0, 146.9, 1413.0, 12_880.0, 108_620.0].into_iter().enumerate() {
            assert_eq!(conductivity(&known, us_cm, &labels), ("one", std::vec![index]));
            assert_eq!(conductivity(&nominal, us_cm, &labels), ("one", std::vec![index]));
        }
        assert_eq!(conductivity(&known, 500.0, &labels).0, "none");
        let two = conductivity(&known, 1410.0, &["1408", "1413"]);
        assert_eq!(two, ("ambiguous", std::vec![0, 1]));
        // 0.08 % apart.
        let same = conductivity(&known, 12_885.0, &["12880", "12890"]);
        assert_eq!(same, ("one", std::vec![0, 1]));
    }
    // With a cell 30 % off 111 µS/cm may be 84 or 146.9 µS/cm: 84 · 1.3 = 109, 146.9 / 1.3 = 113, and
    // the standards' own uncertainty (3 %, 2 %) closes the gap.
    assert_eq!(conductivity(&nominal, 111.0 * 0.9, &labels), ("ambiguous", std::vec![0, 1]));
    assert_eq!(conductivity(&nominal, 500.0, &labels).0, "none");
}

#[test]
fn air_is_none_and_a_foreign_signal_is_none() {
    let cell = Known::Cell { calibration: CELL, drifted: None };
    let standards = sources(&["1413", "7.00"]);
    for us in [0.0, -0.1, f64::NAN] {
        let seen = Seen::Conductance(Microsiemens::new(us), Range::Ohm1k);
        assert_eq!(kind(&recognise(&cell, seen, AT, 0.0, &standards)).0, "none", "{us}");
    }
    let potential = Seen::Potential(Millivolts::new(0.0));
    assert_eq!(kind(&recognise(&cell, potential, AT, 0.0, &standards)).0, "none");
    // The standard of the other quantity is no candidate.
    let found = recognise(&electrode(0.0), potential, AT, 0.0, &standards);
    assert_eq!(found.nearest.unwrap().index, 1);
}

#[test]
fn what_has_no_value_at_this_temperature_is_told() {
    let cold = Celsius::new(20.0);
    let seen = Seen::Potential(ELECTRODE.potential(Ph::new(7.02), cold).unwrap());
    let found = recognise(&electrode(0.0), seen, cold, 0.0, sources(&["tartrate", "7.00"]));
    assert_eq!(found.unjudged, [0]);
    assert_eq!(kind(&found), ("one", std::vec![1]));
    assert!(libm::fabs(found.found.unwrap() - 7.02) < 1e-9);
}

#[test]
fn an_unsettled_signal_widens_the_answer() {
    let neighbours = sources(&["citrate", "phthalate-1977"]);
    let mv = ELECTRODE.potential(Ph::new(3.776), AT).unwrap();
    let at = |unsettled| {
        let known = electrode(0.0);
        kind(&recognise(&known, Seen::Potential(mv), AT, unsettled, &neighbours)).0
    };
    assert_eq!((at(0.0), at(5.0)), ("one", "ambiguous"));
}

#[test]
fn more_standards_than_fit_are_passed_over() {
    let many: Vec<_> = (0..40)
        .map(|n| {
            let rows = [(25.0, 2.0 + 0.25 * f64::from(n))];
            Source::Printed(Printed::try_new(Quantity::Ph, &rows, Stated::Absolute(0.01)).unwrap())
        })
        .collect();
    assert_eq!(near(&electrode(0.0), &many, 2.0, 0.0), ("one", std::vec![0]));
    assert_eq!(near(&electrode(0.0), &many, 11.75, 0.0).0, "none");
}
