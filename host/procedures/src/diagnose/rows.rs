//! The table: one row a cause, with the evidence it needs at least, the signs it brings, and the
//! causes that it cannot be told from without certain evidence.
//!
//! The signs are common practice, no source, unless a limit of theirs names one. The last column
//! makes the permitted answers: what a cause looks like under the evidence that there is, and no
//! more.

use super::cause::Cause;
use super::evidence::Kind;
use super::limits;
use super::set::Set;
use super::sign::Sign;

/// What a cause has to do with a sign.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effect {
    /// It brings the sign whenever it shows at all: the sign's absence excludes the cause.
    Brings,
    /// It may bring it.
    May,
}

/// One row.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// The cause.
    pub cause: Cause,
    /// Without all of this it is never named.
    pub needs: &'static [Kind],
    /// One of these must be present before the cause is thought of.
    pub hallmarks: &'static [Sign],
    /// One of these must be present before it is named without reserve.
    pub named_by: &'static [Sign],
    /// The signs that it brings or may bring; all others it does not.
    pub effects: &'static [(Sign, Effect)],
    /// Causes that look the same unless one of these kinds of evidence is there.
    pub alike: &'static [(Cause, &'static [Kind])],
}

use Effect::{Brings, May};

/// All rows, in the order of the causes' numbers.
pub const ROWS: [Row; 12] = [
    Row {
        cause: Cause::AgeingGlass,
        needs: &[Kind::Line, Kind::Response],
        hallmarks: &[Sign::SlopeLow, Sign::Slow, Sign::SettlesLate, Sign::DriftsOn],
        named_by: &[Sign::SlopeLow, Sign::Slow, Sign::SettlesLate],
        // A thicker hydrated layer costs slope and time together; the last of a slow answer is
        // still under way minutes later.
        effects: &[
            (Sign::SlopeLow, Brings),
            (Sign::Slow, Brings),
            (Sign::SettlesLate, Brings),
            (Sign::DriftsOn, May),
            (Sign::DriftTurns, May),
        ],
        alike: &[],
    },
    Row {
        cause: Cause::CrackedGlass,
        needs: &[Kind::Line, Kind::Rest],
        hallmarks: &[Sign::SlopeLow, Sign::SlopeLowerCold],
        named_by: &[Sign::SlopeLow, Sign::SlopeLowerCold],
        // A shunt of solution across a membrane whose resistance doubles every 7 to 8 K of cooling:
        // quick and steady.
        effects: &[
            (Sign::SlopeLow, Brings),
            (Sign::SlopeLowerCold, Brings),
            (Sign::BuffersDisagree, May),
            (Sign::OffsetShifted, May),
        ],
        alike: &[(Cause::AgeingGlass, &[Kind::Response, Kind::ColdBuffers])],
    },
    Row {
        cause: Cause::CloggedJunction,
        needs: &[Kind::Stirring],
        hallmarks: &[Sign::StirShows, Sign::Restless, Sign::DriftsOn, Sign::SettlesLate],
        named_by: &[Sign::StirShows],
        effects: &[
            (Sign::StirShows, Brings),
            (Sign::Restless, Brings),
            (Sign::RestlessAway, May),
            (Sign::SlopeLowerCold, May),
            (Sign::DriftsOn, May),
            (Sign::DriftTurns, May),
            (Sign::Slow, May),
            (Sign::SettlesLate, May),
            (Sign::OffsetShifted, May),
            (Sign::BuffersDisagree, May),
            (Sign::SlopeLow, May),
        ],
        alike: &[],
    },
    Row {
        cause: Cause::ContaminatedJunction,
        needs: &[Kind::Line, Kind::Rest],
        hallmarks: &[Sign::OffsetShifted, Sign::DriftsOn, Sign::SettlesLate],
        named_by: &[Sign::OffsetShifted, Sign::DriftsOn],
        effects: &[
            (Sign::OffsetShifted, Brings),
            (Sign::DriftsOn, Brings),
            (Sign::Slow, May),
            (Sign::SettlesLate, May),
        ],
        alike: &[(Cause::CloggedJunction, &[Kind::Stirring])],
    },
    Row {
        cause: Cause::ContaminatedBuffer,
        needs: &[Kind::Line, Kind::ThirdBuffer],
        hallmarks: &[Sign::BuffersDisagree],
        named_by: &[Sign::BuffersDisagree],
        effects: &[
            (Sign::BuffersDisagree, Brings),
            (Sign::SlopeLow, May),
            (Sign::OffsetShifted, May),
        ],
        alike: &[(Cause::CloggedJunction, &[Kind::Stirring])],
    },
    Row {
        cause: Cause::Bubble,
        needs: &[Kind::CellReadings],
        hallmarks: &[Sign::ConductanceJumps],
        named_by: &[Sign::ConductanceJumps],
        effects: &[
            (Sign::ConductanceJumps, Brings),
            (Sign::ConductanceLow, May),
            (Sign::StandardsDisagree, May),
        ],
        alike: &[],
    },
    Row {
        cause: Cause::FouledCell,
        needs: &[Kind::CellComparison, Kind::CellReadings],
        hallmarks: &[Sign::ConductanceLow],
        named_by: &[Sign::ConductanceLow],
        effects: &[(Sign::ConductanceLow, Brings), (Sign::StandardsDisagree, May)],
        alike: &[(Cause::ThermometerOffset, &[Kind::ReferenceThermometer])],
    },
    Row {
        cause: Cause::WetConnector,
        needs: &[Kind::Line, Kind::Rest],
        hallmarks: &[Sign::SlopeLow, Sign::RestlessAway, Sign::SlopeLowerCold, Sign::DriftsOn],
        named_by: &[Sign::RestlessAway],
        // A film of moisture divides the potential with the membrane: the same as a crack, but it
        // never holds still.
        effects: &[
            (Sign::RestlessAway, Brings),
            (Sign::SlopeLow, May),
            (Sign::SlopeLowerCold, May),
            (Sign::DriftsOn, May),
            (Sign::DriftTurns, May),
            (Sign::SettlesLate, May),
            (Sign::BuffersDisagree, May),
        ],
        alike: &[],
    },
    Row {
        cause: Cause::ThermometerOffset,
        needs: &[Kind::ReferenceThermometer],
        hallmarks: &[Sign::ThermometerOff],
        named_by: &[Sign::ThermometerOff],
        effects: &[
            (Sign::ThermometerOff, Brings),
            (Sign::ConductanceLow, May),
            (Sign::ConductanceHigh, May),
            (Sign::SlopeLow, May),
        ],
        alike: &[],
    },
    Row {
        cause: Cause::Hum,
        needs: &[Kind::Readings],
        hallmarks: &[Sign::Shakes],
        named_by: &[Sign::Shakes],
        effects: &[(Sign::Shakes, Brings), (Sign::Restless, May), (Sign::SettlesLate, May)],
        alike: &[],
    },
    Row {
        cause: Cause::ThermometerOpen,
        needs: &[Kind::Flags],
        hallmarks: &[Sign::ThermometerOpens],
        named_by: &[Sign::ThermometerOpens],
        effects: &[(Sign::ThermometerOpens, Brings)],
        alike: &[],
    },
    Row {
        cause: Cause::ThermometerShort,
        needs: &[Kind::Flags],
        hallmarks: &[Sign::ThermometerShorts],
        named_by: &[Sign::ThermometerShorts],
        effects: &[(Sign::ThermometerShorts, Brings)],
        alike: &[],
    },
];

/// Signs that no cause of the table brings: whatever brings them cannot be named.
pub const UNKNOWN: [Sign; 2] = [Sign::PotentialMissing, Sign::TemperatureDrifts];

/// The row of a cause.
pub const fn row(cause: Cause) -> &'static Row {
    &ROWS[cause as usize]
}

impl Row {
    /// What the cause has to do with a sign; `None` when nothing.
    pub fn effect(&self, sign: Sign) -> Option<Effect> {
        self.effects.iter().find(|(of, _)| *of == sign).map(|(_, effect)| *effect)
    }

    /// The largest value of a sign that the cause accounts for, given what evidence there is; 0 when
    /// it does not bring that sign.
    pub fn most(&self, sign: Sign, there: Set<Kind>) -> f64 {
        if self.effect(sign).is_none() {
            return 0.0;
        }
        let (bottle, junction, thermometer) = limits::SEEMING_MOST_PERCENT;
        match (self.cause, sign) {
            (Cause::ThermometerOffset, Sign::ConductanceLow | Sign::ConductanceHigh) => {
                // What a known difference makes of it is taken out already.
                match there.has(Kind::ReferenceThermometer) {
                    true => 0.0,
                    false => limits::THERMOMETER_MOST_K * limits::PERCENT_PER_KELVIN,
                }
            }
            (Cause::CloggedJunction, Sign::OffsetShifted) => limits::CLOGGED_MOST_MV,
            // It takes the offset to 0 mV, wherever that was.
            (Cause::CrackedGlass, Sign::OffsetShifted) => limits::OFFSET.present,
            (Cause::AgeingGlass, Sign::SlopeLow) => limits::AGE_MOST_PERCENT,
            (Cause::FouledCell, Sign::StandardsDisagree) => limits::FOULED_MOST_PERCENT,
            (Cause::WetConnector, Sign::SlopeLow) => 100.0 - limits::FILM_LEAVES_PERCENT,
            (Cause::ContaminatedBuffer, Sign::SlopeLow) => bottle,
            (Cause::CloggedJunction, Sign::SlopeLow) => junction,
            (Cause::ThermometerOffset, Sign::SlopeLow) => thermometer,
            _ => f64::INFINITY,
        }
    }

    /// The kinds of evidence that it needs and that are not there.
    pub fn missing(&self, there: Set<Kind>) -> Set<Kind> {
        Set::of(self.needs).without(there)
    }
}

/// The causes that evidence of these kinds cannot tell from the true one: the permitted answers. The
/// true one is always among them.
pub fn permitted(truth: Cause, there: Set<Kind>) -> Set<Cause> {
    let alike = row(truth)
        .alike
        .iter()
        .filter(|(_, by)| Set::of(by).and(there).is_empty())
        .map(|(cause, _)| *cause);
    alike.chain([truth]).collect()
}
