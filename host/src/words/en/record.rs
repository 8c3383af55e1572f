//! What `show --record` says of a calibration's result.

use rillmark_proto::record::Quantity;

/// Conductance with the cell in air.
pub const ZERO: &str = "in air";
/// How readings are referred to 25 °C.
pub const REFERRED: &str = "to 25 °C by";

/// A zero with its standard uncertainty.
pub fn zero(us: f64, uncertainty: f64) -> String {
    format!("{us:.3} µS (standard uncertainty {uncertainty:.3} µS)")
}

/// A straight line.
pub fn linear(percent_per_kelvin: f64) -> String {
    format!("{percent_per_kelvin:.2} % per kelvin, linear")
}

/// The viscosity of water.
pub fn natural_water(exponent: f64) -> String {
    format!("viscosity-type natural-water compensation, exponent {exponent}")
}

/// What few points cannot tell; `None` where some are left over.
pub const fn left_over(quantity: Quantity, points: usize) -> Option<&'static str> {
    match (quantity, points) {
        (Quantity::Ph, 1) => {
            Some("one buffer: the slope is from before, and nothing shows an error")
        }
        (Quantity::Ph, 2) => Some("two buffers: nothing is left over that could show an error"),
        (Quantity::Conductivity, 1) => {
            Some("one standard: nothing is left over that could show an error")
        }
        _ => None,
    }
}
