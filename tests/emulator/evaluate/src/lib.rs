//! A case for evaluation and what comes of it, as bytes that travel between processor and host.
//!
//! The same function runs on both; what it calls in `rillmark-proto` is what the board's image runs.
#![no_std]
#![warn(missing_docs)]

use rillmark_proto::calibration::conductivity::ConductivityCalibration;
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::calibration::temperature::TemperatureCalibration;
use rillmark_proto::reading::{Coefficients, Computed, Raw, evaluate};
use serde::{Deserialize, Serialize};

/// The most bytes of a case.
pub const CASE_BYTES: usize = 1024;
/// The most bytes of an outcome.
pub const OUTCOME_BYTES: usize = 128;

/// One reading's raw integers with the calibrations in force.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Case {
    /// The raw integers.
    pub raw: Raw,
    /// Of the electrode.
    pub ph: Option<PhCalibration>,
    /// Of the cell.
    pub conductivity: Option<ConductivityCalibration>,
    /// Of the thermometer.
    pub temperature: Option<TemperatureCalibration>,
}

/// What is computed of a case: the values of a reading, and the same before they are rounded.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Outcome {
    /// Bits of temperature, pH, conductivity and specific conductance as the reading carries them.
    pub rounded: [Option<u32>; 4],
    /// Bits of the same in double precision.
    pub exact: [Option<u64>; 4],
}

impl Case {
    /// The coefficients in force.
    pub fn coefficients(&self) -> Coefficients {
        Coefficients { ph: self.ph, conductivity: self.conductivity, temperature: self.temperature }
    }

    /// What the board computes for a reading.
    pub fn evaluate(&self) -> Computed {
        evaluate(&self.raw, &self.coefficients())
    }

    /// The reading's values and what stands behind them.
    pub fn outcome(&self, computed: &Computed) -> Outcome {
        let raw = &self.raw;
        let temperature = raw.temperature(&self.coefficients());
        let ph = || self.ph?.ph(raw.potential()?, temperature?);
        let conductivity =
            || self.conductivity?.conductivity(raw.conductance()?, raw.conductance?.range);
        let specific = || self.conductivity?.at_25(conductivity()?, temperature?);
        let bits = |value: Option<f32>| value.map(f32::to_bits);
        Outcome {
            rounded: [
                bits(computed.temperature_c),
                bits(computed.ph),
                bits(computed.conductivity_us_cm),
                bits(computed.specific_conductance_us_cm),
            ],
            exact: [
                temperature.map(|value| value.get().to_bits()),
                ph().map(|value| value.get().to_bits()),
                conductivity().map(|value| value.get().to_bits()),
                specific().map(|value| value.get().to_bits()),
            ],
        }
    }
}
