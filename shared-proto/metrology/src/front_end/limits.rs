//! What is known of one board: the limits of its parts, or what somebody measured in their place.

use super::rectangular;
use rillmark_proto::circuit::parts;
use rillmark_proto::circuit::parts::Part;
use rillmark_proto::circuit::{chips, network};

/// How far something may be from where it is counted as, in the unit of its line.
///
/// No value is corrected for what was measured: a known deviation is doubt, as its limit is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Line {
    /// How far off it was measured to be; 0 where nobody did.
    pub deviation: f64,
    /// How much farther it may be, either way: a tolerance, or what the instrument does not know.
    pub limit: f64,
}

impl Line {
    /// Anything within a limit.
    pub const fn within(limit: f64) -> Self {
        Self { deviation: 0.0, limit }
    }

    /// The same of something that is proportional to it.
    #[must_use]
    pub const fn times(self, factor: f64) -> Self {
        Self { deviation: self.deviation * factor, limit: self.limit * factor }
    }

    /// Its standard uncertainty: of a limit as a rectangular distribution, and of a deviation whole.
    pub fn uncertainty(&self) -> f64 {
        match self.deviation {
            0.0 => rectangular(self.limit),
            deviation => libm::hypot(deviation, rectangular(self.limit)),
        }
    }
}

/// What a budget counts with of one board.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BoardLimits {
    /// R8, R9, R10 and R11 before they were soldered, as fractions of what they are called.
    pub resistors: [Line; 4],
    /// Offset of the electrometer in V.
    pub electrometer_offset_v: Line,
    /// Input bias of the electrometer in A at 25 °C, doubling every 10 K.
    pub bias_a: Line,
    /// What switches and clamp diodes together leak into the cell in A at 25 °C, doubling every 10 K; `None`
    /// for the limits of each, which are of 25 °C too.
    pub leakage_a: Option<Line>,
    /// Supply in V.
    pub supply_v: f64,
    /// Amplitude of the drive in V.
    pub drive_v: f64,
}

impl BoardLimits {
    /// Of any board whose parts and chips keep their limits.
    pub const ANY: Self = Self {
        resistors: [
            Line::within(parts::RANGE_1K.tolerance),
            Line::within(parts::RANGE_10K.tolerance),
            Line::within(parts::RANGE_100K.tolerance),
            Line::within(parts::THERMOMETER_REFERENCE.tolerance),
        ],
        electrometer_offset_v: Line::within(chips::ELECTROMETER_OFFSET_V),
        bias_a: Line::within(chips::ELECTROMETER_BIAS_A),
        leakage_a: None,
        supply_v: chips::SUPPLY_V,
        drive_v: network::DRIVE_V,
    };

    /// How far a compared resistor may be off.
    pub fn resistor(&self, part: &Part) -> Line {
        let compared = [
            &parts::RANGE_1K,
            &parts::RANGE_10K,
            &parts::RANGE_100K,
            &parts::THERMOMETER_REFERENCE,
        ];
        let at = compared.iter().position(|each| each.designator == part.designator);
        at.map_or(Line::within(part.tolerance), |at| self.resistors[at])
    }

    /// What leaks into the cell by the switches and by the clamp diodes of a board that is as warm as it may
    /// be, in A.
    pub(super) fn leakages(&self) -> [Line; 2] {
        let at_room = match self.leakage_a {
            None => [chips::SWITCH_LEAKAGE_A, 2.0 * chips::CLAMP_LEAKAGE_A].map(Line::within),
            Some(both) => [both, Line::within(0.0)],
        };
        at_room.map(|line| line.times(warm()))
    }
}

impl Default for BoardLimits {
    fn default() -> Self {
        Self::ANY
    }
}

/// How many times as much a leak or a bias is on a board that is as warm as it may be: it doubles every 10 K.
pub(super) fn warm() -> f64 {
    libm::exp2(crate::front_end::surroundings::BOARD_K / 10.0)
}
