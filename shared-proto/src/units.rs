//! Quantities as newtypes: the unit is in the type, so a millivolt never meets a pH by accident.

use serde::{Deserialize, Serialize};

/// Kelvin at 0 °C, exact by definition of the Celsius scale (SI Brochure, 9th ed., 2019).
pub const KELVIN_AT_ZERO_CELSIUS: f64 = 273.15;

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Serialize, Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);

        impl $name {
            /// Wraps a number that is already in this unit.
            pub const fn new(value: f64) -> Self {
                Self(value)
            }

            /// The bare number, in this unit.
            pub const fn get(self) -> f64 {
                self.0
            }

            /// True when the number is neither infinite nor NaN.
            pub const fn is_finite(self) -> bool {
                self.0.is_finite()
            }
        }
    };
}

quantity!(
    /// Temperature in degrees Celsius (ITS-90).
    Celsius
);
quantity!(
    /// Electric potential in millivolts.
    Millivolts
);
quantity!(
    /// pH on the scale of the buffers that calibrated the electrode (not the total scale).
    Ph
);
quantity!(
    /// Conductivity of a solution in microsiemens per centimetre.
    MicrosiemensPerCm
);
quantity!(
    /// Conductance between the electrodes of a cell in microsiemens.
    Microsiemens
);
quantity!(
    /// Cell constant in reciprocal centimetres: conductivity = cell constant · conductance.
    PerCm
);
quantity!(
    /// Resistance in ohms.
    Ohms
);
quantity!(
    /// Gauge pressure in decibars.
    Decibars
);

impl Celsius {
    /// The thermodynamic temperature in kelvin.
    pub const fn kelvin(self) -> f64 {
        self.0 + KELVIN_AT_ZERO_CELSIUS
    }
}

impl MicrosiemensPerCm {
    /// From millisiemens per centimetre (× 1000, one rounding).
    pub const fn from_millisiemens_per_cm(value: f64) -> Self {
        Self(value * 1000.0)
    }

    /// In millisiemens per centimetre (÷ 1000, one rounding).
    pub const fn millisiemens_per_cm(self) -> f64 {
        self.0 / 1000.0
    }
}
