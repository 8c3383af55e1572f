//! Thermistor (NTC) by the beta equation: R = R₂₅ · exp(β · (1/T − 1/T₂₅)), T in kelvin.
//!
//! Common practice (REFERENCES 14); β holds for the two temperatures that the maker states with it and
//! drifts by some 1 % over the range of a probe (computed from a Steinhart-Hart curve: 3891 K between 0
//! and 50 °C, 3934 K between 25 and 50 °C), which a calibration at two temperatures takes up.

use super::{OutOfRange, Tag, quantity, within};
use crate::units::{Celsius, Ohms};

/// Where the beta equation comes from.
pub const BETA_SOURCE: &str = "beta equation, R/R25 = exp(beta (1/T - 1/298.15 K)); beta holds for the two temperatures that \
     its maker states with it";

/// How the beta equation came to this project.
pub const BETA_TAG: Tag = Tag::CommonPractice;

/// Where the equation of Steinhart and Hart comes from.
pub const STEINHART_HART_SOURCE: &str =
    "1/T = a + b ln(R) + c ln(R)^3, R in ohm, Steinhart & Hart, Deep-Sea Research 15, 497 (1968)";

/// How the equation of Steinhart and Hart came to this project.
pub const STEINHART_HART_TAG: Tag = Tag::SeenAtOneRemove;

/// Valid temperatures in °C.
pub const RANGE: (f64, f64) = (-20.0, 100.0);

/// Valid resistances at 25 °C in Ω: what the front end's reference resistor can be compared with.
pub const R25_RANGE: (f64, f64) = (500.0, 20_000.0);

/// Valid β in K. Common practice, no source.
pub const BETA_RANGE: (f64, f64) = (2_000.0, 6_000.0);

const T25: f64 = Celsius::new(25.0).kelvin();

/// Resistance of a thermistor at a temperature.
///
/// # Errors
/// [`OutOfRange`] outside −20 to 100 °C, with `r25` outside 500 to 20 000 Ω, or `beta` outside 2000
/// to 6000 K.
pub fn resistance(temperature: Celsius, r25: Ohms, beta: f64) -> Result<Ohms, OutOfRange> {
    let r25 = within(quantity::RESISTANCE_AT_25_C, r25.get(), R25_RANGE)?;
    let beta = within(quantity::BETA, beta, BETA_RANGE)?;
    within(quantity::TEMPERATURE, temperature.get(), RANGE)?;
    Ok(Ohms::new(r25 * libm::exp(beta * (1.0 / temperature.kelvin() - 1.0 / T25))))
}

/// Temperature of a thermistor from its resistance, the inverse of [`resistance`].
///
/// # Errors
/// As [`resistance`], and for a resistance that is not above zero.
pub fn temperature(resistance: Ohms, r25: Ohms, beta: f64) -> Result<Celsius, OutOfRange> {
    let r25 = within(quantity::RESISTANCE_AT_25_C, r25.get(), R25_RANGE)?;
    let beta = within(quantity::BETA, beta, BETA_RANGE)?;
    let ohms = within(quantity::RESISTANCE, resistance.get(), (f64::MIN_POSITIVE, f64::MAX))?;
    let kelvin = 1.0 / (1.0 / T25 + libm::log(ohms / r25) / beta);
    let celsius = kelvin - crate::units::KELVIN_AT_ZERO_CELSIUS;
    within(quantity::TEMPERATURE, celsius, RANGE).map(Celsius::new)
}

/// Coefficients a, b and c in 1/K that a thermistor can have. Own choice, wide about the triples in
/// public use (a 1.0e-3 to 1.4e-3, b 2.3e-4 to 2.4e-4, c 0.9e-7 to 2.0e-7). A c below zero would let one
/// temperature have two resistances.
pub const STEINHART_HART_RANGES: [(f64, f64); 3] = [(1e-4, 5e-3), (5e-5, 1e-3), (0.0, 1e-6)];

/// Temperature of a thermistor by the equation of Steinhart and Hart (Deep-Sea Research 15, 497, 1968):
/// 1/T = a + b · ln R + c · (ln R)³, with R in Ω and T in kelvin.
///
/// # Errors
/// [`OutOfRange`] for coefficients outside [`STEINHART_HART_RANGES`], a resistance that is not above
/// zero, and a temperature outside −20 to 100 °C.
pub fn steinhart_hart_temperature(
    resistance: Ohms,
    coefficients: [f64; 3],
) -> Result<Celsius, OutOfRange> {
    let [a, b, c] = checked(coefficients)?;
    let ohms = within(quantity::RESISTANCE, resistance.get(), (f64::MIN_POSITIVE, f64::MAX))?;
    let log = libm::log(ohms);
    let kelvin = 1.0 / (a + log * (b + c * log * log));
    let celsius = kelvin - crate::units::KELVIN_AT_ZERO_CELSIUS;
    within(quantity::TEMPERATURE, celsius, RANGE).map(Celsius::new)
}

/// Resistance of a thermistor at a temperature, the inverse of [`steinhart_hart_temperature`] to
/// better than 1e-9 K.
///
/// # Errors
/// [`OutOfRange`] outside −20 to 100 °C and for coefficients outside [`STEINHART_HART_RANGES`].
pub fn steinhart_hart_resistance(
    temperature: Celsius,
    coefficients: [f64; 3],
) -> Result<Ohms, OutOfRange> {
    /// From the straight line, which is off by at most some tenths of the logarithm, Newton's steps reach
    /// rounding well before this many.
    const STEPS: usize = 20;
    let [a, b, c] = checked(coefficients)?;
    within(quantity::TEMPERATURE, temperature.get(), RANGE)?;
    let wanted = 1.0 / temperature.kelvin() - a;
    let mut log = wanted / b;
    for _ in 0..STEPS {
        log -= (log * (b + c * log * log) - wanted) / (b + 3.0 * c * log * log);
    }
    within(quantity::RESISTANCE, libm::exp(log), (f64::MIN_POSITIVE, f64::MAX)).map(Ohms::new)
}

fn checked(coefficients: [f64; 3]) -> Result<[f64; 3], OutOfRange> {
    for (value, range) in coefficients.into_iter().zip(STEINHART_HART_RANGES) {
        within(quantity::STEINHART_HART, value, range)?;
    }
    Ok(coefficients)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// B = 3950 K, 10 kΩ at 25 °C: computed from the equation with another program (REFERENCES 14).
    const TABLE: [(f64, f64); 6] = [
        (0.0, 33_620.6),
        (10.0, 20_174.6),
        (20.0, 12_535.3),
        (30.0, 8037.1),
        (40.0, 5301.5),
        (50.0, 3588.2),
    ];

    #[test]
    fn there_and_back_over_the_table() {
        for (t, ohm) in TABLE {
            let found = resistance(Celsius::new(t), Ohms::new(10_000.0), 3950.0).unwrap();
            assert!(libm::fabs(found.get() - ohm) < 0.06, "{t}: {}", found.get());
            let back = temperature(found, Ohms::new(10_000.0), 3950.0).unwrap();
            assert!(libm::fabs(back.get() - t) < 1e-9, "{t}");
        }
    }

    /// Resistances in Ω from 0 to 50 °C of three triples of coefficients in public use (REFERENCES 14,
    /// computed with another program; no standard's). The second is often sold as 10 kΩ at 25 °C and is not.
    const TRIPLES: [([f64; 3], [f64; 10]); 3] = [
        (
            [1.12924e-3, 2.34108e-4, 8.7755e-8],
            [
                32_649.61, 25_394.23, 19_902.72, 15_713.37, 12_493.17, 9_999.91, 8_056.00,
                6_530.25, 5_325.00, 3_601.07,
            ],
        ),
        (
            [1.009249522e-3, 2.378405444e-4, 2.019202697e-7],
            [
                27_949.62, 22_444.09, 18_129.29, 14_727.11, 12_028.80, 9_876.64, 8_150.74,
                6_759.40, 5_632.06, 3_963.24,
            ],
        ),
        (
            [1.40e-3, 2.37e-4, 9.90e-8],
            [
                10_030.22, 7_798.78, 6_110.38, 4_822.76, 3_833.33, 3_067.50, 2_470.60, 2_002.24,
                1_632.38, 1_103.55,
            ],
        ),
    ];

    #[test]
    fn steinhart_and_hart_there_and_back() {
        let celsius = [0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0];
        for (coefficients, row) in TRIPLES {
            for (t, ohm) in celsius.into_iter().zip(row) {
                let found = steinhart_hart_resistance(Celsius::new(t), coefficients).unwrap();
                assert!(libm::fabs(found.get() - ohm) < 0.006, "{t}: {}", found.get());
                let back = steinhart_hart_temperature(found, coefficients).unwrap();
                assert!(libm::fabs(back.get() - t) < 1e-9, "{t}");
            }
        }
        // The other way round: of the first triple, and of the third, whose case is told as 15.00 °C in a
        // text in circulation that takes a hundredth of the cubic term.
        for (of, ohm, t) in [
            (0, 2_000.0, 66.1542),
            (0, 5_000.0, 41.5724),
            (0, 10_000.0, 24.9998),
            (0, 20_000.0, 9.8984),
            (0, 30_000.0, 1.6666),
            (2, 10_000.0, 0.0590),
        ] {
            let found = steinhart_hart_temperature(Ohms::new(ohm), TRIPLES[of].0).unwrap().get();
            assert!(libm::fabs(found - t) < 0.000_06, "{ohm}: {found}");
        }
        let [a, b, c] = TRIPLES[2].0;
        let wrong = steinhart_hart_temperature(Ohms::new(10_000.0), [a, b, c / 100.0]).unwrap();
        assert!(libm::fabs(wrong.get() - 0.0590) > 5.0, "the trap would show");
    }

    #[test]
    fn nonsense_is_out_of_range() {
        let at =
            |ohm, r25, beta| temperature(Ohms::new(ohm), Ohms::new(r25), beta).unwrap_err().what;
        assert_eq!(at(0.0, 10_000.0, 3950.0), quantity::RESISTANCE);
        assert_eq!(at(f64::NAN, 10_000.0, 3950.0), quantity::RESISTANCE);
        assert_eq!(at(1e7, 10_000.0, 3950.0), quantity::TEMPERATURE);
        assert_eq!(at(10.0, 10_000.0, 3950.0), quantity::TEMPERATURE);
        assert_eq!(at(1e4, 1.0, 3950.0), quantity::RESISTANCE_AT_25_C);
        assert_eq!(at(1e4, 10_000.0, 1.0), quantity::BETA);
        let at = |ohm, coefficients| {
            steinhart_hart_temperature(Ohms::new(ohm), coefficients).unwrap_err().what
        };
        let good = TRIPLES[0].0;
        assert_eq!(at(0.0, good), quantity::RESISTANCE);
        assert_eq!(at(f64::NAN, good), quantity::RESISTANCE);
        assert_eq!(at(10.0, good), quantity::TEMPERATURE);
        for wrong in [[0.1, good[1], good[2]], [good[0], 0.1, good[2]], [good[0], good[1], -1e-8]] {
            assert_eq!(at(1e4, wrong), quantity::STEINHART_HART);
        }
        let cold = steinhart_hart_resistance(Celsius::new(-20.1), good);
        assert_eq!(cold.unwrap_err().what, quantity::TEMPERATURE);
    }
}
