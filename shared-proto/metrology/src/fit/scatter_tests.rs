//! Points taken again, over both fits that count bottles.

use std::vec::Vec;

use proptest::prelude::*;

use crate::fit::conductivity;
use crate::fit::conductivity::ConductivityPoint;
use crate::fit::of_one_bottle;
use crate::fit::ph;
use crate::fit::ph::PhPoint;
use rillmark_proto::calibration::conductivity::{Compensation, Range};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

/// Three buffers in mV beside an exact line of 57 mV per pH, each read `times` times.
fn buffers(off_mv: [f64; 3], times: usize) -> Vec<PhPoint> {
    let one =
        [4.0, 6.9, 9.2].into_iter().zip(off_mv).enumerate().map(|(bottle, (ph, off))| PhPoint {
            buffer: Ph::new(ph),
            buffer_uncertainty: Some(of_one_bottle(0.015, times)),
            buffer_per_kelvin: 0.0,
            potential: Millivolts::new(57.0 * (7.0 - ph) + off),
            temperature: Celsius::new(25.0),
            bottle: Some(bottle),
        });
    one.collect::<Vec<_>>().repeat(times)
}

/// Three standards in parts beside a cell of 1 /cm, each read `times` times.
fn standards(off: [f64; 3], times: usize) -> Vec<ConductivityPoint> {
    let one =
        [147.0, 1413.0, 12_880.0].into_iter().zip(off).enumerate().map(|(bottle, (us, off))| {
            ConductivityPoint {
                standard: MicrosiemensPerCm::new(us),
                standard_uncertainty: Some(of_one_bottle(0.004 * us, times)),
                standard_per_kelvin: 0.0,
                conductance: Microsiemens::new(us * (1.0 + off)),
                range: Range::Ohm1k,
                temperature: Celsius::new(25.0),
                bottle: Some(bottle),
            }
        });
    one.collect::<Vec<_>>().repeat(times)
}

/// What a fit says of itself: coefficient, its standard uncertainty, chi-squared, degrees, widening.
type Told = (f64, f64, f64, usize, f64);

fn of_ph(points: &[PhPoint]) -> Told {
    let fit = ph::fit(points).unwrap();
    let found = fit.calibration;
    let u = libm::sqrt(found.covariance.offset_mv2 / fit.widening);
    (found.offset_mv, u, fit.chi_squared, fit.degrees_of_freedom, fit.widening)
}

fn of_cell(points: &[ConductivityPoint]) -> Told {
    let fit = conductivity::fit(points, Compensation::Linear { per_kelvin: 0.019 }).unwrap();
    let u = libm::sqrt(fit.calibration.variance_per_cm2 / fit.widening);
    let constant = fit.calibration.cell_constant_per_cm;
    (constant, u, fit.chi_squared, fit.degrees_of_freedom, fit.widening)
}

/// What the signal alone repeats is up to an eighth (pH) or a fifth (conductivity) of a bottle's variance:
/// reading again takes off no more than that, and chi-squared grows by no more.
fn say_the_same(once: Told, often: Told, signal: f64) -> Result<(), TestCaseError> {
    let ((value, u, chi_squared, degrees, widening), (again, u_again, more, same, wider)) =
        (once, often);
    prop_assert!(libm::fabs(again - value) < 0.3 * u, "{once:?} {often:?}");
    prop_assert!((libm::sqrt(1.0 - signal)..1.001).contains(&(u_again / u)), "{once:?} {often:?}");
    prop_assert_eq!(degrees, same);
    prop_assert!(more > 0.97 * chi_squared - 1e-9 && more < chi_squared / (1.0 - signal) + 1e-9);
    // Near the limit the little more may be what crosses it.
    if widening > 1.0 || wider == 1.0 {
        prop_assert!(libm::fabs(wider / widening - 1.0) < 1.5 * signal, "{once:?} {often:?}");
    }
    Ok(())
}

proptest! {
    #[test]
    fn points_taken_again_say_what_they_said_once(
        off in prop::array::uniform3(-4.0..4.0), times in 2_usize..40,
    ) {
        say_the_same(of_ph(&buffers(off, 1)), of_ph(&buffers(off, times)), 0.125)?;
        let off = off.map(|off| 0.005 * off);
        say_the_same(of_cell(&standards(off, 1)), of_cell(&standards(off, times)), 0.22)?;
    }
}

/// A buffer that reads 3 mV apart when it is read again contradicts itself: by hand, 1.5 mV twice against
/// 0.3² + (56.6 · 0.015)² = 0.81 mV² is 5.6, below the 6.63 of one degree; 4 mV apart gives 9.9.
#[test]
fn a_bottle_may_contradict_itself() {
    for (apart, contradicts) in [(3.0, false), (4.0, true)] {
        let twice = |ph, mv, bottle| PhPoint {
            potential: Millivolts::new(mv),
            buffer: Ph::new(ph),
            bottle,
            buffer_uncertainty: Some(of_one_bottle(0.015, if bottle.is_some() { 2 } else { 1 })),
            ..buffers([0.0; 3], 1)[0]
        };
        let points =
            [twice(7.0, 0.0, Some(0)), twice(4.0, 171.0, None), twice(7.0, apart, Some(0))];
        let fit = ph::fit(&points).unwrap();
        assert_eq!(
            (fit.widening > 1.0, fit.degrees_of_freedom),
            (contradicts, usize::from(contradicts))
        );
        assert!(!contradicts || libm::fabs(fit.chi_squared - 9.9) < 0.1, "{fit:?}");
    }
}
