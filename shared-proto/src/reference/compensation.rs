//! Temperature compensation: a conductivity referred to 25 °C, κ₂₅ = f₂₅(t)·κ.
//!
//! A water's factor depends on its ions; without knowing them it is known to the standard
//! uncertainty that is given beside each way of compensating.

mod linear;
mod natural_water;

pub use linear::{
    DEFAULT_PER_KELVIN, DEFAULT_SOURCE, DEFAULT_TAG, PER_KELVIN_RANGE, from_25_linear,
    relative_uncertainty_linear, to_25_linear,
};
pub use natural_water::{
    DEFAULT_EXPONENT, EXPONENT_RANGE, NATURAL_WATER_SOURCE, NATURAL_WATER_TAG,
    from_25_natural_water, natural_water_factor, relative_uncertainty_natural_water,
    to_25_natural_water,
};

/// Temperatures in °C at which a conductivity is referred to 25 °C: liquid natural waters, a little
/// below 0 °C so that melting ice read by a real thermometer is still covered. Common practice, no
/// source.
pub const RANGE: (f64, f64) = (-2.0, 50.0);
