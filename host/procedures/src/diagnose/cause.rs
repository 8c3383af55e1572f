//! What can be wrong.

use super::set::Member;

/// A cause of trouble. Numbers and codes never change their meaning.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Cause {
    /// The glass has aged: low slope, slow answer.
    AgeingGlass = 0,
    /// The glass has a crack: hardly any slope, everything near 0 mV.
    CrackedGlass = 1,
    /// The junction is clogged: restless, slow, and the water's motion shows.
    CloggedJunction = 2,
    /// The junction is contaminated: the offset is shifted and moves on.
    ContaminatedJunction = 3,
    /// A buffer is not what its label says.
    ContaminatedBuffer = 4,
    /// A bubble in the cell: low and jumping conductance.
    Bubble = 5,
    /// The cell is fouled: steadily low conductance.
    FouledCell = 6,
    /// Moisture in the electrode's connector: low slope, restless away from 0 mV, worse when cold.
    WetConnector = 7,
    /// The thermometer reads off by a constant.
    ThermometerOffset = 8,
    /// Mains hum: every reading differs from the next.
    Hum = 9,
    /// The thermometer is open, now and then or for good.
    ThermometerOpen = 10,
    /// The thermometer is short, now and then or for good.
    ThermometerShort = 11,
}

impl Member for Cause {
    const ALL: &'static [Self] = &[
        Self::AgeingGlass,
        Self::CrackedGlass,
        Self::CloggedJunction,
        Self::ContaminatedJunction,
        Self::ContaminatedBuffer,
        Self::Bubble,
        Self::FouledCell,
        Self::WetConnector,
        Self::ThermometerOffset,
        Self::Hum,
        Self::ThermometerOpen,
        Self::ThermometerShort,
    ];

    fn number(self) -> u32 {
        self as u32
    }
}

impl Cause {
    /// The name that machine-readable output gives the cause; never changes.
    pub const fn code(self) -> &'static str {
        match self {
            Self::AgeingGlass => "ageing-glass",
            Self::CrackedGlass => "cracked-glass",
            Self::CloggedJunction => "clogged-junction",
            Self::ContaminatedJunction => "contaminated-junction",
            Self::ContaminatedBuffer => "contaminated-buffer",
            Self::Bubble => "bubble",
            Self::FouledCell => "fouled-cell",
            Self::WetConnector => "wet-connector",
            Self::ThermometerOffset => "thermometer-offset",
            Self::Hum => "hum",
            Self::ThermometerOpen => "thermometer-open",
            Self::ThermometerShort => "thermometer-short",
        }
    }
}
