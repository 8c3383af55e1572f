//! One reading: the raw integers, what stood in the way, and what the probe computed from them.
//!
//! **The logged raw integers are the raw value.** Everything else in a reading can be computed
//! again from them and from the calibration records that the reading names; [`evaluate`] does it,
//! in the probe and in replay, to the last bit.

use serde::{Deserialize, Serialize};

use crate::calibration::conductivity::ConductivityCalibration;
pub use crate::calibration::conductivity::Range;
use crate::calibration::ph::PhCalibration;
use crate::calibration::temperature::{LeadFault, PT1000, TemperatureCalibration, Thermometer};
use crate::identity::ShortId;
use crate::units::{Celsius, Microsiemens, Millivolts, Ohms};

/// A moment on a probe's own clock: which start of the probe, and how long after it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
pub struct ProbeTime {
    /// Number of the start, counted in flash from 1.
    pub boot: u32,
    /// Milliseconds since that start.
    pub ms: u64,
}

/// A conductance as measured, in picosiemens, with the range that measured it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct RawConductance {
    /// Conductance in picosiemens (1 µS = 1 000 000 pS); may be slightly negative in air.
    pub conductance_ps: i64,
    /// The range it was measured on.
    pub range: Range,
}

/// The raw integers of one reading; a part that was not sampled or failed is `None`.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Raw {
    /// Glass minus reference electrode, in nanovolts.
    pub potential_nv: Option<i32>,
    /// Conductance of the cell.
    pub conductance: Option<RawConductance>,
    /// Resistance of the thermometer in milliohms.
    pub thermometer_milliohm: Option<u32>,
}

/// What stood in the way of a reading, as a set of bits. Bits are never given a second meaning.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Flags(pub u32);

impl Flags {
    /// Nothing stood in the way.
    pub const NONE: Self = Self(0);
    /// The analog-to-digital converter did not answer.
    pub const ADC_SILENT: Self = Self(1 << 0);
    /// The electrode potential left the converter's range (±0.512 V).
    pub const POTENTIAL_OVER_RANGE: Self = Self(1 << 1);
    /// The thermometer reads as an open circuit.
    pub const THERMOMETER_OPEN: Self = Self(1 << 2);
    /// The thermometer reads as a short circuit.
    pub const THERMOMETER_SHORT: Self = Self(1 << 3);
    /// The cell conducts less than the lowest range measures (in air, or a broken lead).
    pub const CELL_OPEN: Self = Self(1 << 4);
    /// The cell conducts more than the highest range measures.
    pub const CELL_OVER_RANGE: Self = Self(1 << 5);
    /// The clock chip is silent or has lost its time.
    pub const CLOCK_LOST: Self = Self(1 << 6);
    /// The store could not be read, or something in it was damaged since the last start: calibrations may be
    /// missing.
    pub const STORE_FAULT: Self = Self(1 << 7);
    /// The raw temperature is carried over from an earlier reading of the same sampling.
    pub const TEMPERATURE_HELD: Self = Self(1 << 8);
    /// The electrode potential was read before the input had come to rest behind its membrane, after its
    /// power came on or something was driven: it is on its way still, nobody knows how far.
    pub const NOT_SETTLED: Self = Self(1 << 9);

    /// The supply of the drive, or the cell, changed by a step while the cell was read, and did so again when it was
    /// read once more: its conductance may be off by several times its uncertainty.
    pub const CELL_CHANGED: Self = Self(1 << 10);

    /// Every flag with the name that machine-readable output gives it.
    pub const NAMED: [(Self, &'static str); 11] = [
        (Self::ADC_SILENT, "adc-silent"),
        (Self::POTENTIAL_OVER_RANGE, "potential-over-range"),
        (Self::THERMOMETER_OPEN, "thermometer-open"),
        (Self::THERMOMETER_SHORT, "thermometer-short"),
        (Self::CELL_OPEN, "cell-open"),
        (Self::CELL_OVER_RANGE, "cell-over-range"),
        (Self::CLOCK_LOST, "clock-lost"),
        (Self::STORE_FAULT, "store-fault"),
        (Self::TEMPERATURE_HELD, "temperature-held"),
        (Self::NOT_SETTLED, "not-settled"),
        (Self::CELL_CHANGED, "cell-changed"),
    ];

    /// Both sets together.
    #[must_use]
    pub const fn with(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// This set without the other's bits.
    #[must_use]
    pub const fn without(self, other: Self) -> Self {
        Self(self.0 & !other.0)
    }

    /// True when every bit of `other` is set.
    pub const fn has(self, other: Self) -> bool {
        self.0 & other.0 == other.0
    }

    /// Names of the bits that are set and known to this version.
    pub fn names(self) -> impl Iterator<Item = &'static str> {
        Self::NAMED.iter().filter(move |(flag, _)| self.has(*flag)).map(|(_, name)| *name)
    }
}

/// What the probe computed: each value in `f64`, rounded to `f32` once, at the very end.
///
/// `None` means 'not defined': a part was not sampled, failed, is outside its valid range, or has
/// no calibration.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Computed {
    /// Temperature in °C.
    pub temperature_c: Option<f32>,
    /// pH on the buffers' scale.
    pub ph: Option<f32>,
    /// Conductivity at the water's temperature, in µS/cm.
    pub conductivity_us_cm: Option<f32>,
    /// Conductivity referred to 25 °C, in µS/cm.
    pub specific_conductance_us_cm: Option<f32>,
}

impl Computed {
    /// True when every value that is there is a number, neither infinite nor NaN.
    pub fn is_finite(&self) -> bool {
        let Self { temperature_c, ph, conductivity_us_cm, specific_conductance_us_cm } = self;
        [temperature_c, ph, conductivity_us_cm, specific_conductance_us_cm]
            .into_iter()
            .flatten()
            .all(|value| value.is_finite())
    }

    /// True when both hold the same bits (`NaN` equals itself, `-0.0` differs from `0.0`).
    pub fn same_bits(&self, other: &Self) -> bool {
        let bits = |value: Option<f32>| value.map(f32::to_bits);
        bits(self.temperature_c) == bits(other.temperature_c)
            && bits(self.ph) == bits(other.ph)
            && bits(self.conductivity_us_cm) == bits(other.conductivity_us_cm)
            && bits(self.specific_conductance_us_cm) == bits(other.specific_conductance_us_cm)
    }
}

/// Which calibration records a reading was computed with.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct CalibrationsUsed {
    /// The pH calibration.
    pub ph: Option<ShortId>,
    /// The conductivity calibration.
    pub conductivity: Option<ShortId>,
    /// The thermometer's calibration.
    pub temperature: Option<ShortId>,
}

/// One reading as it leaves the probe.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Running number since the probe's start; a step of more than one is a lost reading.
    pub running: u32,
    /// When the sampling of this reading ended.
    pub time: ProbeTime,
    /// The raw integers.
    pub raw: Raw,
    /// What stood in the way.
    pub flags: Flags,
    /// What the probe computed.
    pub computed: Computed,
    /// Which calibrations it used.
    pub calibrations: CalibrationsUsed,
}

/// The coefficients in force.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Coefficients {
    /// For the fitted electrode.
    pub ph: Option<PhCalibration>,
    /// For the fitted cell.
    pub conductivity: Option<ConductivityCalibration>,
    /// For the fitted thermometer.
    pub temperature: Option<TemperatureCalibration>,
}

impl Coefficients {
    /// Temperature of a thermometer's resistance: by the calibration in force, or else by IEC 60751
    /// as a Pt1000; `None` outside the range of either.
    pub fn celsius(&self, resistance: Ohms) -> Option<Celsius> {
        match &self.temperature {
            Some(calibration) => calibration.temperature(resistance),
            None => PT1000.temperature(resistance),
        }
    }

    /// The kind of the thermometer in force, or else a Pt1000.
    pub fn thermometer(&self) -> Thermometer {
        self.temperature.map_or(PT1000, |calibration| calibration.thermometer)
    }

    /// What a resistance says about the thermometer's leads: [`Flags::THERMOMETER_OPEN`],
    /// [`Flags::THERMOMETER_SHORT`] or none, for the thermometer in force or else a Pt1000. What is
    /// normal for a thermistor is an open circuit for platinum.
    pub fn thermometer_flags(&self, resistance: Ohms) -> Flags {
        match self.thermometer().lead_fault(resistance) {
            Some(LeadFault::Open) => Flags::THERMOMETER_OPEN,
            Some(LeadFault::Short) => Flags::THERMOMETER_SHORT,
            None => Flags::NONE,
        }
    }
}

const NANOVOLTS_PER_MILLIVOLT: f64 = 1e6;
const PICOSIEMENS_PER_MICROSIEMENS: f64 = 1e6;
const MILLIOHMS_PER_OHM: f64 = 1e3;

impl Raw {
    /// The electrode potential.
    pub fn potential(&self) -> Option<Millivolts> {
        self.potential_nv.map(|nv| Millivolts::new(f64::from(nv) / NANOVOLTS_PER_MILLIVOLT))
    }

    /// The conductance of the cell. Exact below 9e15 pS (9 kS), far beyond any range.
    pub fn conductance(&self) -> Option<Microsiemens> {
        self.conductance
            .map(|raw| Microsiemens::new(raw.conductance_ps as f64 / PICOSIEMENS_PER_MICROSIEMENS))
    }

    /// The resistance of the thermometer.
    pub fn resistance(&self) -> Option<Ohms> {
        let milliohm = self.thermometer_milliohm?;
        Some(Ohms::new(f64::from(milliohm) / MILLIOHMS_PER_OHM))
    }

    /// The temperature under the coefficients in force; `None` when it was not measured or
    /// [`Coefficients::celsius`] is.
    pub fn temperature(&self, coefficients: &Coefficients) -> Option<Celsius> {
        coefficients.celsius(self.resistance()?)
    }
}

/// Computes a reading from its raw integers and the coefficients in force: the only way from raw
/// to computed, in the probe and in replay.
///
/// **Rounding.** The integers become `f64` exactly, all math is `f64`, and each result is rounded
/// to `f32` once, here, to the nearest (ties to even), as the last step. No `f32` is ever an input
/// of another value: pH is computed with the `f64` temperature, specific conductance from the `f64`
/// conductivity. The same integers and coefficients therefore give the same bits everywhere.
///
/// A value is `None` when its raw part is missing, its calibration is, or a number leaves its valid
/// range; pH and specific conductance need a temperature, conductivity does not.
pub fn evaluate(raw: &Raw, coefficients: &Coefficients) -> Computed {
    let temperature = raw.temperature(coefficients);
    let ph = || coefficients.ph?.ph(raw.potential()?, temperature?);
    let conductivity = || {
        let range = raw.conductance?.range;
        coefficients.conductivity?.conductivity(raw.conductance()?, range)
    };
    let conductivity = conductivity();
    let specific = || coefficients.conductivity?.at_25(conductivity?, temperature?);
    Computed {
        temperature_c: temperature.map(|value| value.get() as f32),
        ph: ph().map(|value| value.get() as f32),
        conductivity_us_cm: conductivity.map(|value| value.get() as f32),
        specific_conductance_us_cm: specific().map(|value| value.get() as f32),
    }
}

#[cfg(test)]
#[path = "reading_tests.rs"]
mod tests;
