//! What `rillmark demo` says to a person.

use std::fmt::Display;

/// Under `demo --help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark demo --dir demo

Nothing is needed but this program: probe, water and time are simulated, the firmware is the real
one. Afterwards try: rillmark replay demo/lake.session";
/// Said of everything that comes out of it.
pub const INVENTED: &str =
    "Invented data: a simulated probe in a lake that does not exist, with a shower of rain.";
/// Who calibrates.
pub const OPERATOR: &str = "demo (invented)";
/// Serials were given.
pub const EQUIPPED: &str = "Equipped with electrode E-17, cell K-3 and thermometer T-2.";
/// Something was lost over the power cycle.
pub const NOT_IDENTICAL: &str =
    "after the power cycle the probe does not keep what it kept before; please report this.";
/// The check standard has no value.
pub const CHECK_HAS_NO_VALUE: &str =
    "the check standard has no value at this temperature; please report this.";
/// No reading in the check standard.
pub const CHECK_QUIET: &str =
    "the probe sent no reading in the check standard; please report this.";
/// The check did not settle.
pub const CHECK_NOT_SETTLED: &str =
    "the reading in the check standard did not settle; please report this.";
/// Labels.
pub const CHECK_STANDARD: &str = "check standard";
/// Label.
pub const EXPECTED: &str = "expected";
/// Label.
pub const FOUND: &str = "found";
/// Label.
pub const WITHIN: &str = "within tolerance";
/// Label.
pub const IN_THE_LAKE: &str = "in the lake";
/// Label.
pub const LOWEST: &str = "lowest";
/// Label.
pub const MEAN: &str = "mean";
/// Label.
pub const HIGHEST: &str = "highest";
/// Label.
pub const TEMPERATURE: &str = "temperature, °C";
/// Label.
pub const PH: &str = "pH";
/// Label.
pub const SPECIFIC_CONDUCTANCE: &str = "specific conductance, µS/cm at 25 °C";
/// Label.
pub const FILE: &str = "file";
/// Label.
pub const BYTES: &str = "bytes";
/// Label.
pub const WHAT: &str = "what it is";
/// Yes.
pub const YES: &str = "yes";
/// No.
pub const NO: &str = "no";

/// The first line.
pub fn began(folder: &dyn Display, board: &dyn Display) -> String {
    format!("A new virtual probe, board {board}; its files go to {folder}.")
}

/// A calibration was done.
pub fn calibrated(brief: &str, short: &dyn Display) -> String {
    format!("Calibrated {brief} (record {short}).")
}

/// The power was cut.
pub fn power_cycled(boot: u32) -> String {
    format!("Power cycled: start {boot}, both records read back identical and in force.")
}

/// A check standard was read.
pub fn checked(standard: &str, expected: f64, found: f64, unit: &str) -> String {
    format!("Checked in {standard}: {found:.3} for {expected:.3} {unit}.")
}

/// The log was made.
pub fn logged(minutes: u64) -> String {
    format!("Logged {minutes} minutes in the invented lake.\n")
}

/// What the replay found.
pub fn replayed(readings: u64, mismatches: u64) -> String {
    if mismatches == 0 {
        format!(
            "Replayed {readings} readings: every value follows from its raw integers, to the bit."
        )
    } else {
        format!("Replayed {readings} readings: {mismatches} do not follow from their raw integers.")
    }
}

/// The files that are left.
pub fn files(folder: &dyn Display, table: &str) -> String {
    format!("Files in {folder}:\n{table}")
}

/// What a file is.
pub fn file(name: &str) -> &'static str {
    match name {
        "probe.flash" => "the probe's flash: use it with --port virtual:FILE",
        "calibration.txt" => "what the guided calibrations said",
        "lake.session" => "the session: the probe's frames, as they came",
        "lake.csv" => "the same readings for a spreadsheet",
        "replay.txt" => "what the replay found",
        name if name.ends_with(".record") => "a calibration record, as the probe keeps it",
        _ => "",
    }
}

/// A check reads off.
pub fn check_off(standard: &str) -> String {
    format!("the check in {standard} is outside its tolerance; please report this.")
}

/// The folder.
pub fn cannot_make_folder(path: &dyn Display, error: &dyn Display) -> String {
    format!("cannot make the folder {path}: {error}; name a new one with --dir DIR.")
}

/// A file.
pub fn cannot_write(path: &dyn Display, error: &dyn Display) -> String {
    format!("cannot write {path}: {error}; choose another place with --dir DIR.")
}

/// A file.
pub fn cannot_read(path: &dyn Display, error: &dyn Display) -> String {
    format!("cannot read {path}: {error}.")
}
