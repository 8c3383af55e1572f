//! How uncertain a temperature in water is: thermometer and front end together.

use crate::front_end::{BoardLimits, Budget, temperature};
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration, Thermometer};
use rillmark_proto::reference::{rtd, thermistor};
use rillmark_proto::units::{Celsius, Ohms};

/// Half the step in K over which a thermometer's change of resistance is taken.
const HALF_K: f64 = 0.5;

/// What the front end makes uncertain of a thermometer.
pub trait ThermometerFrontEnd: Copy {
    /// What the front end makes uncertain of this thermometer's temperature in K, with the leads of a
    /// probe; outside the range of its relation the same as at the range's end.
    fn front_end(self, temperature: Celsius) -> Budget<10>;

    /// The same on a board of which more is known.
    fn front_end_on(self, board: &BoardLimits, temperature: Celsius) -> Budget<10>;
}

impl ThermometerFrontEnd for Thermometer {
    fn front_end(self, temperature: Celsius) -> Budget<10> {
        self.front_end_on(&BoardLimits::ANY, temperature)
    }

    fn front_end_on(self, board: &BoardLimits, temperature: Celsius) -> Budget<10> {
        let (low, high) = match self {
            Self::Platinum { .. } => rtd::RANGE,
            Self::Thermistor { .. } | Self::SteinhartHart { .. } => thermistor::RANGE,
        };
        let middle = temperature.get().clamp(low + HALF_K, high - HALF_K);
        let at = |celsius| self.resistance(Celsius::new(celsius)).map_or(f64::NAN, Ohms::get);
        let per_k = (at(middle + HALF_K) - at(middle - HALF_K)) / (2.0 * HALF_K);
        temperature::budget_on(board, &temperature::Thermometer::in_water(at(middle), per_k))
    }
}

/// Standard uncertainty in K of a Pt1000 that is taken at its maker's word in a front end that was just
/// built: class B of IEC 60751 ([`rtd::class_b_uncertainty`]), reference resistor, leads and the rest of
/// [`Thermometer::front_end`].
///
/// 0.37 K at 25 °C: √(0.245² + 0.271²).
pub fn uncalibrated_k(temperature: Celsius) -> f64 {
    uncalibrated_on_k(&BoardLimits::ANY, temperature)
}

/// The same on a board of which more is known.
pub fn uncalibrated_on_k(board: &BoardLimits, temperature: Celsius) -> f64 {
    let front_end = PT1000.front_end_on(board, temperature).built();
    libm::hypot(rtd::class_b_uncertainty(temperature), front_end)
}

/// How uncertain a temperature under a calibration is.
pub trait TemperatureUncertainty {
    /// Standard uncertainty in K of a temperature under these coefficients: theirs
    /// ([`TemperatureCalibration::standard_uncertainty`]), and what of the front end no calibration takes up.
    fn in_water_k(&self, temperature: Celsius) -> f64;

    /// The same on a board of which more is known.
    fn in_water_on_k(&self, board: &BoardLimits, temperature: Celsius) -> f64;
}

impl TemperatureUncertainty for TemperatureCalibration {
    fn in_water_k(&self, temperature: Celsius) -> f64 {
        self.in_water_on_k(&BoardLimits::ANY, temperature)
    }

    fn in_water_on_k(&self, board: &BoardLimits, temperature: Celsius) -> f64 {
        let front_end = self.thermometer.front_end_on(board, temperature).calibrated();
        libm::hypot(self.standard_uncertainty(temperature), front_end)
    }
}
