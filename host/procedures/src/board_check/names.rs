//! What machine-readable output calls steps, rows and causes. A name never changes its meaning.

use heapless::Vec;

use super::{Cause, Clock, Quantity, Step, Verdict};
use rillmark_proto::circuit::parts::Part;

impl Step {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Bare => "bare",
            Self::Membrane => "membrane",
            Self::Source => "source",
            Self::Reversed => "reversed",
            Self::Cell(_) => "cell",
            Self::Joined => "joined",
        }
    }
}

impl Quantity {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Potential => "potential",
            Self::Cell => "cell",
            Self::OpenCell => "open-cell",
            Self::Thermometer => "thermometer",
        }
    }

    /// Its unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Potential => "mV",
            Self::Cell | Self::Thermometer => "ohm",
            Self::OpenCell => "S",
        }
    }
}

impl Verdict {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Pass => "pass",
            Self::Off => "off",
            Self::Restless => "restless",
            Self::Missing => "missing",
            Self::Unsettled => "unsettled",
        }
    }
}

impl Clock {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Keeps => "keeps",
            Self::Lost => "lost",
            Self::Silent => "silent",
        }
    }
}

impl Cause {
    /// Its name.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Bus => "bus",
            Self::Converter => "converter",
            Self::ClockChip => "clock-chip",
            Self::Supply => "supply",
            Self::Drive => "drive",
            Self::Return => "return",
            Self::Resistor { .. } => "resistor",
            Self::Swapped { .. } => "swapped",
            Self::RangeLine { .. } => "range-line",
            Self::RangeLines => "range-lines",
            Self::TapLines => "tap-lines",
            Self::TapLine { .. } => "tap-line",
            Self::RangeOff { .. } => "range-off",
            Self::Series { .. } => "series",
            Self::Across { .. } => "across",
            Self::ThermometerOpen => "thermometer-open",
            Self::ThermometerShort => "thermometer-short",
            Self::ReferenceOff { .. } => "reference-off",
            Self::InputOpen => "input-open",
            Self::InputDead => "input-dead",
            Self::Mid { .. } => "mid",
            Self::InputReversed => "input-reversed",
            Self::Zero { .. } => "zero",
            Self::Gain { .. } => "gain",
            Self::Leak { .. } => "leak",
            Self::LoadLeft { .. } => "load-left",
            Self::ReferencePath { .. } => "reference-path",
            Self::Restless => "restless",
        }
    }

    /// The resistors that it is about, as the drawings name them.
    pub fn parts(&self) -> Vec<&'static Part, 2> {
        match *self {
            Self::Resistor { place, .. } => Vec::from_iter([place]),
            Self::Swapped { one, other } => Vec::from_iter([one, other]),
            Self::RangeOff { range, .. } => Vec::from_iter([range.resistor()]),
            Self::ReferenceOff { .. } => {
                Vec::from_iter([&rillmark_proto::circuit::parts::THERMOMETER_REFERENCE])
            }
            _ => Vec::new(),
        }
    }

    /// Its number with the number's name: in Ω, mV, A or as a multiple. What is infinite or not known
    /// has none.
    pub fn number(&self) -> Option<(&'static str, f64)> {
        match *self {
            Self::Resistor { ohm, .. } => Some(("ohm", ohm.filter(|ohm| ohm.is_finite())?)),
            Self::RangeOff { factor, .. }
            | Self::ReferenceOff { factor }
            | Self::Gain { factor } => Some(("factor", factor)),
            Self::Series { ohm } | Self::Across { ohm } | Self::LoadLeft { ohm } => {
                Some(("ohm", ohm))
            }
            Self::Zero { mv } => Some(("mv", mv)),
            Self::ReferencePath { ohm } => Some(("ohm", ohm?)),
            Self::Leak { ampere } => Some(("ampere", ampere?)),
            _ => None,
        }
    }
}
