//! What one full reading takes, in J, phase by phase; what is taken between two of them, and how long a pack of
//! cells lasts.
//!
//! Supply currents are typical ones (see [`chips`]), currents through resistors computed from the parts,
//! durations those of the firmware, whose board is awake all the time. The board is counted at the voltage at
//! which its current was measured, its regulator within; what that loses for the front end comes on top, and
//! [`USABLE`] leaves room for it.

use rillmark_proto::circuit::{chips, network, parts, timing};

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
    /// What the front end takes in this phase from its 3.3 V, in J.
    pub fn front_end_j(&self) -> f64 {
        chips::SUPPLY_V * self.front_end_a * self.seconds
    }

    /// What the microcontroller board takes in this phase before its regulator, in J.
    pub fn board_j(&self) -> f64 {
        BOARD_AWAKE_W * self.seconds
    }
}

/// Something to run a board from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pack {
    /// What it is.
    pub what: &'static str,
    /// Its charge in A·s.
    pub charge_as: f64,
    /// Its voltage in V, as a mean over its discharge.
    pub volts: f64,
}

/// What the microcontroller board takes, in W: its current at the 5 V of USB, where it was measured (seen).
pub const BOARD_AWAKE_W: f64 = 5.0 * chips::BOARD_AWAKE_A;

/// Packs that suit the board's 1.8 to 5.5 V, fresh ones too. Charges are those of a slow discharge at room
/// temperature, at a mean of 1.2 V an alkaline cell (recalled, not checked).
pub const PACKS: [Pack; 3] = [
    Pack { what: "three AA alkaline cells, 2.5 Ah", charge_as: 2.5 * 3_600.0, volts: 3.6 },
    Pack { what: "three D alkaline cells, 12 Ah", charge_as: 12.0 * 3_600.0, volts: 3.6 },
    Pack { what: "USB power bank, 10 Ah at 3.7 V", charge_as: 10.0 * 3_600.0, volts: 3.7 },
];

/// What is left of a pack's energy, after cold and regulators, as a fraction (judgement).
pub const USABLE: f64 = 2.0 / 3.0;

/// What the front end takes from 3.3 V between two full readings, the sensor power off, in A: the switches, the
/// converter asleep, the clock chip.
pub const BETWEEN_A: f64 = chips::SWITCHES_SUPPLY_A + chips::ADC_ASLEEP_A + chips::CLOCK_SUPPLY_A;

/// Days for which a pack feeds a board that takes a full reading every so many s, at least as many as one
/// takes; infinite for none at all.
pub fn days(pack: &Pack, every_s: f64) -> f64 {
    let phases = full_reading();
    let clock_w = chips::SUPPLY_V * chips::CLOCK_SUPPLY_A;
    let reading_j: f64 =
        phases.iter().map(|it| it.front_end_j() + it.board_j() + clock_w * it.seconds).sum();
    let reading_s: f64 = phases.iter().map(|it| it.seconds).sum();
    let between_w = BOARD_AWAKE_W + chips::SUPPLY_V * BETWEEN_A;
    let mean_w = between_w + (reading_j - between_w * reading_s) / libm::fmax(every_s, reading_s);
    USABLE * pack.charge_as * pack.volts / mean_w / 86_400.0
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

    /// By hand: 1.5 + 0.2 + 0.03 + 3.3/20 + 3.3/11 = 2.195 mA for 2 s is 14.49 mJ; with the converter
    /// 2.395 mA for 0.5 s is 3.95 mJ; the thermometer adds 0.040 + 0.397/3.2 = 0.164 mA: 2.559 mA for
    /// 0.43 s is 3.63 mJ; the cell 0.040 + 0.397/1.32 = 0.340 mA: 2.735 mA for 1.39 s is 12.55 mJ.
    #[test]
    fn a_full_reading_takes_what_was_worked_out_by_hand() {
        let by_hand = [(2.0, 14.49), (0.5, 3.95), (0.43, 3.63), (1.39, 12.55)];
        for (phase, (seconds, mj)) in full_reading().iter().zip(by_hand) {
            assert!((phase.seconds - seconds).abs() < 1e-9, "{phase:?}");
            assert!((phase.front_end_j() * 1e3 - mj).abs() < 0.01, "{phase:?}");
        }
    }

    /// By hand: 20 mA of 5 V are 100 mW, 0.03 + 0.002 + 0.1 = 0.132 mA of 3.3 V 0.436 mW; two thirds of
    /// 2.5 Ah · 3.6 V are 21.6 kJ, for 215.1 ks = 2.489 days. A reading a minute adds the front end's 34.62 mJ,
    /// less 0.46 mJ that switches and sleeping converter take in its 4.32 s anyway: 0.569 mW, 101.00 mW,
    /// 2.475 days.
    #[test]
    fn three_cells_last_for_days_with_a_board_that_never_sleeps() {
        assert!((days(&PACKS[0], f64::INFINITY) - 2.489).abs() < 0.001, "{}", days(&PACKS[0], 1e9));
        assert!((days(&PACKS[0], 60.0) - 2.475).abs() < 0.001, "{}", days(&PACKS[0], 60.0));
        // Reading after reading, and no faster than that.
        assert_eq!(days(&PACKS[0], 0.0), days(&PACKS[0], 4.32));
    }

    /// 220 mAh / 3 µA = 73 333 h.
    #[test]
    fn a_coin_cell_lasts_for_years() {
        assert!((coin_cell_years() - 8.37).abs() < 0.01, "{}", coin_cell_years());
    }
}
