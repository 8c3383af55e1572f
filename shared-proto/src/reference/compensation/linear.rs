//! Linear compensation: along a straight line.
//!
//! κ₂₅ = κ / (1 + a·(t − 25 °C)).

use super::RANGE;
use super::natural_water::off_natural_waters;
use crate::reference::{OutOfRange, Sourced, Tag, quantity, within};
use crate::units::{Celsius, MicrosiemensPerCm};

/// The default coefficient in 1/K. Source: Standard Methods 2510 B (REFERENCES 9); recalled, not checked.
pub const DEFAULT_PER_KELVIN: f64 = 0.0191;

/// Where the default coefficient comes from.
pub const DEFAULT_SOURCE: &str =
    "linear, k25 = k / (1 + a (t - 25 °C)), a = 0.0191 per kelvin (Standard Methods 2510 B)";

/// How the default coefficient came to this project.
pub const DEFAULT_TAG: Tag = Tag::Recalled;

/// Coefficients in 1/K that are accepted. Common practice, no source.
pub const PER_KELVIN_RANGE: (f64, f64) = (0.0, 0.1);

/// Divisors that are accepted: with a smaller one the straight line no longer describes a water.
/// Common practice, no source.
const DIVISOR_RANGE: (f64, f64) = (0.1, 4.0);

/// Refers a conductivity to 25 °C along a straight line.
///
/// `per_kelvin` is the relative change per kelvin, of the conductivity at 25 °C (0.0191 is
/// 1.91 %/K). How well a straight line fits depends on the water: natural waters, mean coefficient
/// 1.87 %/K, are met within about 2 % from 10 to 25 °C (Hayashi, Environ. Monit. Assess. 96, 119
/// (2004); seen). A conductivity just below zero, as noise in air gives it, stays below zero.
///
/// # Errors
/// [`OutOfRange`] outside −2 to 50 °C, with a coefficient outside 0 to 0.1 per kelvin, with a
/// divisor 1 + a·(t − 25 °C) below 0.1, or with a conductivity that is not a finite number.
pub fn to_25_linear(
    conductivity: MicrosiemensPerCm,
    temperature: Celsius,
    per_kelvin: f64,
) -> Result<MicrosiemensPerCm, OutOfRange> {
    let divisor = divisor(temperature, per_kelvin)?;
    let value = within(quantity::CONDUCTIVITY, conductivity.get(), (f64::MIN, f64::MAX))?;
    Ok(MicrosiemensPerCm::new(value / divisor))
}

/// The inverse of [`to_25_linear`]: from the conductivity at 25 °C to that at a temperature.
///
/// # Errors
/// As [`to_25_linear`].
pub fn from_25_linear(
    at_25: MicrosiemensPerCm,
    temperature: Celsius,
    per_kelvin: f64,
) -> Result<MicrosiemensPerCm, OutOfRange> {
    let divisor = divisor(temperature, per_kelvin)?;
    let value = within(quantity::CONDUCTIVITY, at_25.get(), (f64::MIN, f64::MAX))?;
    Ok(MicrosiemensPerCm::new(value * divisor))
}

/// Relative standard uncertainty of the divisor for a natural water of unknown ions: how far the
/// straight line is from the curves of natural waters, 2.2 % at 10 °C, 4.8 % at 0 °C, 1.9 % at 35 °C
/// with the default coefficient. What the temperature is uncertain by is not in it.
///
/// # Errors
/// As [`to_25_linear`].
pub fn relative_uncertainty_linear(
    temperature: Celsius,
    per_kelvin: f64,
) -> Result<Sourced, OutOfRange> {
    off_natural_waters(temperature, 1.0 / divisor(temperature, per_kelvin)?)
}

fn divisor(temperature: Celsius, per_kelvin: f64) -> Result<f64, OutOfRange> {
    let t = within(quantity::TEMPERATURE, temperature.get(), RANGE)?;
    let a = within(quantity::COEFFICIENT, per_kelvin, PER_KELVIN_RANGE)?;
    within(quantity::DIVISOR, 1.0 + a * (t - 25.0), DIVISOR_RANGE)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn to_25(us_cm: f64, t: f64, a: f64) -> Result<f64, OutOfRange> {
        to_25_linear(MicrosiemensPerCm::new(us_cm), Celsius::new(t), a).map(MicrosiemensPerCm::get)
    }

    #[test]
    fn nothing_changes_at_25_degrees() {
        assert_eq!(to_25(1413.0, 25.0, DEFAULT_PER_KELVIN), Ok(1413.0));
    }

    #[test]
    fn there_and_back() {
        for t in [-2.0, 0.0, 12.5, 40.0, 50.0] {
            let at_25 = to_25_linear(MicrosiemensPerCm::new(500.0), Celsius::new(t), 0.02).unwrap();
            let back = from_25_linear(at_25, Celsius::new(t), 0.02).unwrap().get();
            assert!(libm::fabs(back - 500.0) < 1e-10, "{t}");
        }
    }

    /// The documented figures.
    #[test]
    fn the_uncertainty_grows_away_from_25_degrees() {
        let percent = |t: f64| {
            let found = relative_uncertainty_linear(Celsius::new(t), DEFAULT_PER_KELVIN);
            100.0 * found.unwrap().value
        };
        assert_eq!(percent(25.0), 0.0);
        for (t, expected) in [(10.0, 2.24), (0.0, 4.83), (35.0, 1.94)] {
            assert!(libm::fabs(percent(t) - expected) < 0.02, "{t}: {}", percent(t));
        }
    }

    #[test]
    fn the_ends_are_kept() {
        let what = |result: Result<f64, OutOfRange>| result.unwrap_err().what;
        assert_eq!(what(to_25(500.0, -2.1, 0.0191)), quantity::TEMPERATURE);
        assert_eq!(what(to_25(500.0, f64::NAN, 0.0191)), quantity::TEMPERATURE);
        assert_eq!(what(to_25(500.0, 10.0, -0.01)), quantity::COEFFICIENT);
        assert_eq!(what(to_25(500.0, 10.0, f64::NAN)), quantity::COEFFICIENT);
        assert_eq!(what(to_25(500.0, 0.0, 0.04)), quantity::DIVISOR);
        assert_eq!(what(to_25(f64::NAN, 10.0, 0.0191)), quantity::CONDUCTIVITY);
        assert_eq!(what(to_25(f64::INFINITY, 10.0, 0.0191)), quantity::CONDUCTIVITY);
        assert!(to_25(-0.01, 10.0, 0.0191).unwrap() < 0.0);
    }
}
