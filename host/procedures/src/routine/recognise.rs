//! Which standard does the probe stand in? Each candidate has an interval of signals that a healthy
//! sensor may give in it; the candidates whose interval holds the signal are the answer.
//!
//! The intervals hold what the last calibration leaves uncertain, how sensors age since, and the
//! uncertainties of standard, signal and thermometer. So one candidate means that none of the others
//! is possible with a healthy sensor, not that it is the nearest. Water that happens to read like a
//! standard cannot be told from it.

mod interval;

use core::borrow::Borrow;

use heapless::Vec;

use self::interval::Interval;
use super::limits;
use super::standard::Source;
use rillmark_metrology::uncertainty::reading::Circumstances;
use rillmark_proto::calibration::conductivity::{ConductivityCalibration, Range};
use rillmark_proto::calibration::ph::PhCalibration;
use rillmark_proto::record::Quantity;
use rillmark_proto::units::{Celsius, Microsiemens, Millivolts};

/// The most candidates that are compared; more are passed over.
pub const MOST_CANDIDATES: usize = 32;

/// An electrode straight from the textbook: 0 mV at pH 7, 100 % of Nernst.
pub(super) const NOMINAL_ELECTRODE: PhCalibration = PhCalibration::exact(1.0, 0.0);

/// What is known about the sensor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Known {
    /// An electrode and its last calibration.
    Electrode {
        /// Its coefficients.
        calibration: PhCalibration,
        /// What it has drifted by since; `None` when no clock tells their age.
        drifted: Option<Circumstances>,
    },
    /// An electrode of which nothing is known but that it works.
    AnyElectrode,
    /// A cell and its last calibration.
    Cell {
        /// Its coefficients.
        calibration: ConductivityCalibration,
        /// What it has drifted by since; `None` when no clock tells their age.
        drifted: Option<Circumstances>,
    },
    /// A cell of which nothing is known but the cell constant in 1/cm that its maker states.
    NominalCell {
        /// That cell constant.
        cell_constant_per_cm: f64,
    },
}

/// The raw signal in a beaker.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Seen {
    /// Of an electrode.
    Potential(Millivolts),
    /// Of a cell, with the range that measured it.
    Conductance(Microsiemens, Range),
}

/// A standard that the probe may stand in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Which of the standards that were asked for, counted from 0.
    pub index: usize,
    /// Its value at the temperature: pH, or µS/cm.
    pub value: f64,
    /// Its value at 25 °C, or as near to it as its table goes: what its bottle is known by.
    pub near_25: f64,
    /// How far the signal is from its middle, in half widths of its interval: at most 1 when near.
    pub distance: f64,
    /// Values closer than this are the same solution.
    same_within: f64,
}

/// What came of comparing.
#[derive(Clone, Debug, PartialEq)]
pub struct Recognition {
    quantity: Quantity,
    /// What the coefficients, or a nominal sensor, make of the signal: pH, or µS/cm.
    pub found: Option<f64>,
    /// The candidates that the signal is near to, the nearest first.
    near: Vec<Candidate, MOST_CANDIDATES>,
    /// The nearest of all, near or not.
    pub nearest: Option<Candidate>,
    /// Standards without a value at this temperature: nothing can be said about them.
    pub unjudged: Vec<usize, MOST_CANDIDATES>,
}

/// The answer.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Recognised<'a> {
    /// This one. Several are the same solution under several names, within [`limits::SAME_PH`] or
    /// [`limits::SAME_PERCENT`].
    One(&'a [Candidate]),
    /// One of these, and the signal cannot tell which.
    Ambiguous(&'a [Candidate]),
    /// None of the candidates, or the sensor is not healthy.
    NoneNear,
}

impl Recognition {
    /// The answer.
    pub fn answer(&self) -> Recognised<'_> {
        match self.near.as_slice() {
            [] => Recognised::NoneNear,
            near if self.is_one_solution() => Recognised::One(near),
            near => Recognised::Ambiguous(near),
        }
    }

    /// True when a standard of this value at the temperature is among the near ones, be it under
    /// another name.
    pub fn is_near(&self, value: f64) -> bool {
        self.near.iter().any(|near| near.same(value))
    }

    /// The nearest, when everything near is much like it: enough to tell a person what it looks like.
    pub fn looks_like(&self) -> Option<&Candidate> {
        let nearest = self.near.first()?;
        let limit = match self.quantity {
            Quantity::Conductivity => nearest.value * limits::ALIKE_PERCENT.value / 100.0,
            Quantity::Ph | Quantity::Temperature => limits::ALIKE_PH.value,
        };
        let alike = |other: &Candidate| libm::fabs(other.value - nearest.value) <= limit;
        self.near.iter().all(alike).then_some(nearest)
    }

    fn is_one_solution(&self) -> bool {
        self.near.iter().all(|one| self.near.iter().all(|other| one.same(other.value)))
    }
}

impl Candidate {
    /// Whether another value at this temperature is that of the same solution.
    pub fn same(&self, value: f64) -> bool {
        libm::fabs(self.value - value) <= self.same_within
    }
}

impl Known {
    /// What kind of standards it can stand in.
    pub const fn quantity(&self) -> Quantity {
        match self {
            Self::Electrode { .. } | Self::AnyElectrode => Quantity::Ph,
            Self::Cell { .. } | Self::NominalCell { .. } => Quantity::Conductivity,
        }
    }
}

/// Compares a signal with what each standard would give. Standards of the other quantity are passed
/// over, and so is a signal that is not the sensor's.
///
/// `unsettled` is what the signal may still move by, as a standard uncertainty: in mV, or as a
/// fraction of the conductance; 0 when it has come to rest.
pub fn recognise<S: Borrow<Source>>(
    known: &Known,
    seen: Seen,
    temperature: Celsius,
    unsettled: f64,
    standards: impl IntoIterator<Item = S>,
) -> Recognition {
    let mut all: Vec<Candidate, MOST_CANDIDATES> = Vec::new();
    let mut unjudged = Vec::new();
    for (index, source) in standards.into_iter().enumerate() {
        let source = source.borrow();
        if source.quantity() != known.quantity() {
            continue;
        }
        let (Ok(at), Some(near_25)) = (source.value(temperature), source.near_25()) else {
            // A standard beyond the last that fits is passed over, judged or not.
            let _ = unjudged.push(index);
            continue;
        };
        let distance = Interval::of(known, &at, temperature, unsettled)
            .and_then(|interval| interval.distance(known.axis(seen)?));
        let same_within = match known.quantity() {
            Quantity::Conductivity => at.value * limits::SAME_PERCENT.value / 100.0,
            Quantity::Ph | Quantity::Temperature => limits::SAME_PH.value,
        };
        if let Some(distance) = distance {
            let _ = all.push(Candidate { index, value: at.value, near_25, distance, same_within });
        }
    }
    all.sort_unstable_by(|a, b| a.distance.total_cmp(&b.distance));
    let nearest = all.first().copied();
    all.retain(|candidate| candidate.distance <= 1.0);
    let (quantity, found) = (known.quantity(), known.found(seen, temperature));
    Recognition { quantity, found, near: all, nearest, unjudged }
}

#[cfg(test)]
mod tests;
