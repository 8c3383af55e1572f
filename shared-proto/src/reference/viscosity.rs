//! Viscosity of liquid water at 0.1 MPa, which sets how fast ions move in it (REFERENCES 11).
//!
//! η/(µPa·s) = Σ aᵢ·(T/300 K)^bᵢ with T = t + 273.15 K.

use super::{OutOfRange, Tag, quantity, within};
use crate::units::Celsius;

/// Temperatures in °C for which the release gives the equation (253.15 K to 383.15 K, below 0 °C for
/// supercooled water).
pub const RANGE: (f64, f64) = (-20.0, 110.0);

/// Where the equation comes from.
pub const SOURCE: &str =
    "IAPWS SR6-08(2011), Properties of Liquid Water at 0.1 MPa, viscosity correlation";

/// How its coefficients came to this project: read in the source code of the Python package `iapws`
/// 1.5.5, not in the release itself.
pub const TAG: Tag = Tag::SeenAtOneRemove;

/// (aᵢ, bᵢ).
const TERMS: [(f64, f64); 4] = [(280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.459_03, -40.0)];

/// Dynamic viscosity of liquid water at 0.1 MPa in mPa·s.
///
/// From 0 to 50 °C within 0.004 % of the full IAPWS formulation of 2008 (computed with `iapws`
/// 1.5.5; measured there at most 0.0031 %); that formulation itself is uncertain by about 1 %
/// (recalled, not checked), of which a ratio of two viscosities keeps little.
///
/// # Errors
/// [`OutOfRange`] outside −20 to 110 °C.
pub fn millipascal_seconds(temperature: Celsius) -> Result<f64, OutOfRange> {
    within(quantity::TEMPERATURE, temperature.get(), RANGE)?;
    let reduced = temperature.kelvin() / 300.0;
    let sum: f64 = TERMS.iter().map(|&(a, b)| a * libm::pow(reduced, b)).sum();
    Ok(sum / 1000.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Program check value of the release at 298.15 K, 889.996 773 68 µPa·s: computed with `iapws`
    /// 1.5.5, whose documentation gives 889.9967; and round values of tables, recalled, not checked.
    #[test]
    fn agrees_with_known_values() {
        for (t, expected, allowed) in [
            (25.0, 0.889_996_773_68, 1e-11),
            (20.0, 1.0016, 0.000_05),
            (0.0, 1.7918, 0.000_05),
            (50.0, 0.5465, 0.000_05),
        ] {
            let found = millipascal_seconds(Celsius::new(t)).unwrap();
            assert!(libm::fabs(found - expected) <= allowed, "{t}: {found}");
        }
    }

    #[test]
    fn the_ends_are_kept() {
        for t in [-20.1, 110.1, f64::NAN] {
            assert!(millipascal_seconds(Celsius::new(t)).is_err(), "{t}");
        }
        assert!(millipascal_seconds(Celsius::new(-20.0)).is_ok());
    }
}
