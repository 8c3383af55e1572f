//! Viscosity-type natural-water compensation: ions slow down as the water thickens.
//!
//! f₂₅(t) = (η(t)/η(25 °C))^exponent. It is not the table of any standard.

use super::RANGE;
use crate::reference::{OutOfRange, Sourced, Tag, quantity, viscosity, within};
use crate::units::{Celsius, MicrosiemensPerCm};

/// The default exponent. Computed: with it the factor is 1.256 at 15 °C and 1.116 at 20 °C, two
/// values for natural waters (REFERENCES 10; recalled, not checked).
pub const DEFAULT_EXPONENT: f64 = 0.929;

/// Exponents that are accepted. Computed: potassium chloride behaves like 0.86 and calcium
/// hydrogencarbonate like 0.97; the range is wider so that acid water and whatever a user has
/// measured finds its place.
pub const EXPONENT_RANGE: (f64, f64) = (0.5, 1.2);

/// Where the factor comes from.
pub const NATURAL_WATER_SOURCE: &str = "viscosity-type natural-water compensation, \
     k25 = k (eta(t) / eta(25 °C))^exponent, viscosity after IAPWS SR6-08(2011), exponent 0.929 \
     fitted to two factors that are recalled, not checked";

/// How it came to this project.
pub const NATURAL_WATER_TAG: Tag = Tag::Computed;

/// Exponents that natural waters have, lowest and highest (REFERENCES 10). Computed: the linear
/// coefficients 0.0175 to 0.0198 per kelvin that Hayashi found in natural waters (Environ. Monit.
/// Assess. 96, 119 (2004); seen) are exponents of 0.79 to 0.92 at 10 °C, their mean 0.0187 one of 0.86;
/// chlorides, hydrogencarbonates, a sulfate and a river, after the ionic conductivities of McCleskey et
/// al. (2012; seen at one remove), have 0.89 to 0.99 from 0 to 35 °C. Which of both a water is like,
/// nobody can tell without its ions.
const NATURAL_EXPONENTS: (f64, f64) = (0.79, 0.99);

const UNCERTAINTY_SOURCE: &str = "exponents 0.79 to 0.99 of natural waters, rectangular: linear \
     coefficients of Hayashi 2004 (seen), ionic conductivities of McCleskey et al. 2012 (seen at one \
     remove)";

/// The factor f₂₅ that a conductivity at a temperature is multiplied with to refer it to 25 °C; 1
/// at 25 °C.
///
/// With the default exponent within 4.1 % of waters whose ions are known from 0 to 35 °C, most of it
/// near 0 °C; of natural waters that were measured it is 0.4 to 5.3 % above at 10 °C, 2.7 % on the
/// average. Above 0.3 mol/kg and in acid water other ions rule.
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

/// Relative standard uncertainty of [`natural_water_factor`] with the default exponent for a natural
/// water of unknown ions: 0 at 25 °C, 2.7 % at 10 °C, 4.9 % at 0 °C. What the temperature is uncertain
/// by is not in it.
///
/// # Errors
/// [`OutOfRange`] outside −2 to 50 °C.
pub fn relative_uncertainty_natural_water(temperature: Celsius) -> Result<Sourced, OutOfRange> {
    off_natural_waters(temperature, natural_water_factor(temperature, DEFAULT_EXPONENT)?)
}

/// How far a factor is from those of natural waters, as a root mean square, relative: their exponents
/// are a rectangle, and a factor beside its middle is off by that too.
pub(super) fn off_natural_waters(temperature: Celsius, factor: f64) -> Result<Sourced, OutOfRange> {
    let (lowest, highest) = NATURAL_EXPONENTS;
    let log = libm::log(relative_viscosity(temperature)?);
    let beside = libm::log(factor) - 0.5 * (lowest + highest) * log;
    let spread = 0.5 * (highest - lowest) / libm::sqrt(3.0) * log;
    Ok(Sourced {
        value: libm::hypot(beside, spread),
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

    /// The documented figures, from the viscosities 1.3059, 1.7918, 0.5465 and 0.8900 mPa·s: √(0.2²/12 +
    /// 0.039²) of the logarithm of their ratio.
    #[test]
    fn the_uncertainty_grows_away_from_25_degrees() {
        let percent =
            |t: f64| 100.0 * relative_uncertainty_natural_water(Celsius::new(t)).unwrap().value;
        for (t, expected) in [(10.0, 2.67), (0.0, 4.88), (50.0, 3.40)] {
            assert!(libm::fabs(percent(t) - expected) < 0.01, "{t}: {}", percent(t));
        }
    }
}
