//! The resistance thermometer, measured against its reference resistor.

use super::taps::Taps;
use crate::constants::{
    FREQUENCY_THERMOMETER_HZ, THERMOMETER_OPEN_ABOVE_OHM, THERMOMETER_REFERENCE_OHM,
    THERMOMETER_SHORT_BELOW_OHM,
};

pub(super) const FREQUENCY_HZ: u32 = FREQUENCY_THERMOMETER_HZ;

/// What the thermometer reads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Thermometer {
    /// Its resistance in mΩ, rounded to nearest.
    Milliohm(u32),
    /// An open circuit, or no drive to measure with.
    Open,
    /// A short circuit.
    Short,
}

impl Thermometer {
    /// From the three taps.
    pub fn of(taps: &Taps) -> Self {
        match taps.load_ohm(THERMOMETER_REFERENCE_OHM) {
            Some(ohm) if ohm < THERMOMETER_SHORT_BELOW_OHM => Self::Short,
            Some(ohm) if ohm <= THERMOMETER_OPEN_ABOVE_OHM => {
                // 5 kΩ at most: 5 000 000 mΩ.
                Self::Milliohm(libm::round(ohm * 1_000.0) as u32)
            }
            _ => Self::Open,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::taps::tests::taps;
    use super::*;

    #[test]
    fn resistance_open_and_short() {
        // Pt1000 at 0, 100 and 150 °C: IEC 60751:2022, table 1 (ten times the Pt100), MEMORY.
        for ohm in [1_000.0, 1_385.1, 1_573.3] {
            let Thermometer::Milliohm(found) = Thermometer::of(&taps(2_000.0, ohm)) else {
                panic!("{ohm} Ω is a resistance")
            };
            assert!((f64::from(found) - ohm * 1_000.0).abs() <= 2.0, "{found} mΩ");
        }
        assert_eq!(Thermometer::of(&taps(2_000.0, 1e7)), Thermometer::Open);
        assert_eq!(Thermometer::of(&taps(2_000.0, 0.5)), Thermometer::Short);
        let dead = Taps { h: Default::default(), a: Default::default(), b: Default::default() };
        assert_eq!(Thermometer::of(&dead), Thermometer::Open);
    }
}
