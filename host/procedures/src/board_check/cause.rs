//! What can be wrong with a board that was just built.

use rillmark_proto::circuit::parts::Part;
use rillmark_proto::reading::Range;

/// One thing that is likely wrong, with the numbers that say so.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Cause {
    /// Neither chip answers: the bus itself.
    Bus,
    /// The converter does not answer at its address.
    Converter,
    /// The clock chip does not answer.
    ClockChip,
    /// Nothing follows, neither drive nor pH input: the supply of the front end.
    Supply,
    /// No drive reaches the range resistors.
    Drive,
    /// The cell's return is open.
    Return,
    /// A resistor of the range switch has another's value.
    Resistor {
        /// Which one.
        place: &'static Part,
        /// What it looks like, in Ω; infinite when it is missing, `None` when several values, or none at
        /// all, would look the same.
        ohm: Option<f64>,
    },
    /// Two resistors of the range switch are in each other's place.
    Swapped {
        /// One of them.
        one: &'static Part,
        /// The other.
        other: &'static Part,
    },
    /// A control line of the range switch does not get through.
    RangeLine {
        /// The low one, or else the high one.
        is_low: bool,
        /// The level that the switch sees.
        level: bool,
    },
    /// The control lines of the range switch are swapped.
    RangeLines,
    /// The control lines of the tap switch are swapped.
    TapLines,
    /// A control line of the tap switch does not get through.
    TapLine {
        /// The low one, or else the high one.
        is_low: bool,
        /// The level that the switch sees.
        level: bool,
    },
    /// All resistors on one range read wrong by the same factor, and it is no other resistor's.
    RangeOff {
        /// Which range.
        range: Range,
        /// What it reads, as a multiple of what is there.
        factor: f64,
    },
    /// Resistance in series with the cell's terminals.
    Series {
        /// How much, in Ω.
        ohm: f64,
    },
    /// Something conducts across the cell's terminals.
    Across {
        /// How much, in Ω.
        ohm: f64,
    },
    /// The thermometer's terminals read open.
    ThermometerOpen,
    /// The thermometer's terminals read shorted.
    ThermometerShort,
    /// The thermometer's reference resistor is wrong by a factor that is no other resistor's.
    ReferenceOff {
        /// What the thermometer reads, as a multiple of what is there.
        factor: f64,
    },
    /// The potential leaves the converter's range with the input joined to the reference terminal.
    InputOpen,
    /// The input does not follow its source.
    InputDead,
    /// The input follows one polarity only: mid is not in the middle.
    Mid {
        /// It stands at the supply, or else at ground.
        at_supply: bool,
    },
    /// Plus and minus are swapped.
    InputReversed,
    /// The input's zero is off.
    Zero {
        /// By how much, in mV.
        mv: f64,
    },
    /// The input's gain is off.
    Gain {
        /// What it reads, as a multiple of what is there.
        factor: f64,
    },
    /// The input leaks, which shows through a high resistance.
    Leak {
        /// What flows into it, in A, negative when it flows to ground; `None` when the potential left
        /// the converter's range.
        ampere: Option<f64>,
    },
    /// The last step reads as another load of this check does: that one is still connected.
    LoadLeft {
        /// Which one, in Ω.
        ohm: f64,
    },
    /// Something leads from the reference terminal to mid while the cell is driven.
    ReferencePath {
        /// How much, in Ω; `None` when it is too little for a number.
        ohm: Option<f64>,
    },
    /// Something will not keep still.
    Restless,
}
