//! Practical salinity from conductivity, temperature and pressure.
//!
//! PSS-78 (UNESCO Technical Papers in Marine Science 44, 1983) for 2 to 42, and below 2 the
//! extension of Hill, Dauphinee & Woods (IEEE J. Ocean. Eng. 11, 109 (1986)), scaled so that both
//! meet at 2 (the convention of TEOS-10). Coefficients seen at one remove (REFERENCES 12),
//! verified by the published check values (seen).

use rillmark_proto::reference::{OutOfRange, Tag, quantity, within};
use rillmark_proto::units::{Celsius, Decibars, MicrosiemensPerCm};

/// Where the relation comes from.
pub const SOURCE: &str = "PSS-78 (UNESCO Tech. Pap. Mar. Sci. 44, 1983); below 2 after Hill, \
                          Dauphinee & Woods, IEEE J. Ocean. Eng. 11, 109 (1986), scaled to meet it";

/// How the coefficients came to this project.
pub const TAG: Tag = Tag::SeenAtOneRemove;

/// Valid temperatures in °C.
pub const TEMPERATURE_RANGE: (f64, f64) = (-2.0, 35.0);

/// Valid gauge pressures in dbar.
pub const PRESSURE_RANGE: (f64, f64) = (0.0, 10_000.0);

/// Valid practical salinities; the lower end is where the relation is no longer defined.
pub const SALINITY_RANGE: (f64, f64) = (0.0, 42.0);

/// Conductivities in µS/cm that are looked at; those that lead above a salinity of 42 are refused.
pub const CONDUCTIVITY_RANGE: (f64, f64) = (0.0, 100_000.0);

/// Conductivity in mS/cm of water of salinity 35 at 15 °C (IPTS-68) and 0 dbar.
const C_35_15_0: f64 = 42.914;

/// t68 = 1.00024 · t90: the practical scale was written for the temperature scale of 1968.
const T68_PER_T90: f64 = 1.00024;

/// Polynomial in ascending powers by Horner's rule.
fn horner<const N: usize>(x: f64, coefficients: &[f64; N]) -> f64 {
    coefficients.iter().rev().fold(0.0, |sum, coefficient| sum * x + coefficient)
}

/// Coefficients of the half powers of Rt at 15 °C.
const A: [f64; 6] = [0.0080, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];
/// Coefficients of the half powers of Rt in the departure from 15 °C.
const B: [f64; 6] = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];
/// rt, the ratio of the conductivity at a temperature to that at 15 °C for salinity 35.
const RT: [f64; 5] = [0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9];
/// Pressure: numerator in p, and denominator in t and R.
const E: [f64; 4] = [0.0, 2.070e-5, -6.370e-10, 3.989e-15];
const D: [f64; 4] = [3.426e-2, 4.464e-4, 0.4215, -3.107e-3];

/// Departure from 15 °C as PSS-78 weighs it; `t68` in °C.
fn departure(t68: f64) -> f64 {
    (t68 - 15.0) / (1.0 + 0.0162 * (t68 - 15.0))
}

/// PSS-78 from the square root of Rt.
fn pss78(root: f64, departure: f64) -> f64 {
    horner(root, &A) + departure * horner(root, &B)
}

/// What Hill, Dauphinee & Woods take off below 2.
fn low_salinity_excess(root: f64, departure: f64) -> f64 {
    let x = 400.0 * root * root;
    let y = 10.0 * root;
    A[0] / (1.0 + x * (1.5 + x)) + B[0] * departure / (1.0 + y * (1.0 + y * (1.0 + y)))
}

/// The factor with which the low-salinity value meets PSS-78 at a salinity of 2.
fn low_salinity_scale(departure: f64) -> f64 {
    // √Rt at a salinity of 2 lies near 0.27 at every temperature; PSS-78 is smooth there, so five
    // Newton steps end at the rounding error.
    let mut root = 0.27;
    for _ in 0..5 {
        let derivative =
            |c: &[f64; 6]| horner(root, &[c[1], 2.0 * c[2], 3.0 * c[3], 4.0 * c[4], 5.0 * c[5]]);
        let slope = derivative(&A) + departure * derivative(&B);
        root -= (pss78(root, departure) - 2.0) / slope;
    }
    2.0 / (2.0 - low_salinity_excess(root, departure))
}

/// The relation itself, for checked inputs: conductivity ratio to C(35, 15, 0), °C (IPTS-68), dbar.
fn from_ratio(ratio: f64, t68: f64, p: f64) -> f64 {
    let denominator = 1.0 + t68 * (D[0] + t68 * D[1]) + (D[2] + t68 * D[3]) * ratio;
    let rp = 1.0 + horner(p, &E) / denominator;
    let root = libm::sqrt(ratio / (rp * horner(t68, &RT)));
    let departure = departure(t68);
    let salinity = pss78(root, departure);
    if salinity < 2.0 {
        low_salinity_scale(departure) * (salinity - low_salinity_excess(root, departure))
    } else {
        salinity
    }
}

/// Practical salinity (unit one) of a water from its conductivity at its own temperature (ITS-90)
/// and gauge pressure.
///
/// `None` is 'not defined': below about 1 to 2 µS/cm (0.8 at 0 °C, 2.2 at 35 °C) the relation turns
/// negative, and a dry cell has no salinity. Meant for waters of sea-salt composition; for a lake it
/// is a convention.
///
/// # Errors
/// [`OutOfRange`] outside −2 to 35 °C, 0 to 10 000 dbar, 0 to 100 000 µS/cm, or when the salinity
/// comes out above 42.
pub fn practical_salinity(
    conductivity: MicrosiemensPerCm,
    temperature: Celsius,
    pressure: Decibars,
) -> Result<Option<f64>, OutOfRange> {
    let us_cm = within(quantity::CONDUCTIVITY, conductivity.get(), CONDUCTIVITY_RANGE)?;
    let t90 = within(quantity::TEMPERATURE, temperature.get(), TEMPERATURE_RANGE)?;
    let p = within(quantity::PRESSURE, pressure.get(), PRESSURE_RANGE)?;
    if us_cm == 0.0 {
        // At zero itself all terms cancel and only a rounding error of either sign is left.
        return Ok(None);
    }
    let ratio = MicrosiemensPerCm::new(us_cm).millisiemens_per_cm() / C_35_15_0;
    let salinity = from_ratio(ratio, t90 * T68_PER_T90, p);
    if salinity < SALINITY_RANGE.0 {
        return Ok(None);
    }
    within(quantity::SALINITY, salinity, SALINITY_RANGE).map(Some)
}

#[cfg(test)]
#[path = "salinity_tests.rs"]
mod tests;
