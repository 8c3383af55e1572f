//! A standard of a plan: which bottle, and what its value is at a temperature.

mod air;
mod made;
mod printed;
mod reference;

pub use air::{OneSided, Open};
pub use made::{Made, TAP_PH, TAP_US_CM, UNSTATED_PH, UNSTATED_RELATIVE, rectangle, volume};
pub use printed::{MAX_ROWS, Printed, PrintedError, SINGLE_ROW_REACH_C, Stated};
pub use reference::{ICE_POINT, Reference};

use rillmark_metrology::reference::buffers;
use rillmark_metrology::reference::buffers::Buffer;
use rillmark_metrology::reference::conductivity_standards::Standard;
use rillmark_proto::record::Basis;
use rillmark_proto::record::{CertificateNumber, Lot, Quantity, StandardName, Water};
use rillmark_proto::reference::OutOfRange;
use rillmark_proto::units::Celsius;

/// How the value of a standard is known.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant)] // no allocation: nothing to box into
pub enum Source {
    /// A buffer of the literature.
    Buffer(&'static Buffer),
    /// A conductivity standard of the literature.
    Solution(&'static Standard),
    /// The table printed on the bottle.
    Printed(Printed),
    /// What says how warm a bath is.
    Reference(Reference),
}

/// A standard's value at a temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Value {
    /// pH, µS/cm at that temperature, or °C.
    pub value: f64,
    /// Its standard uncertainty in the same unit.
    pub standard_uncertainty: Option<f64>,
}

impl Source {
    /// What the standard is for.
    pub const fn quantity(&self) -> Quantity {
        match self {
            Self::Buffer(_) => Quantity::Ph,
            Self::Solution(_) => Quantity::Conductivity,
            Self::Printed(printed) => printed.quantity(),
            Self::Reference(_) => Quantity::Temperature,
        }
    }

    /// The value at a temperature: pH, µS/cm at that very temperature, or what a reference says in °C.
    ///
    /// # Errors
    /// [`OutOfRange`] outside the table or equation, and for a reference that nobody has read yet.
    pub fn value(&self, temperature: Celsius) -> Result<Value, OutOfRange> {
        let sourced = match self {
            Self::Buffer(buffer) => buffer.ph(temperature)?,
            Self::Solution(standard) => standard.conductivity(temperature)?,
            Self::Printed(printed) => {
                let value = printed.value(temperature.get())?;
                let standard_uncertainty = Some(printed.uncertainty(value));
                return Ok(Value { value, standard_uncertainty });
            }
            Self::Reference(reference) => return reference.value(temperature.get()),
        };
        Ok(Value { value: sourced.value, standard_uncertainty: sourced.standard_uncertainty })
    }

    /// Change of the value with temperature at a temperature, in its unit per kelvin; 0 where the
    /// table or equation has no other temperature near.
    pub fn per_kelvin(&self, temperature: Celsius) -> f64 {
        const HALF_K: f64 = 0.5;
        let (min, max) = self.range();
        let low = libm::fmax(temperature.get() - HALF_K, min);
        let high = libm::fmin(temperature.get() + HALF_K, max);
        let at = |celsius: f64| self.value(Celsius::new(celsius)).ok().map(|value| value.value);
        match (at(low), at(high)) {
            (Some(below), Some(above)) if high > low => (above - below) / (high - low),
            _ => 0.0,
        }
    }

    /// Usable temperatures in °C.
    pub fn range(&self) -> (f64, f64) {
        match self {
            Self::Buffer(buffer) => buffer.range(),
            Self::Solution(standard) => standard.range(),
            Self::Printed(printed) => printed.range(),
            Self::Reference(reference) => reference.range(),
        }
    }

    /// The value at 25 °C, or as near to it as the table goes: what a bottle is known by.
    pub fn near_25(&self) -> Option<f64> {
        self.value(self.celsius_near_25()).ok().map(|value| value.value)
    }

    /// 25 °C, or as near to it as the table goes.
    pub(super) fn celsius_near_25(&self) -> Celsius {
        let (min, max) = self.range();
        Celsius::new(libm::fmin(libm::fmax(25.0, min), max))
    }

    /// What a published solution's amount is counted against; a bottle of its own says it itself.
    pub const fn basis(&self) -> Option<Basis> {
        match self {
            Self::Buffer(buffer) => match buffer.basis() {
                buffers::Basis::Molality => Some(Basis::Molality),
                buffers::Basis::Label => Some(Basis::Label),
                buffers::Basis::Saturation => None,
            },
            Self::Solution(standard) => Some(standard.basis()),
            Self::Printed(_) | Self::Reference(_) => None,
        }
    }

    /// What a table copied from a bottle came with.
    const fn stated(&self) -> Option<Stated> {
        match self {
            Self::Printed(printed) => Some(printed.stated()),
            Self::Buffer(_) | Self::Solution(_) | Self::Reference(_) => None,
        }
    }

    /// True when the operator has to be asked for the value.
    pub const fn is_unread(&self) -> bool {
        matches!(self, Self::Reference(reference) if reference.is_unread())
    }
}

impl Planned {
    /// Its value at a temperature on a day counted from 1970-01-01: that of its source, with what air and
    /// water have added to it, and the uncertainty of both and of how it was made.
    ///
    /// # Errors
    /// As [`Source::value`].
    pub fn value(&self, at: Celsius, today: i64) -> Result<Value, OutOfRange> {
        let published = self.source.value(at)?;
        if let Source::Reference(_) = self.source {
            return Ok(published);
        }
        let value = published.value;
        let added = self.added(at, today);
        let parts = [self.content(published), added.standard_uncertainty(), self.dissolving(value)];
        let squares: f64 = parts.iter().map(|part| part * part).sum();
        let standard_uncertainty = Some(libm::sqrt(squares));
        Ok(Value { value: value + added.shift(), standard_uncertainty })
    }

    /// Standard uncertainty of what is in the bottle, or was in the sachet, at a value of its source: what is
    /// stated, or the default of how it was made.
    pub(super) fn content(&self, published: Value) -> f64 {
        let Value { value, standard_uncertainty } = published;
        match self.stated {
            Some(stated) => stated.of(value),
            None => made::unstated(self.made, &self.source, value, standard_uncertainty),
        }
    }

    /// Standard uncertainty from dissolving a sachet, in the unit of the value.
    fn dissolving(&self, value: f64) -> f64 {
        let Made::Sachet(sachet) = self.made else { return 0.0 };
        let (quantity, label) = (self.source.quantity(), self.source.near_25());
        let tap = match (quantity, sachet.water) {
            (Quantity::Ph, Water::Tap) => rectangle(TAP_PH),
            // No conductivity standard can be made with it, and none is.
            _ => 0.0,
        };
        libm::hypot(made::watered(sachet.vessel, quantity, label, value), tap)
    }

    /// The same with what its reference says now, if it has one that nobody has read yet.
    #[must_use]
    pub(super) fn read(&self, now_c: f64) -> Self {
        match self.source {
            Source::Reference(reference) => {
                Self { source: Source::Reference(reference.read(now_c)), ..self.clone() }
            }
            _ => self.clone(),
        }
    }
}

/// A standard that a plan asks for.
#[derive(Clone, Debug, PartialEq)]
pub struct Planned {
    /// Its name in the literature, or the bottle's own.
    pub name: StandardName,
    /// Lot printed on the bottle, empty when not given.
    pub lot: Lot,
    /// Expiry as days since 1970-01-01.
    pub expiry_days: Option<i32>,
    /// The day the bottle was opened, as days since 1970-01-01.
    pub opened_days: Option<i32>,
    /// True for a sachet or ampoule that is used on the day it is opened.
    pub single_use: bool,
    /// How many days an open bottle is used; `None` takes the default of its kind.
    pub opened_limit_days: Option<u16>,
    /// How it came about.
    pub made: Made,
    /// The standard uncertainty that label or certificate state; `None` takes the default of how it was
    /// made.
    pub stated: Option<Stated>,
    /// Number of its certificate, empty when it has none.
    pub certificate: CertificateNumber,
    /// What its amount is counted against, where that is known.
    pub basis: Option<Basis>,
    /// How its value is known.
    pub source: Source,
}

impl Planned {
    /// A bought standard of which nothing but name and value is known.
    pub fn new(name: StandardName, source: Source) -> Self {
        Self {
            name,
            lot: Lot::new(),
            expiry_days: None,
            opened_days: None,
            single_use: false,
            opened_limit_days: None,
            made: Made::default(),
            stated: source.stated(),
            certificate: CertificateNumber::new(),
            basis: source.basis(),
            source,
        }
    }
}

#[cfg(test)]
mod tests;
