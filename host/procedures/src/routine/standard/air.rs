//! What air and water do to a standard, always to the same side: a shift of its value, and a width.

use super::{Made, Planned};
use crate::routine::bottle::default_opened_limit;
use crate::routine::limits;
use rillmark_proto::record::{Quantity, Water};
use rillmark_proto::units::Celsius;

/// Carbon dioxide in mmol/L that a bottle takes up in a day at most. Half of it is air of a closed room
/// (1000 ppm), changed once a day: 0.04 mmol/L (computed, 24.5 L/mol); some more comes in while pouring.
const UPTAKE_MMOL_PER_L_DAY: f64 = 0.05;
/// What 1 mmol/L of it takes off an alkaline buffer in pH: borax 0.048, carbonate 0.051 at 25 °C
/// (REFERENCES 26; computed, as all below).
const FALL_PH_PER_MMOL_L: f64 = 0.05;
/// The same of a strong alkali: saturated calcium hydroxide 0.019.
const CAUSTIC_FALL_PH_PER_MMOL_L: f64 = 0.02;
/// What air takes off an alkaline buffer in the end, in pH: borax 0.29, carbonate 0.24 at 420 ppm.
const MOST_FALL_PH: f64 = 0.29;

/// Conductivity in µS/cm of water that took up the air's carbon dioxide, from 0 to 50 °C: a line through the
/// column of CRC Handbook, p. 5-73 (REFERENCES 6; seen), within 0.01 of it.
fn of_air_us_cm(celsius: f64) -> f64 {
    0.58 + 0.0206 * celsius
}

/// A closed room has more carbon dioxide than that air: at 2000 ppm twice as much is dissolved
/// (REFERENCES 26; computed).
const CLOSED_ROOM: f64 = 2.0;

/// For how long a standard has been open to the air.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Open {
    /// Since today.
    Fresh,
    /// Since an earlier day, so many days ago.
    Days(u16),
    /// Nobody said since when: for anything up to the days that an open bottle of its kind is used.
    UpTo(u16),
}

impl Open {
    /// Days at most.
    pub const fn most_days(self) -> u16 {
        match self {
            Self::Fresh => 0,
            Self::Days(days) | Self::UpTo(days) => days,
        }
    }
}

/// Something between nothing and this much is added, in the unit of the value: each part of it is as
/// likely as the other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct OneSided {
    /// The most; negative for what is taken off.
    pub most: f64,
}

impl OneSided {
    /// What is added on average.
    pub fn shift(self) -> f64 {
        self.most / 2.0
    }

    /// The standard uncertainty of that: a rectangle from nothing to the most (JCGM 100:2008, 4.3.7).
    pub fn standard_uncertainty(self) -> f64 {
        super::rectangle(libm::fabs(self.most) / 2.0)
    }
}

impl Planned {
    /// For how long it has been open, on a day counted from 1970-01-01.
    pub fn open(&self, today: i64) -> Open {
        let since = match self.made {
            Made::Sachet(dissolved) => Some(dissolved.days),
            Made::Bought | Made::Weighed => self.opened_days,
        };
        let days = since.map(|day| today.saturating_sub(i64::from(day)));
        let unknown =
            || Open::UpTo(self.opened_limit_days.unwrap_or(default_opened_limit(self).value));
        match days {
            Some(days @ 1..) => Open::Days(u16::try_from(days).unwrap_or(u16::MAX)),
            // A day is counted in UTC, so one that begins in the east is a day ahead.
            Some(-1..=0) => Open::Fresh,
            // What lies in the future is no day to count from.
            Some(_) => unknown(),
            None if self.single_use => Open::Fresh,
            None => unknown(),
        }
    }

    /// What air and water have added to it on a day counted from 1970-01-01, in the unit of its value:
    /// carbon dioxide takes pH off an alkaline buffer, and adds to a conductivity standard what water
    /// conducts with it.
    pub fn added(&self, at: Celsius, today: i64) -> OneSided {
        let open = self.open(today);
        let most = match (self.source.quantity(), self.source.near_25()) {
            (Quantity::Ph, Some(ph)) if ph > limits::ALKALINE_PH.value => {
                let (_, caustic) = limits::CAUSTIC_PH.value;
                let fall =
                    if ph > caustic { CAUSTIC_FALL_PH_PER_MMOL_L } else { FALL_PH_PER_MMOL_L };
                let taken_up = UPTAKE_MMOL_PER_L_DAY * f64::from(open.most_days());
                -libm::fmin(fall * taken_up, MOST_FALL_PH)
            }
            (Quantity::Conductivity, Some(us_cm)) => {
                let weak = us_cm < limits::WEAK_STANDARD_US_CM.value;
                let times = match (self.made, open) {
                    // A maker's value is that of the closed bottle.
                    (Made::Bought, Open::Fresh) => 0.0,
                    (Made::Bought, _) if !weak => 0.0,
                    (Made::Sachet(sachet), Open::Fresh) if sachet.water == Water::Boiled => 1.0,
                    _ => CLOSED_ROOM,
                };
                times * of_air_us_cm(at.get())
            }
            _ => 0.0,
        };
        OneSided { most }
    }
}
