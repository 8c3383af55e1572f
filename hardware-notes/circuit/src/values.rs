//! The tables' values as parameters of a deck: parts by their designators, the rest by name.

use std::fmt::Write as _;

use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::{chips, network, parts};

/// What a deck calls a figure of the chips or surroundings.
const NAMED: &[(&str, f64)] = &[
    ("supply", chips::SUPPLY_V),
    ("mid", chips::MID_V),
    ("drive", network::DRIVE_V),
    ("bias", chips::ELECTROMETER_BIAS_A),
    ("electrometer_offset", chips::ELECTROMETER_OFFSET_V),
    ("follower_offset", chips::FOLLOWER_OFFSET_V),
    ("amplifier_hz", chips::AMPLIFIER_BANDWIDTH_HZ),
    ("amplifier_slew", chips::AMPLIFIER_SLEW_V_PER_S),
    ("amplifier_out", chips::AMPLIFIER_OUTPUT_OHM),
    ("electrometer_cm", chips::ELECTROMETER_COMMON_MODE),
    ("follower_cm", chips::FOLLOWER_COMMON_MODE),
    ("switch_on", chips::SWITCH_ON_OHM),
    // A switch that leaks as much as it may, with the whole supply across it.
    ("switch_open", chips::SUPPLY_V / chips::SWITCH_LEAKAGE_A),
    ("injection", chips::GATE_INJECTION_F),
    ("switch_leakage", chips::SWITCH_LEAKAGE_A),
    ("adc_input", chips::ADC_INPUT_OHM),
    ("glass_cable", surroundings::ELECTRODE_CABLE_F),
    ("input_stray", surroundings::INPUT_STRAY_F),
    ("screen", surroundings::REFERENCE_CABLE_F),
    ("to_top", surroundings::TO_REFERENCE[0]),
    ("to_bottom", surroundings::TO_REFERENCE[1]),
    // The drive goes from one side to the other at its follower's slew rate.
    ("edge", 2.0 * network::DRIVE_V / chips::AMPLIFIER_SLEW_V_PER_S),
];

/// One parameter.
pub(crate) fn line(name: &str, value: f64) -> String {
    format!(".param {name}={value:e}\n")
}

/// All of them: `R8` is the value of the part R8.
pub(crate) fn of_tables() -> String {
    let mut text = String::new();
    for part in parts::ALL {
        let _ = write!(text, "{}", line(&part.designator.to_lowercase(), part.value));
    }
    for (name, value) in NAMED {
        let _ = write!(text, "{}", line(name, *value));
    }
    text
}
