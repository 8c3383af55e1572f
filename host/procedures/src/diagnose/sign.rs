//! Signs: what can be seen, each as one number against a limit.

use super::set::Member;

/// Something that a cause can bring about. Codes never change their meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sign {
    /// What is missing of the slope in percent of Nernst: below its band, or far below its last value.
    SlopeLow = 0,
    /// Offset in mV far from its last value, or from 0 where none is known.
    OffsetShifted = 1,
    /// The buffers do not lie on one line, in standard uncertainties.
    BuffersDisagree = 2,
    /// Seconds until a step was answered to 95 %.
    Slow = 3,
    /// Drift in mV per minute long after the electrode was placed.
    DriftsOn = 4,
    /// Scatter in mV wherever the electrode stands.
    Restless = 5,
    /// Scatter in mV that grows with the distance from 0 mV.
    RestlessAway = 6,
    /// Scatter in mV from one reading to the next.
    Shakes = 7,
    /// Change in mV between stirred and still water.
    StirShows = 8,
    /// The slope falls by this many percent of itself when it is cold.
    SlopeLowerCold = 9,
    /// The cell's conductance is low by this many percent.
    ConductanceLow = 10,
    /// The cell's conductance is high by this many percent.
    ConductanceHigh = 11,
    /// Largest step of the conductance from one reading to the next, in percent.
    ConductanceJumps = 12,
    /// Difference of the cell constants that two standards give, in percent.
    StandardsDisagree = 13,
    /// Difference in K from a reference thermometer.
    ThermometerOff = 14,
    /// Readings whose thermometer was open.
    ThermometerOpens = 15,
    /// Readings whose thermometer was short.
    ThermometerShorts = 16,
    /// Seconds until the reading met the settling rule.
    SettlesLate = 17,
    /// Drift in mV per minute at rest that goes up in one beaker and down in another: the smaller of
    /// the two.
    DriftTurns = 18,
    /// Readings without a potential while the electrode rested in a buffer.
    PotentialMissing = 19,
    /// Change of the thermometer in K per minute long after it was placed.
    TemperatureDrifts = 20,
}

impl Member for Sign {
    const ALL: &'static [Self] = &[
        Self::SlopeLow,
        Self::OffsetShifted,
        Self::BuffersDisagree,
        Self::Slow,
        Self::DriftsOn,
        Self::Restless,
        Self::RestlessAway,
        Self::Shakes,
        Self::StirShows,
        Self::SlopeLowerCold,
        Self::ConductanceLow,
        Self::ConductanceHigh,
        Self::ConductanceJumps,
        Self::StandardsDisagree,
        Self::ThermometerOff,
        Self::ThermometerOpens,
        Self::ThermometerShorts,
        Self::SettlesLate,
        Self::DriftTurns,
        Self::PotentialMissing,
        Self::TemperatureDrifts,
    ];

    fn number(self) -> u32 {
        self as u32
    }
}

impl Sign {
    /// The name that machine-readable output gives the sign; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::SlopeLow => "slope-low",
            Self::OffsetShifted => "offset-shifted",
            Self::BuffersDisagree => "buffers-disagree",
            Self::Slow => "slow",
            Self::DriftsOn => "drifts-on",
            Self::Restless => "restless",
            Self::RestlessAway => "restless-away-from-0-mv",
            Self::Shakes => "shakes",
            Self::StirShows => "stir-shows",
            Self::SlopeLowerCold => "slope-lower-when-cold",
            Self::ConductanceLow => "conductance-low",
            Self::ConductanceHigh => "conductance-high",
            Self::ConductanceJumps => "conductance-jumps",
            Self::StandardsDisagree => "standards-disagree",
            Self::ThermometerOff => "thermometer-off",
            Self::ThermometerOpens => "thermometer-opens",
            Self::ThermometerShorts => "thermometer-shorts",
            Self::SettlesLate => "settles-late",
            Self::DriftTurns => "drift-turns",
            Self::PotentialMissing => "potential-missing",
            Self::TemperatureDrifts => "temperature-drifts",
        }
    }
}

/// How clearly a sign shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Within what every healthy probe shows.
    Absent,
    /// Within what healthy probes show, and it may be there all the same: a little of it, nothing to
    /// compare with, a restless electrode. Speaks neither for nor against.
    Hidden,
    /// More than healthy probes show, and less than a sign: speaks neither for nor against.
    Vague,
    /// Beyond what a healthy probe shows.
    Present,
}

impl Grade {
    /// The name that machine-readable output gives the grade.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Absent => "absent",
            Self::Hidden => "hidden",
            Self::Vague => "vague",
            Self::Present => "present",
        }
    }
}

/// The part of a probe that something belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Part {
    /// Electrode, its cable and its buffers.
    Electrode,
    /// Conductivity cell.
    Cell,
    /// Thermometer.
    Thermometer,
}

impl Sign {
    /// The part that shows it.
    pub const fn part(self) -> Part {
        match self {
            Self::SlopeLow
            | Self::OffsetShifted
            | Self::BuffersDisagree
            | Self::Slow
            | Self::DriftsOn
            | Self::Restless
            | Self::RestlessAway
            | Self::Shakes
            | Self::StirShows
            | Self::SlopeLowerCold
            | Self::SettlesLate
            | Self::DriftTurns
            | Self::PotentialMissing => Part::Electrode,
            Self::ConductanceLow
            | Self::ConductanceHigh
            | Self::ConductanceJumps
            | Self::StandardsDisagree => Part::Cell,
            Self::ThermometerOff
            | Self::ThermometerOpens
            | Self::ThermometerShorts
            | Self::TemperatureDrifts => Part::Thermometer,
        }
    }
}

/// What a sign's number is compared with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Against {
    /// A limit that stands by itself.
    Limit,
    /// The last calibration of the same electrode or cell.
    Earlier,
}

/// A sign with its number.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observed {
    /// Which.
    pub sign: Sign,
    /// The number, in the sign's unit.
    pub value: f64,
    /// Where it begins to count as present, in the same unit.
    pub limit: f64,
    /// What it is compared with.
    pub against: Against,
    /// How clear it is.
    pub grade: Grade,
    /// Where the limit comes from.
    pub source: &'static str,
}
