//! What the firmware would find on a board with one mistake of wiring, ideal but for that.
//!
//! With an ideal drive of 1 and an ideal return, the taps of a load R under a range resistor Rs are
//! h = 1, a = R/(Rs + R), b = 0, and the firmware takes Rs·(a − b)/(h − a) with the Rs that ought to be
//! there.

use rillmark_proto::circuit::parts::{self, Part};

/// The resistors in the positions of the range switch, as they ought to be.
pub(super) const FITTED: [&Part; 4] =
    [&parts::RANGE_1K, &parts::RANGE_10K, &parts::RANGE_100K, &parts::THERMOMETER_REFERENCE];
/// The position of the thermometer.
const THERMOMETER: usize = 3;
/// What a range leaves for others, in Ω, as the firmware does: a tenth beyond twice its resistor.
const LEAVE_ABOVE_OHM: [f64; 2] = [2_200.0, 22_000.0];
const LEAVE_BELOW_OHM: [f64; 2] = [1_800.0, 18_000.0];
/// Beyond these a cell is open or over range, a thermometer open or shorted, in Ω.
const CELL_OHM: (f64, f64) = (16.0, 250e3);
const THERMOMETER_OHM: (f64, f64) = (50.0, 100e3);
/// A drive below this part of it is none.
const LEAST_DRIVE: f64 = 0.1;

/// What the firmware would say.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Said {
    /// A resistance in Ω.
    Ohm(f64),
    /// More than it measures.
    Open,
    /// There is no drive to compare with.
    Dead,
    /// Less than it measures.
    Short,
    /// It goes from range to range without end: what it says on each of them in Ω, not a number where it does
    /// not come by. A reading that takes as many steps as the last one ends on the same range again and again.
    Round([f64; 3]),
    /// Something else each time: it compares noise with noise.
    Anything,
}

/// Some of the three ranges.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Ranges([bool; 3]);

impl Ranges {
    pub(super) const NONE: Self = Self([false; 3]);
    pub(super) const ALL: Self = Self([true; 3]);

    const fn only(range: usize) -> Self {
        let mut this = Self::NONE;
        this.0[range] = true;
        this
    }

    const fn has(self, range: usize) -> bool {
        self.0[range]
    }

    const fn add(&mut self, range: usize) {
        self.0[range] = true;
    }

    /// All of both.
    pub(super) fn and(self, other: Self) -> Self {
        Self([0, 1, 2].map(|range| self.0[range] || other.0[range]))
    }

    /// Each of them.
    pub(super) fn each(self) -> impl Iterator<Item = usize> {
        (0..3).filter(move |range| self.0[*range])
    }
}

/// A board's wiring.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Wiring {
    /// The resistor in each position in Ω; infinite where there is none.
    pub resistors: [f64; 4],
    /// The position that the range switch takes when asked for each.
    pub positions: [usize; 4],
    /// What the tap switch takes when asked for h, a and b; 3 is mid.
    pub taps: [usize; 3],
    /// Whether the drive arrives.
    pub is_driven: bool,
    /// Whether the cell's return is closed.
    pub is_closed: bool,
}

impl Wiring {
    /// As it ought to be.
    pub(super) const RIGHT: Self = Self {
        resistors: [FITTED[0].value, FITTED[1].value, FITTED[2].value, FITTED[3].value],
        positions: [0, 1, 2, 3],
        taps: [0, 1, 2],
        is_driven: true,
        is_closed: true,
    };

    /// The resistance that comes out when this position is asked for: none without a drive, not a number
    /// when there is neither current nor voltage.
    fn ohm(&self, asked: usize, cell_ohm: f64, thermometer_ohm: f64) -> Option<f64> {
        let position = self.positions[asked];
        let (load, is_closed) = match position {
            THERMOMETER => (thermometer_ohm, true),
            _ => (cell_ohm, self.is_closed),
        };
        let resistor = self.resistors[position];
        // The part of the drive below the resistor; what carries no current is all above a gap, or all
        // below it.
        let below = match (resistor.is_finite(), load.is_finite() && is_closed) {
            (true, true) => load / (resistor + load),
            (true, false) => 1.0,
            (false, _) => 0.0,
        };
        let bottom = if is_closed { 0.0 } else { below };
        let drive = if self.is_driven { 1.0 } else { 0.0 };
        let nodes = [drive, drive * below, drive * bottom, 0.0];
        let [h, a, b] = self.taps.map(|tap| nodes[tap]);
        if h < LEAST_DRIVE {
            return None;
        }
        let (load, current) = (a - b, h - a);
        Some(match FITTED[asked].value * load / current {
            _ if load == 0.0 && current == 0.0 => f64::NAN,
            _ if load <= 0.0 => 0.0,
            _ if current <= 0.0 => f64::INFINITY,
            ohm => ohm,
        })
    }

    /// What it says of a cell, coming from this range, and the ranges that it may be on then.
    pub(super) fn cell(&self, from: usize, cell_ohm: f64, thermometer_ohm: f64) -> (Said, Ranges) {
        let mut range = from;
        let mut seen = Ranges::NONE;
        let mut round = [f64::NAN; 3];
        while !seen.has(range) {
            seen.add(range);
            let found = self.ohm(range, cell_ohm, thermometer_ohm);
            round[range] = found.unwrap_or(f64::NAN);
            let next = next_range(range, found.unwrap_or(f64::INFINITY));
            if next == range {
                let said = said(found, CELL_OHM);
                // Noise leads anywhere.
                let then = if said == Said::Anything { Ranges::ALL } else { Ranges::only(range) };
                return (said, then);
            }
            range = next;
        }
        (Said::Round(round), seen)
    }

    /// What it says of a thermometer.
    pub(super) fn thermometer(&self, cell_ohm: f64, thermometer_ohm: f64) -> Said {
        // The cell's switch is open meanwhile, so that nothing flows on another range.
        let switched = Self { is_closed: false, ..*self };
        said(switched.ohm(THERMOMETER, cell_ohm, thermometer_ohm), THERMOMETER_OHM)
    }
}

fn said(ohm: Option<f64>, (least, most): (f64, f64)) -> Said {
    match ohm {
        None => Said::Dead,
        Some(ohm) if ohm.is_nan() => Said::Anything,
        Some(ohm) if ohm < least => Said::Short,
        Some(ohm) if ohm > most => Said::Open,
        Some(ohm) => Said::Ohm(ohm),
    }
}

fn next_range(range: usize, ohm: f64) -> usize {
    let limit = |at: usize| if range > at { LEAVE_BELOW_OHM[at] } else { LEAVE_ABOVE_OHM[at] };
    match ohm {
        ohm if ohm > limit(1) => 2,
        ohm if ohm > limit(0) => 1,
        _ => 0,
    }
}
