//! Every resistor and capacitor of the front end, once.

use core::fmt;

/// What a part's value counts in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Ω.
    Ohm,
    /// F.
    Farad,
}

/// A resistor or capacitor: its place in the drawings, its value and how far it may be off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part {
    /// Its name in the drawings, such as `R8`.
    pub designator: &'static str,
    /// What it does.
    pub meaning: &'static str,
    /// Its nominal value, in Ω or F.
    pub value: f64,
    /// What the value counts in.
    pub unit: Unit,
    /// Greatest deviation from nominal at 25 °C, as a fraction (its class by the data sheet).
    pub tolerance: f64,
    /// Greatest change with temperature, as a fraction per K; zero where nothing depends on it.
    pub drift_per_k: f64,
}

/// The value as it is written beside a part: `31.6 kΩ`, `22 µF`.
impl fmt::Display for Part {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (scales, unit): (&[(f64, &str)], _) = match self.unit {
            Unit::Ohm => (&[(1e6, "M"), (1e3, "k"), (1.0, "")], "Ω"),
            Unit::Farad => (&[(1e-6, "µ"), (1e-9, "n"), (1e-12, "p")], "F"),
        };
        // A capacitor of 100 nF may be a bit less than 1e-9 times a hundred.
        let fits = |&&(scale, _): &&(f64, &str)| self.value / scale > 0.999;
        let (scale, prefix) = scales.iter().find(fits).unwrap_or(&scales[scales.len() - 1]);
        write!(f, "{} {prefix}{unit}", libm::round(self.value / scale * 1e3) / 1e3)
    }
}

const fn ohm(
    designator: &'static str,
    meaning: &'static str,
    value: f64,
    tolerance: f64,
    drift_per_k: f64,
) -> Part {
    Part { designator, meaning, value, unit: Unit::Ohm, tolerance, drift_per_k }
}

const fn farad(
    designator: &'static str,
    meaning: &'static str,
    value: f64,
    tolerance: f64,
) -> Part {
    Part { designator, meaning, value, unit: Unit::Farad, tolerance, drift_per_k: 0.0 }
}

macro_rules! parts {
    ($($name:ident = $part:expr;)*) => {
        $(#[doc = concat!("See [`ALL`]: `", stringify!($name), "`.")] pub const $name: Part = $part;)*
        /// Every part, in the order of the drawings.
        pub const ALL: &[Part] = &[$($name),*];
    };
}

parts! {
    // pH.
    INPUT_PROTECTION = ohm("R1", "in series with the glass electrode", 1e6, 0.05, 0.0);
    INPUT_CAPACITOR = farad("C1", "behind R1 to the reference electrode, C0G", 100e-12, 0.05);
    ELECTRODE_FILTER = ohm("R2", "electrometer's output to converter input 0", 1e3, 0.01, 0.0);
    MID_FILTER = ohm("R3", "mid to converter input 1", 1e3, 0.01, 0.0);
    ELECTRODE_FILTER_CAPACITOR = farad("C2", "at converter input 0", 10e-6, 0.2);
    MID_FILTER_CAPACITOR = farad("C3", "at converter input 1", 10e-6, 0.2);
    // Mid: half the supply.
    MID_UPPER = ohm("R4", "supply to the mid divider", 10e3, 0.01, 0.0);
    MID_LOWER = ohm("R5", "mid divider to ground", 10e3, 0.01, 0.0);
    // Drive.
    DRIVE_SERIES = ohm("R6", "drive pin to the drive's follower", 31.6e3, 0.01, 0.0);
    DRIVE_TO_MID = ohm("R7", "drive's follower to mid", 10e3, 0.01, 0.0);
    BLOCKING_DRIVE = farad("C4", "blocks DC on the drive's side of the cell", 10e-6, 0.2);
    BLOCKING_RETURN = farad("C5", "blocks DC on the return's side of the cell", 22e-6, 0.2);
    // Ranges and thermometer.
    RANGE_1K = ohm("R8", "range resistor for cells of 20 Ω to 2 kΩ", 1e3, 0.001, 25e-6);
    RANGE_10K = ohm("R9", "range resistor for cells of 2 kΩ to 20 kΩ", 10e3, 0.001, 25e-6);
    RANGE_100K = ohm("R10", "range resistor for cells of 20 kΩ to 200 kΩ", 100e3, 0.001, 25e-6);
    THERMOMETER_REFERENCE = ohm("R11", "reference resistor of the thermometer", 2e3, 0.001, 10e-6);
    // Hold.
    HOLD_PLUS = ohm("R12", "positive gate to its hold capacitor", 4.7e3, 0.01, 0.0);
    HOLD_MINUS = ohm("R13", "negative gate to its hold capacitor", 4.7e3, 0.01, 0.0);
    HOLD_PLUS_CAPACITOR = farad("C6", "hold of the positive half period, converter input 2", 100e-9, 0.05);
    HOLD_MINUS_CAPACITOR = farad("C7", "hold of the negative half period, converter input 3", 100e-9, 0.05);
    // Supply.
    SUPPLY_FILTER = ohm("R14", "3.3 V to the front end's supply", 10.0, 0.05, 0.0);
    POWER_PULL_UP = ohm("R15", "keeps the sensor power off while its pin floats", 10e3, 0.05, 0.0);
    POWER_GATE = ohm("R16", "sensor power's pin to the transistor's gate", 1e3, 0.05, 0.0);
    SUPPLY_CAPACITOR = farad("C8", "front end's supply", 10e-6, 0.2);
    SWITCHED_CAPACITOR = farad("C9", "switched supply", 1e-6, 0.2);
    POWER_SLOW = farad("C10", "gate to source: the switched supply rises slowly", 100e-9, 0.2);
    MID_CAPACITOR = farad("C11", "at the mid divider", 10e-6, 0.2);
    // What leads outdoors.
    REFERENCE_PROTECTION = ohm("R17", "in series with the reference electrode", 1e3, 0.05, 0.0);
    CELL_TOP_PROTECTION = ohm("R18", "cell's top to its tap", 1e3, 0.05, 0.0);
    CELL_BOTTOM_PROTECTION = ohm("R19", "cell's bottom to its tap", 1e3, 0.05, 0.0);
    THERMOMETER_TOP_PROTECTION = ohm("R20", "thermometer's top to its tap", 1e3, 0.05, 0.0);
    THERMOMETER_BOTTOM_PROTECTION = ohm("R21", "thermometer's bottom to its tap", 1e3, 0.05, 0.0);
    // What holds lines while the microcontroller's pins float.
    CELL_PULL_DOWN = ohm("R22", "keeps the cell's return open", 100e3, 0.05, 0.0);
    GATE_PLUS_PULL_DOWN = ohm("R23", "keeps the positive gate shut", 100e3, 0.05, 0.0);
    GATE_MINUS_PULL_DOWN = ohm("R24", "keeps the negative gate shut", 100e3, 0.05, 0.0);
    I2C_DATA_PULL_UP = ohm("R25", "I2C data to 3.3 V", 4.7e3, 0.05, 0.0);
    I2C_CLOCK_PULL_UP = ohm("R26", "I2C clock to 3.3 V", 4.7e3, 0.05, 0.0);
    ALARM_PULL_UP = ohm("R27", "alarm of the clock chip to 3.3 V", 10e3, 0.05, 0.0);
    // Leakage of 20 nA raises a cell that no reference electrode holds by 0.2 V, or by 0.6 V when it is
    // measured for a third of the time (computed), so that a drive of 0.4 V stays between the rails.
    // Less would pass more direct current through the cell than the switches may leak.
    CELL_TO_MID = ohm("R28", "holds a cell at mid while it is measured", 10e6, 0.05, 0.0);
    // Keep what a cable weighs apart from mid's amplifier, and a surge from the switch. Outside the taps.
    THERMOMETER_RETURN = ohm("R29", "mid to the thermometer's bottom", 100.0, 0.05, 0.0);
    CELL_RETURN = ohm("R30", "cell's bottom to its return", 100.0, 0.05, 0.0);
    // What C1 lets through of a discharge into the reference's shell.
    ELECTROMETER_PROTECTION = ohm("R31", "from R1 and C1 to the electrometer's input", 10e3, 0.05, 0.0);
    // At the supply pins of the chips.
    DECOUPLING_U1 = farad("C12", "decouples U1", 100e-9, 0.2);
    DECOUPLING_U2 = farad("C13", "decouples U2", 100e-9, 0.2);
    DECOUPLING_U3 = farad("C14", "decouples U3", 100e-9, 0.2);
    DECOUPLING_U4 = farad("C15", "decouples U4", 100e-9, 0.2);
    DECOUPLING_U5 = farad("C16", "decouples U5", 100e-9, 0.2);
    DECOUPLING_U6 = farad("C17", "decouples U6", 100e-9, 0.2);
    DECOUPLING_U7 = farad("C18", "decouples U7", 100e-9, 0.2);
}

#[cfg(test)]
mod tests {
    use alloc::string::ToString;

    use super::*;

    extern crate alloc;

    #[test]
    fn values_are_written_as_beside_a_part() {
        let written = [
            (INPUT_PROTECTION, "1 MΩ"),
            (DRIVE_SERIES, "31.6 kΩ"),
            (HOLD_PLUS, "4.7 kΩ"),
            (SUPPLY_FILTER, "10 Ω"),
            (BLOCKING_RETURN, "22 µF"),
            (SWITCHED_CAPACITOR, "1 µF"),
            (HOLD_PLUS_CAPACITOR, "100 nF"),
            (INPUT_CAPACITOR, "100 pF"),
        ];
        for (part, text) in written {
            assert_eq!(part.to_string(), text);
        }
    }

    #[test]
    fn designators_are_counted_without_gap_or_repetition() {
        for letter in ['R', 'C'] {
            let of_it = ALL.iter().filter(|part| part.designator.starts_with(letter));
            for (at, part) in of_it.enumerate() {
                assert_eq!(part.designator[1..], (at + 1).to_string(), "{}", part.meaning);
            }
        }
    }
}
