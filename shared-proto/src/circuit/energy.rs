//! What one full reading takes from the 3.3 V supply, in J, phase by phase.
//!
//! Supply currents are typical ones (recalled, not checked, see [`chips`]), currents through resistors
//! computed from the parts, durations those of the firmware. What the regulators before the 3.3 V lose
//! comes on top.

use super::{chips, network, parts, timing};

/// A stretch of a full reading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Phase {
    /// What is done.
    pub what: What,
    /// How long it takes, in s.
    pub seconds: f64,
    /// What the front end takes meanwhile, in A.
    pub front_end_a: f64,
}

/// What is done in a phase.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum What {
    /// Power on, everything settles.
    Settle,
    /// The electrode is read.
    Electrode,
    /// The thermometer is driven and read.
    Thermometer,
    /// The cell is driven and read.
    Cell,
}

impl Phase {
    /// What the front end takes in this phase, in J.
    pub fn front_end_j(&self) -> f64 {
        chips::SUPPLY_V * self.front_end_a * self.seconds
    }

    /// What the microcontroller board takes in this phase with this current, in J.
    pub fn board_j(&self, board_a: f64) -> f64 {
        chips::SUPPLY_V * board_a * self.seconds
    }
}

/// One average of conversions in s: 0.1.
const AVERAGE_S: f64 =
    (timing::CONVERSION_PERIOD_US * timing::CONVERSIONS_PER_AVERAGE as u64) as f64 * 1e-6;

/// Three taps at one frequency in s: 0.43.
const TAPS_S: f64 = timing::TAPS_US as f64 * 1e-6;

/// What the front end takes in A while its power is on, nothing converted or driven: amplifiers,
/// switches, the mid divider and the pull-up of the sensor power, which is held low.
const POWERED_A: f64 = chips::ELECTROMETER_SUPPLY_A
    + chips::FOLLOWERS_SUPPLY_A
    + chips::SWITCHES_SUPPLY_A
    + chips::SUPPLY_V / (parts::MID_UPPER.value + parts::MID_LOWER.value)
    + chips::SUPPLY_V / (parts::POWER_PULL_UP.value + parts::POWER_GATE.value);

/// What the drive takes more in A: the divider at its pin, and the current through a load with its way
/// back on this range resistor, which comes from the supply in either half period.
fn driven_a(resistor_ohm: f64, load_ohm: f64) -> f64 {
    let divider = chips::MID_V / (parts::DRIVE_SERIES.value + parts::DRIVE_TO_MID.value);
    divider + network::DRIVE_V / (resistor_ohm + load_ohm + chips::SWITCH_ON_OHM)
}

/// The phases of one full reading with a cell on the 1 kΩ range, which takes longest (three
/// frequencies), of the least resistance, and a Pt1000.
pub fn full_reading() -> [Phase; 4] {
    let converting = POWERED_A + chips::ADC_SUPPLY_A;
    let thermometer =
        driven_a(parts::THERMOMETER_REFERENCE.value, 1e3 + parts::THERMOMETER_RETURN.value);
    let cell = driven_a(parts::RANGE_1K.value, 20.0 + network::CELL_BACK_OHM);
    let frequencies = timing::FREQUENCIES_1K_HZ.len() as f64;
    [
        Phase {
            what: What::Settle,
            seconds: timing::WAIT_POWER_US as f64 * 1e-6,
            front_end_a: POWERED_A,
        },
        Phase {
            what: What::Electrode,
            seconds: f64::from(timing::FULL_PH_AVERAGES) * AVERAGE_S,
            front_end_a: converting,
        },
        Phase { what: What::Thermometer, seconds: TAPS_S, front_end_a: converting + thermometer },
        Phase {
            what: What::Cell,
            seconds: 2.0 * timing::WAIT_CELL_US as f64 * 1e-6 + frequencies * TAPS_S,
            front_end_a: converting + cell,
        },
    ]
}

/// Years for which the coin cell keeps the time of a board without power.
pub fn coin_cell_years() -> f64 {
    chips::COIN_CELL_AS / chips::CLOCK_BATTERY_A / (365.25 * 86_400.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: 1 + 0.2 + 0.03 + 3.3/20 + 3.3/11 = 1.695 mA for 2 s is 11.19 mJ; with the converter
    /// 1.895 mA for 0.5 s is 3.13 mJ; the thermometer adds 0.040 + 0.397/3.2 = 0.164 mA: 2.059 mA for
    /// 0.43 s is 2.92 mJ; the cell 0.040 + 0.397/1.32 = 0.340 mA: 2.235 mA for 1.39 s is 10.25 mJ.
    #[test]
    fn a_full_reading_takes_what_was_worked_out_by_hand() {
        let by_hand = [(2.0, 11.19), (0.5, 3.13), (0.43, 2.92), (1.39, 10.25)];
        for (phase, (seconds, mj)) in full_reading().iter().zip(by_hand) {
            assert!((phase.seconds - seconds).abs() < 1e-9, "{phase:?}");
            assert!((phase.front_end_j() * 1e3 - mj).abs() < 0.01, "{phase:?}");
        }
    }

    /// 220 mAh / 3 µA = 73 333 h.
    #[test]
    fn a_coin_cell_lasts_for_years() {
        assert!((coin_cell_years() - 8.37).abs() < 0.01, "{}", coin_cell_years());
    }
}
