use rillmark_metrology::fit;
use std::vec::Vec;

use super::*;
use rillmark_proto::calibration::conductivity::{Compensation, Range};
use rillmark_proto::calibration::ph::{PhCalibration, PhCovariance};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

/// An electrode of this slope and offset.
fn electrode(slope_percent: f64, offset_mv: f64) -> PhCalibration {
    let covariance = PhCovariance { slope: 0.0, offset_mv2: 0.0, slope_offset_mv: 0.0 };
    PhCalibration { covariance, ..PhCalibration::exact(slope_percent / 100.0, offset_mv) }
}

/// pH or µS/cm of a standard, its temperature in °C, and the error of its reading.
type Stood = (f64, f64, f64);

/// What an electrode reads in buffers of this pH, temperature in °C, and error in mV.
fn ph_points(electrode: PhCalibration, buffers: &[Stood]) -> Vec<PhPoint> {
    let point = |&(buffer, celsius, error): &Stood| {
        let (buffer, temperature) = (Ph::new(buffer), Celsius::new(celsius));
        let potential = electrode.potential(buffer, temperature).expect("in range").get() + error;
        let potential = Millivolts::new(potential);
        PhPoint {
            buffer,
            buffer_uncertainty: None,
            buffer_per_kelvin: 0.0,
            potential,
            temperature,
            bottle: None,
        }
    };
    buffers.iter().map(point).collect()
}

fn said_of_ph(points: &[PhPoint]) -> Said {
    judge_ph_fit(&fit::ph::fit(points).expect("a line"), points)
}

/// What a cell of this constant reads in standards of this value in µS/cm, temperature in °C, and
/// error in percent.
fn said_of_cell(per_cm: f64, standards: &[Stood]) -> Said {
    let point = |&(standard, celsius, error): &Stood| ConductivityPoint {
        standard: MicrosiemensPerCm::new(standard),
        standard_uncertainty: None,
        standard_per_kelvin: 0.0,
        conductance: Microsiemens::new(standard / per_cm * (1.0 + error / 100.0)),
        range: Range::Ohm1k,
        temperature: Celsius::new(celsius),
        bottle: None,
    };
    let points: Vec<_> = standards.iter().map(point).collect();
    let compensation = Compensation::Linear { per_kelvin: 0.02 };
    judge_conductivity_fit(&fit::conductivity::fit(&points, compensation).expect("a cell"), &points)
}

fn codes(said: &Said) -> Vec<&'static str> {
    said.all().iter().map(Judgement::code).collect()
}

/// Three buffers at one temperature, without an error.
const THREE: [Stood; 3] = [(4.0, 25.0, 0.0), (7.0, 25.0, 0.0), (10.0, 25.0, 0.0)];

/// The limits are those of `limits`, with their sources there; each is tried from both sides.
#[test]
fn slope_and_offset_are_judged_once_by_the_heaviest_limit() {
    let cases: [(f64, f64, &[&str]); 16] = [
        (99.0, 5.0, &[]),
        (95.01, 29.9, &[]),
        (101.99, -29.9, &[]),
        (94.99, 0.0, &["slope-out-of-band"]),
        (102.01, 0.0, &["slope-out-of-band"]),
        (80.01, 0.0, &["slope-out-of-band"]),
        (104.99, 0.0, &["slope-out-of-band"]),
        (79.99, 0.0, &["slope-impossible"]),
        (105.01, 0.0, &["slope-impossible"]),
        (1.0, 0.0, &["slope-impossible"]),
        (-1.0, 0.0, &["slope-reversed"]),
        (-99.0, 0.0, &["slope-reversed"]),
        (99.0, 30.1, &["offset-out-of-band"]),
        (99.0, -30.1, &["offset-out-of-band"]),
        (94.0, 31.0, &["slope-out-of-band", "offset-out-of-band"]),
        (-98.0, 31.0, &["slope-reversed", "offset-out-of-band"]),
    ];
    for (slope, offset, expected) in cases {
        let said = said_of_ph(&ph_points(electrode(slope, offset), &THREE));
        assert_eq!(codes(&said), expected, "{slope} % {offset} mV");
    }
}

#[test]
fn the_same_potential_in_every_buffer_is_an_impossible_slope() {
    let points = ph_points(electrode(0.0, 10.0), &THREE);
    assert_eq!(codes(&said_of_ph(&points)), ["slope-impossible"]);
}

#[test]
fn buffers_temperatures_and_number_of_points_are_judged() {
    let cases: [(&[Stood], &[&str]); 5] = [
        (&[(7.0, 25.0, 0.0), (7.9, 25.0, 0.0), (7.3, 25.0, 0.0)], &["buffers-too-close"]),
        (&[(7.0, 25.0, 0.0), (8.0, 25.0, 0.0), (7.5, 25.0, 0.0)], &[]),
        (&[(4.0, 25.0, 0.0), (7.0, 25.0, 0.0)], &["two-points-only"]),
        (&[(4.0, 20.0, 0.0), (7.0, 22.0, 0.0), (10.0, 21.0, 0.0)], &[]),
        (&[(4.0, 20.0, 0.0), (7.0, 22.1, 0.0), (10.0, 21.0, 0.0)], &["temperatures-differ"]),
    ];
    for (buffers, expected) in cases {
        let said = said_of_ph(&ph_points(electrode(99.0, 2.0), buffers));
        assert_eq!(codes(&said), expected, "{buffers:?}");
    }
}

/// The middle one of three buffers reads 6 mV high: two thirds of that are left over there, which
/// is −0.068 pH at a slope of 59 mV per pH; at either end a third is left over the other way.
#[test]
fn a_residual_names_its_point_and_its_number() {
    let mut buffers = THREE;
    buffers[1].2 = 6.0;
    let said = said_of_ph(&ph_points(electrode(100.0, 0.0), &buffers));
    let [Judgement::ResidualLarge { point, points: 3, residual_ph, limit_ph }] = said.all() else {
        panic!("{said:?}");
    };
    assert_eq!((*point, *limit_ph), (2, limits::RESIDUAL_PH.value));
    assert!(libm::fabs(*residual_ph + 4.0 / 59.16) < 1e-4, "{residual_ph}");
    // What is within the limit may still contradict the 0.01 pH that a buffer is good for.
    for (off_mv, expected) in [(4.0, &["ph-points-contradict"][..]), (1.5, &[])] {
        buffers[1].2 = off_mv;
        assert_eq!(codes(&said_of_ph(&ph_points(electrode(100.0, 0.0), &buffers))), expected);
    }
}

/// Of four buffers the third is 40 mV off, and the others are off the line for it.
#[test]
fn one_point_that_is_off_is_told_once() {
    let mut buffers = [4.0, 6.0, 8.0, 10.0].map(|ph| (ph, 25.0, 0.0));
    buffers[2].2 = 40.0;
    let said = said_of_ph(&ph_points(electrode(100.0, 0.0), &buffers));
    let far: Vec<_> = codes(&said).into_iter().filter(|code| *code == "residual-large").collect();
    assert_eq!(far.len(), 1, "{said:?}");
    assert!(
        said.all()
            .iter()
            .any(|said| matches!(said, Judgement::ResidualLarge { point: 3, points: 4, .. }))
    );
}

#[test]
fn a_slope_that_nobody_measured_is_told_from_one_that_somebody_did() {
    let of = |slope| {
        let points = ph_points(electrode(99.0, 2.0), &THREE[..1]);
        let assumed = fit::ph::Assumed { slope: Some(slope), ..fit::ph::Assumed::default() };
        let fit = fit::ph::fit_assuming(&points, &assumed).expect("a line");
        let said = judge_ph_fit(&fit, &points);
        let assumed = said.all().iter().find_map(|said| match said {
            Judgement::SinglePoint { assumed, .. } => Some(*assumed),
            _ => None,
        });
        assumed.expect("one point")
    };
    assert_eq!(of(NOMINAL_SLOPE), 1);
    assert_eq!(of(SlopePrior { standard_uncertainty: 0.01, ..NOMINAL_SLOPE }), 0);
    assert_eq!(of(SlopePrior { slope_fraction: 0.97, ..NOMINAL_SLOPE }), 0);
}

/// However many points lie far off, what weighs more is said too.
#[test]
fn a_refusal_is_not_lost_among_many_residuals() {
    let far = |n: i32| (4.0 + f64::from(n % 7), 25.0, if n % 2 == 0 { 40.0 } else { -40.0 });
    let buffers: Vec<_> = (0..400).map(far).collect();
    let said = said_of_ph(&ph_points(electrode(-99.0, 0.0), &buffers));
    assert_eq!(codes(&said)[0], "slope-reversed");
    assert!(codes(&said).contains(&"residual-large"));
}

#[test]
fn a_cell_constant_is_judged_once_by_the_heaviest_limit() {
    for (per_cm, expected) in [
        (1.0, &[][..]),
        (0.0501, &[]),
        (19.9, &[]),
        (0.0499, &["cell-constant-unusual"]),
        (20.1, &["cell-constant-unusual"]),
        (0.0049, &["cell-constant-impossible"]),
        (100.1, &["cell-constant-impossible"]),
    ] {
        assert_eq!(codes(&said_of_cell(per_cm, &[(1413.0, 25.0, 0.0)])), expected, "{per_cm}");
    }
}

#[test]
fn standards_that_disagree_and_temperatures_are_judged() {
    let pair = |celsius, error| [(147.0, 25.0, 0.0), (1413.0, celsius, error)];
    assert_eq!(codes(&said_of_cell(1.0, &pair(26.9, 1.5))), [""; 0]);
    // Within the limit, and yet more than 0.5 % each can be good for.
    assert_eq!(codes(&said_of_cell(1.0, &pair(25.0, 5.0))), ["conductivity-points-contradict"]);
    assert_eq!(codes(&said_of_cell(1.0, &pair(27.1, 0.0))), ["temperatures-differ"]);
    // 7 % apart leave about 3.5 % to each, with opposite signs.
    let said = said_of_cell(1.0, &pair(25.0, 7.0));
    let residuals: Vec<_> = said
        .all()
        .iter()
        .filter_map(|judgement| match judgement {
            Judgement::ConductivityResidualLarge { point, points: 2, residual_percent, .. } => {
                Some((*point, *residual_percent))
            }
            _ => None,
        })
        .collect();
    // It is told once, of the one that lies farther off.
    assert!(matches!(residuals[..], [(2, high)] if high > 3.0), "{residuals:?}");
}
