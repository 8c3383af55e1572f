//! The Nernst factor: the ideal electrode's potential per unit of pH (REFERENCES 1).

use crate::units::Celsius;

/// Molar gas constant in J/(mol·K), exact in the SI since 2019 (CODATA 2018 and 2022).
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;

/// Faraday constant in C/mol, exact in the SI since 2019 (CODATA 2018 and 2022).
pub const FARADAY_CONSTANT: f64 = 96_485.332_123_310_02;

/// Where the factor comes from.
pub const SOURCE: &str = "k = R T ln(10) / F with the exact SI constants (CODATA 2022)";

/// Temperatures in °C that this project works with: those of its thermometer. The relation itself
/// holds at any temperature above absolute zero.
pub const RANGE: (f64, f64) = super::rtd::RANGE;

/// Change of the factor with temperature in mV per unit of pH and kelvin: R·ln(10)/F, 0.198 42.
// Volts to millivolts; folded by the compiler, one multiplication at run time.
pub const PER_KELVIN: f64 = 1000.0 * GAS_CONSTANT * core::f64::consts::LN_10 / FARADAY_CONSTANT;

/// The Nernst factor R·T·ln(10)/F in mV per unit of pH.
///
/// Exact but for rounding, at any temperature above absolute zero (the caller's to ensure).
/// 59.1593 mV at 25 °C.
pub fn millivolts_per_ph(temperature: Celsius) -> f64 {
    PER_KELVIN * temperature.kelvin()
}
