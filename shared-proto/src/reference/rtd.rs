//! Platinum resistance thermometer after IEC 60751.
//!
//! R = R₀·(1 + A·t + B·t² + C·(t − 100)·t³), the C term only below 0 °C; t in °C, R₀ the resistance
//! at 0 °C. Source: IEC 60751 (REFERENCES 13); coefficients seen at one remove.

use super::{OutOfRange, Tag, quantity, within};
use crate::units::{Celsius, Ohms};

const A: f64 = 3.9083e-3;
const B: f64 = -5.775e-7;
const C: f64 = -4.183e-12;

/// Where the relation comes from.
pub const SOURCE: &str = "IEC 60751, R/R0 = 1 + A t + B t^2 + C (t - 100) t^3 (C below 0 °C)";

/// How the coefficients came to this project.
pub const TAG: Tag = Tag::SeenAtOneRemove;

/// Valid temperatures in °C: those a probe meets, well inside the standard's −200 to 850 °C.
pub const RANGE: (f64, f64) = (-40.0, 150.0);

/// Valid resistances at 0 °C, in Ω: from Pt10 to Pt10000.
pub const R0_RANGE: (f64, f64) = (10.0, 10_000.0);

/// Standard uncertainty in K of a thermometer that is taken at its maker's word: class B, within
/// 0.3 K + 0.005·|t|, as a rectangular distribution (a divisor of √3).
///
/// 0.173 K at 0 °C, 0.245 K at 25 °C, 0.318 K at 50 °C. Source: IEC 60751, tolerance classes (REFERENCES 13);
/// recalled, not checked. The shape is common practice: a class is a limit, not a distribution.
pub fn class_b_uncertainty(temperature: Celsius) -> f64 {
    const AT_ZERO_K: f64 = 0.3;
    const PER_KELVIN: f64 = 0.005;
    (AT_ZERO_K + PER_KELVIN * libm::fabs(temperature.get())) / libm::sqrt(3.0)
}

/// R/R₀ at `t` °C.
const fn ratio(t: f64) -> f64 {
    let forward = 1.0 + t * (A + t * B);
    if t < 0.0 { forward + C * (t - 100.0) * t * t * t } else { forward }
}

/// Resistance of a thermometer at a temperature.
///
/// # Errors
/// [`OutOfRange`] outside −40 to 150 °C, or with `r0` outside 10 to 10 000 Ω.
pub fn resistance(temperature: Celsius, r0: Ohms) -> Result<Ohms, OutOfRange> {
    let r0 = within(quantity::RESISTANCE_AT_0_C, r0.get(), R0_RANGE)?;
    let t = within(quantity::TEMPERATURE, temperature.get(), RANGE)?;
    Ok(Ohms::new(r0 * ratio(t)))
}

/// Temperature of a thermometer from its resistance.
///
/// Inverts the relation to better than 1e-9 K over the whole range: in closed form from 0 °C up,
/// by two Newton steps below.
///
/// # Errors
/// [`OutOfRange`] when the resistance is not one of −40 to 150 °C (open, short, wrong `r0`), or
/// with `r0` outside 10 to 10 000 Ω.
pub fn temperature(resistance: Ohms, r0: Ohms) -> Result<Celsius, OutOfRange> {
    const RATIOS: (f64, f64) = (ratio(RANGE.0), ratio(RANGE.1));
    let r0 = within(quantity::RESISTANCE_AT_0_C, r0.get(), R0_RANGE)?;
    let limits = (r0 * RATIOS.0, r0 * RATIOS.1);
    let measured = within(quantity::RESISTANCE, resistance.get(), limits)? / r0;
    let mut t = (libm::sqrt(A * A - 4.0 * B * (1.0 - measured)) - A) / (2.0 * B);
    if measured < 1.0 {
        // The quadratic alone is off by at most 9 mK at -40 °C; a Newton step squares that error
        // (times 1.5e-4 per kelvin): 1e-8 K after one, below rounding after two.
        for _ in 0..2 {
            let slope = A + t * (2.0 * B + t * C * (4.0 * t - 300.0));
            t -= (ratio(t) - measured) / slope;
        }
    }
    // The ends may be passed by a rounding error only.
    Ok(Celsius::new(t.clamp(RANGE.0, RANGE.1)))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn both_ends_and_the_seam_at_zero_invert() {
        for t in [-40.0, -1e-9, 0.0, 1e-9, 150.0] {
            let r = resistance(Celsius::new(t), Ohms::new(1000.0)).unwrap();
            let back = temperature(r, Ohms::new(1000.0)).unwrap().get();
            assert!(libm::fabs(back - t) < 1e-9, "{t}: {back}");
        }
    }

    /// Class B at 0 and 25 °C: 0.3 K and 0.425 K (REFERENCES 13; recalled, not checked), divided by
    /// √3 by hand.
    #[test]
    fn a_class_is_a_rectangle_about_the_maker_s_word() {
        for (t, u) in [(0.0, 0.173_205), (25.0, 0.245_374), (-25.0, 0.245_374)] {
            assert!(libm::fabs(class_b_uncertainty(Celsius::new(t)) - u) < 1e-6, "{t}");
        }
    }

    #[test]
    fn open_short_and_nonsense_are_out_of_range() {
        for ohms in [0.0, 800.0, 1600.0, 1e9, -1.0, f64::NAN, f64::INFINITY] {
            let error = temperature(Ohms::new(ohms), Ohms::new(1000.0)).unwrap_err();
            assert_eq!(error.what, quantity::RESISTANCE);
        }
        for r0 in [0.0, -100.0, 1e6, f64::NAN] {
            let error = temperature(Ohms::new(1000.0), Ohms::new(r0)).unwrap_err();
            assert_eq!(error.what, quantity::RESISTANCE_AT_0_C);
        }
        for t in [-40.1, 150.1, f64::NAN] {
            assert!(resistance(Celsius::new(t), Ohms::new(100.0)).is_err());
        }
    }

    proptest! {
        #[test]
        fn inverse_of_forward_is_the_temperature(t in -40.0..=150.0, r0 in 10.0..=10_000.0) {
            let r = resistance(Celsius::new(t), Ohms::new(r0)).unwrap();
            // A rounded product may fall outside the limits by one unit in the last place.
            if let Ok(back) = temperature(r, Ohms::new(r0)) {
                prop_assert!(libm::fabs(back.get() - t) < 1e-9);
            } else {
                prop_assert!(!(-39.999_999..=149.999_999).contains(&t));
            }
        }
    }
}
