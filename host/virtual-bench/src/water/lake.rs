//! An invented lake: a slow daily swing, and one rain event that dilutes the water.
//!
//! **Nothing here was measured.** The lake exists to show what a log looks like.

use core::f64::consts::TAU;

use super::Water;

/// Seconds in a day.
const DAY_S: f64 = 86_400.0;
/// When the rain reaches the probe, in s after the placing.
pub const RAIN_AT_S: f64 = 180.0;
/// Time constant with which the rain mixes in, in s.
const MIXING_S: f64 = 150.0;
/// Time constant with which the lake recovers, in s.
const RECOVERY_S: f64 = 4.0 * 3_600.0;
/// Conductivity of the lake at 25 °C before the rain, in µS/cm.
const SPECIFIC_US_CM: f64 = 330.0;
/// The lake's change of conductivity per kelvin, as a fraction of that at 25 °C.
pub const PER_KELVIN: f64 = 0.0191;

/// The lake `s` seconds after the sensors were placed, which is at ten in the morning.
pub fn at(s: f64) -> Water {
    let day = libm::sin(TAU * (s / DAY_S));
    let rain = if s > RAIN_AT_S {
        let after = s - RAIN_AT_S;
        (1.0 - libm::exp(-after / MIXING_S)) * libm::exp(-after / RECOVERY_S)
    } else {
        0.0
    };
    let temperature_c = 16.2 + 1.4 * day - 0.8 * rain;
    let specific = (SPECIFIC_US_CM - 4.0 * day) * (1.0 - 0.18 * rain);
    Water {
        ph: Some(8.15 + 0.25 * day - 0.30 * rain),
        conductivity_us_cm: specific * (1.0 + PER_KELVIN * (temperature_c - 25.0)),
        specific_us_cm: Some(specific),
        temperature_c,
    }
}

#[cfg(test)]
mod tests {
    use super::{DAY_S, RAIN_AT_S, at};

    #[test]
    fn rain_dilutes_and_the_lake_recovers_without_a_jump() {
        let before = at(RAIN_AT_S).specific_us_cm.unwrap();
        let wet = at(RAIN_AT_S + 600.0).specific_us_cm.unwrap();
        let later = at(RAIN_AT_S + 2.0 * DAY_S).specific_us_cm.unwrap();
        assert!(wet < 0.9 * before, "{wet} of {before}");
        assert!((later / before - 1.0).abs() < 0.02, "{later} of {before}");
        for s in 0..20_000 {
            let (now, next) = (at(f64::from(s)), at(f64::from(s) + 1.0));
            assert!((now.temperature_c - next.temperature_c).abs() < 0.01);
            assert!((now.ph.unwrap() - next.ph.unwrap()).abs() < 0.003);
        }
    }
}
