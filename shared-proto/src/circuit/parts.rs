//! Every part of the front end whose value matters, once.

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
    INPUT_CAPACITOR = farad("C1", "from the electrometer's input to mid, C0G", 100e-12, 0.05);
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
    BLOCKING_DRIVE = farad("C4", "blocks DC on the drive's side of the cell", 22e-6, 0.2);
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
}
