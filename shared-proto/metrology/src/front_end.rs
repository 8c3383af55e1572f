//! How far off the front end may be, and what makes it so: from the tolerances of its parts, the
//! limits of its chips, and the rates and waits of the firmware to standard uncertainties.
//!
//! Every contribution is a standard uncertainty (k = 1) in the unit of its budget, twice: of a front
//! end that was **just built**, and of one that was **calibrated** as a whole with its probe, in use at
//! a board temperature up to [`BOARD_K`](surroundings::BOARD_K) away. What is constant drops out
//! with the calibration (an offset into the electrode's offset, a gain into its slope, a range resistor
//! into the cell constant); drift, noise, bending and leakage stay.
//!
//! A limit of a part or chip is taken as a rectangular distribution, a divisor of √3 (JCGM 100:2008,
//! 4.3.7), noise as a normal one, a sine as its effective value. Leaks and bias, which double every 10 K, count on
//! the warmest board. What water and sensors do (junction, polarisation, bubbles,
//! gradients) is no part of it. Not covered either: mains on the taps, rectification at the
//! electrodes, faults of building.

pub mod conductance;
mod limits;
pub mod potential;
pub mod surroundings;
mod taps;
pub mod temperature;

pub use limits::{BoardLimits, Line};

use rillmark_proto::circuit::parts;

/// Time constant of the electrometer's input in s, behind a membrane of this resistance in Ω.
pub const fn input_s(membrane_ohm: f64) -> f64 {
    (membrane_ohm + parts::INPUT_PROTECTION.value)
        * (parts::INPUT_CAPACITOR.value + surroundings::ELECTRODE_CABLE_F)
}

/// What a contribution comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Cause {
    /// The tolerance of the resistor that is compared with.
    Resistor,
    /// What soldering shifted it by.
    Soldering,
    /// Its drift with the board's temperature.
    ResistorDrift,
    /// What it ages by between two calibrations.
    Ageing,
    /// The leads' resistance.
    Leads,
    /// The converter's gain.
    Gain,
    /// The converter's gain with temperature.
    GainDrift,
    /// What the converter's input takes.
    InputLoad,
    /// The offset of the converter.
    ConverterOffset,
    /// The offset of the electrometer.
    ElectrometerOffset,
    /// The offset of the electrometer with temperature.
    ElectrometerDrift,
    /// The electrometer's offset along its input voltage.
    CommonMode,
    /// The electrometer's offset along its supply.
    SupplyRejection,
    /// The electrometer's input bias through the membrane.
    Bias,
    /// Leakage from the input to its guard.
    Guard,
    /// Leakage of the open switches at the cell.
    SwitchLeakage,
    /// Leakage of the clamp diodes at the cell.
    ClampLeakage,
    /// How far the converter's line is bent.
    Linearity,
    /// Noise and rounding of the conversions of one reading.
    Noise,
    /// Noise of the membrane's resistance.
    MembraneNoise,
    /// What averaging leaves of mains hum.
    Mains,
    /// What a wait leaves of the step before it, or what still moves too little to be seen.
    Settling,
    /// The drive bends while the taps are read.
    SupplyDrift,
    /// The drive steps while the taps of a cell are read, by less than is noticed.
    SupplyStep,
    /// The cable's capacitance beside the cell.
    Cable,
    /// What the reference electrode takes of the drive, by its cable's capacitance.
    Reference,
    /// The thermometer warmed by its current.
    SelfHeating,
}

/// One contribution, as standard uncertainties.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Where it comes from.
    pub cause: Cause,
    /// Of a front end that was just built.
    pub built: f64,
    /// Of the same after a calibration.
    pub calibrated: f64,
}

impl Contribution {
    /// A limit that a calibration takes up.
    fn constant(cause: Cause, limit: f64) -> Self {
        Self::constant_line(cause, Line::within(limit))
    }

    /// The same of what may have been measured.
    fn constant_line(cause: Cause, line: Line) -> Self {
        Self { cause, built: line.uncertainty(), calibrated: 0.0 }
    }

    /// A limit that stays.
    fn lasting(cause: Cause, limit: f64) -> Self {
        Self::lasting_line(cause, Line::within(limit))
    }

    /// The same of what may have been measured.
    fn lasting_line(cause: Cause, line: Line) -> Self {
        let u = line.uncertainty();
        Self { cause, built: u, calibrated: u }
    }

    /// The crest of a sine at whatever moment, which stays: crest / √2 (JCGM 101:2008, 6.4.6: REFERENCES 21).
    fn sine(cause: Cause, crest: f64) -> Self {
        Self::noise(cause, libm::fabs(crest) * core::f64::consts::FRAC_1_SQRT_2)
    }

    /// A standard deviation, which stays.
    fn noise(cause: Cause, deviation: f64) -> Self {
        Self { cause, built: deviation, calibrated: deviation }
    }
}

/// Standard uncertainty of a quantity that lies anywhere within a limit on either side: limit / √3.
pub fn rectangular(limit: f64) -> f64 {
    libm::fabs(limit) / libm::sqrt(3.0)
}

/// All that contributes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Budget<const N: usize> {
    /// Every contribution once.
    pub contributions: [Contribution; N],
}

impl<const N: usize> Budget<N> {
    /// Standard uncertainty of a front end that was just built.
    pub fn built(&self) -> f64 {
        self.root_of_squares(|each| each.built)
    }

    /// Standard uncertainty that a calibration leaves.
    pub fn calibrated(&self) -> f64 {
        self.root_of_squares(|each| each.calibrated)
    }

    /// Standard uncertainty of a front end that was just built and of which this cause is known.
    pub fn without(&self, cause: Cause) -> f64 {
        self.root_of_squares(|each| if each.cause == cause { 0.0 } else { each.built })
    }

    /// The contribution of a cause; `None` for one that is no part of this budget.
    pub fn of(&self, cause: Cause) -> Option<Contribution> {
        self.contributions.iter().copied().find(|each| each.cause == cause)
    }

    fn root_of_squares(&self, of: impl Fn(&Contribution) -> f64) -> f64 {
        libm::sqrt(self.contributions.iter().map(|each| of(each) * of(each)).sum())
    }
}

#[cfg(test)]
mod tests;
