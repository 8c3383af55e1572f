//! Viscosity-type natural-water compensation: ions slow down as the water thickens.
//!
//! f₂₅(t) = (η(t)/η(25 °C))^exponent. It is not the table of any standard.

use super::RANGE;
use crate::reference::{OutOfRange, Sourced, Tag, quantity, viscosity, within};
use crate::units::{Celsius, MicrosiemensPerCm};

/// The default exponent. COMPUTED: with it the factor is 1.256 at 15 °C and 1.116 at 20 °C, two
/// recalled values for natural waters (MEMORY, medium confidence).
pub const DEFAULT_EXPONENT: f64 = 0.929;

/// Exponents that are accepted. COMPUTED: potassium chloride behaves like 0.86 and calcium
/// hydrogencarbonate like 0.97; the range is wider so that acid water and whatever a user has
/// measured finds its place.
pub const EXPONENT_RANGE: (f64, f64) = (0.5, 1.2);

/// Where the factor comes from.
pub const NATURAL_WATER_SOURCE: &str = "viscosity-type natural-water compensation, \
     k25 = k (eta(t) / eta(25 °C))^exponent, viscosity after IAPWS SR6-08(2011), exponent 0.929 \
     fitted to two recalled factors";

/// How it came to this project.
pub const NATURAL_WATER_TAG: Tag = Tag::Computed;

/// Standard uncertainty of the exponent for a natural water of unknown ions. COMPUTED: the factors
/// of calcium hydrogencarbonate and of sodium chloride at infinite dilution, after the ionic
/// conductivities of McCleskey et al. (2012), are met by exponents of 0.89 to 0.97 from 0 to 40 °C;
/// half of that distance, over √3 for a rectangular distribution.
const EXPONENT_UNCERTAINTY: f64 = 0.04 / 1.732_050_807_568_877_2;

const UNCERTAINTY_SOURCE: &str = "exponents 0.89 to 0.97 that meet calcium hydrogencarbonate and \
     sodium chloride (ionic conductivities of McCleskey et al. 2012), rectangular";

/// The factor f₂₅ that a conductivity at a temperature is multiplied with to refer it to 25 °C; 1
/// at 25 °C.
///
/// With the default exponent within 3.5 % of calcium hydrogencarbonate and of sodium chloride from 0
/// to 35 °C, most of it near 0 °C. Above 0.3 mol/kg and in acid water other ions rule.
///
/// # Errors
/// [`OutOfRange`] outside −2 to 50 °C, or with an exponent outside 0.5 to 1.2.
pub fn natural_water_factor(temperature: Celsius, exponent: f64) -> Result<f64, OutOfRange> {
    let exponent = within(quantity::EXPONENT, exponent, EXPONENT_RANGE)?;
    Ok(libm::pow(relative_viscosity(temperature)?, exponent))
}

fn relative_viscosity(temperature: Celsius) -> Result<f64, OutOfRange> {
    within(quantity::TEMPERATURE, temperature.get(), RANGE)?;
    let at_25 = viscosity::millipascal_seconds(Celsius::new(25.0))?;
    Ok(viscosity::millipascal_seconds(temperature)? / at_25)
}

/// Refers a conductivity to 25 °C by [`natural_water_factor`].
///
/// A conductivity just below zero, as noise in air gives it, stays below zero.
///
/// # Errors
/// As [`natural_water_factor`], and with a conductivity that is not a finite number.
pub fn to_25_natural_water(
    conductivity: MicrosiemensPerCm,
    temperature: Celsius,
    exponent: f64,
) -> Result<MicrosiemensPerCm, OutOfRange> {
    let factor = natural_water_factor(temperature, exponent)?;
    let value = within(quantity::CONDUCTIVITY, conductivity.get(), (f64::MIN, f64::MAX))?;
    Ok(MicrosiemensPerCm::new(value * factor))
}

/// The inverse of [`to_25_natural_water`]: from the conductivity at 25 °C to that at a temperature.
///
/// # Errors
/// As [`to_25_natural_water`].
pub fn from_25_natural_water(
    at_25: MicrosiemensPerCm,
    temperature: Celsius,
    exponent: f64,
) -> Result<MicrosiemensPerCm, OutOfRange> {
    let factor = natural_water_factor(temperature, exponent)?;
    let value = within(quantity::CONDUCTIVITY, at_25.get(), (f64::MIN, f64::MAX))?;
    Ok(MicrosiemensPerCm::new(value / factor))
}

/// Relative standard uncertainty of [`natural_water_factor`] for a natural water of unknown ions: 0
/// at 25 °C, 0.9 % at 10 °C, 1.6 % at 0 °C. What the temperature is uncertain by is not in it.
///
/// # Errors
/// [`OutOfRange`] outside −2 to 50 °C.
pub fn relative_uncertainty_natural_water(temperature: Celsius) -> Result<Sourced, OutOfRange> {
    let value = libm::fabs(libm::log(relative_viscosity(temperature)?)) * EXPONENT_UNCERTAINTY;
    Ok(Sourced {
        value,
        standard_uncertainty: None,
        source: UNCERTAINTY_SOURCE,
        tag: Tag::Computed,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn to_25(us_cm: f64, t: f64, exponent: f64) -> Result<f64, OutOfRange> {
        to_25_natural_water(MicrosiemensPerCm::new(us_cm), Celsius::new(t), exponent)
            .map(MicrosiemensPerCm::get)
    }

    #[test]
    fn nothing_changes_at_25_degrees() {
        assert_eq!(to_25(500.0, 25.0, DEFAULT_EXPONENT), Ok(500.0));
        assert_eq!(relative_uncertainty_natural_water(Celsius::new(25.0)).unwrap().value, 0.0);
    }

    #[test]
    fn there_and_back() {
        for t in [-2.0, 0.0, 12.5, 40.0, 50.0] {
            for exponent in [0.5, DEFAULT_EXPONENT, 1.2] {
                let here = MicrosiemensPerCm::new(500.0);
                let at_25 = to_25_natural_water(here, Celsius::new(t), exponent).unwrap();
                let back = from_25_natural_water(at_25, Celsius::new(t), exponent).unwrap().get();
                assert!(libm::fabs(back - 500.0) < 1e-10, "{t}");
            }
        }
    }

    #[test]
    fn the_ends_are_kept() {
        let what = |result: Result<f64, OutOfRange>| result.unwrap_err().what;
        assert_eq!(what(to_25(500.0, -2.1, 0.929)), quantity::TEMPERATURE);
        assert_eq!(what(to_25(500.0, 50.1, 0.929)), quantity::TEMPERATURE);
        assert_eq!(what(to_25(500.0, f64::NAN, 0.929)), quantity::TEMPERATURE);
        assert_eq!(what(to_25(500.0, 10.0, 0.49)), quantity::EXPONENT);
        assert_eq!(what(to_25(500.0, 10.0, f64::NAN)), quantity::EXPONENT);
        assert_eq!(what(to_25(f64::INFINITY, 10.0, 0.929)), quantity::CONDUCTIVITY);
        assert!(to_25(-0.01, 10.0, 0.929).unwrap() < 0.0);
    }

    /// The documented figures, from the viscosities 1.3059, 1.7918 and 0.8900 mPa·s.
    #[test]
    fn the_uncertainty_grows_away_from_25_degrees() {
        let percent =
            |t: f64| 100.0 * relative_uncertainty_natural_water(Celsius::new(t)).unwrap().value;
        for (t, expected) in [(10.0, 0.89), (0.0, 1.62), (50.0, 1.13)] {
            assert!(libm::fabs(percent(t) - expected) < 0.01, "{t}: {}", percent(t));
        }
    }
}
