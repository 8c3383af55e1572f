//! What a reading is worth, in words.

use rillmark_metrology::assess::Remark;
use rillmark_metrology::motion::State;
use rillmark_proto::record::Quantity;

/// The name that machine-readable output gives a state.
pub const fn state_code(state: State) -> &'static str {
    match state {
        State::Steady => "steady",
        State::Moving => "moving",
        State::Changing => "changing",
        State::NotKnown => "not-known",
    }
}

/// The mark behind a value in a table.
pub const fn mark(state: State) -> char {
    match state {
        State::Steady => ' ',
        State::Moving => '~',
        State::Changing => '>',
        State::NotKnown => '?',
    }
}

/// What the marks mean, below the table's heading.
pub const MARKS: &str = "\
Behind a value: ? too few readings to tell (U is then at least ≥), ~ moving,
> the water is changing. Without a mark the number stands still, which does not
mean that it is right.";

/// How many readings were in each state, as far as any were.
pub fn counts(steady: u64, moving: u64, changing: u64, not_known: u64) -> String {
    let all =
        [(steady, "steady"), (moving, "moving"), (changing, "changing"), (not_known, "not known")];
    let some: Vec<_> = all
        .iter()
        .filter(|(count, _)| *count > 0)
        .map(|(count, name)| format!("{count} {name}"))
        .collect();
    some.join(", ")
}

/// A remark while readings come.
pub fn said(sentence: &str) -> String {
    format!("note: {sentence}")
}

/// What `--junction` takes.
pub const JUNCTION_FORM: &str = "give the standard uncertainty that `rillmark stir-check` printed, a pH between 0 and 2, as in 0.06";

/// Labels of those counts.
pub const PH: &str = "pH";
/// Of the temperature.
pub const TEMPERATURE: &str = "temperature";
/// Of both conductivities.
pub const CONDUCTIVITY: &str = "conductivity";

/// A remark on so many of the readings.
pub fn on_readings(sentence: &str, count: u64) -> String {
    match count {
        1 => format!("{sentence} (1 reading)"),
        n => format!("{sentence} ({n} readings)"),
    }
}

const fn calibration_of(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Ph => "pH calibration",
        Quantity::Conductivity => "conductivity calibration",
        Quantity::Temperature => "thermometer's calibration",
    }
}

const fn command(quantity: Quantity) -> &'static str {
    match quantity {
        Quantity::Ph => "ph",
        Quantity::Conductivity => "conductivity",
        Quantity::Temperature => "temperature",
    }
}

/// A remark in one or two sentences.
pub fn sentence(remark: &Remark) -> String {
    match *remark {
        Remark::OutsideBuffers { beyond_ph, buffer_ph } => format!(
            "The pH lies {:.1} {} the calibration's outermost buffer ({buffer_ph:.2}): nobody has seen \
             that the electrode is straight there. Calibrate with a buffer near it.",
            beyond_ph.abs(),
            if beyond_ph > 0.0 { "above" } else { "below" },
        ),
        Remark::OutsideStandards { times, standard_us_cm } if times > 1.0 => format!(
            "The conductivity is {times:.0} times that of the calibration's strongest standard \
             ({standard_us_cm:.0} µS/cm). Calibrate with one near it."
        ),
        Remark::OutsideStandards { times, standard_us_cm } => format!(
            "The conductivity is {:.1} % of that of the calibration's weakest standard \
             ({standard_us_cm:.0} µS/cm). Calibrate with one near it, or with --zero-in-air.",
            100.0 * times.max(0.0)
        ),
        Remark::AlkalineError { up_to_ph, sodium_mol_kg } => {
            let up_to = match up_to_ph {
                Some(up_to) => format!("by up to {up_to:.2}"),
                None => "with no end that the model knows".to_owned(),
            };
            format!(
                "Glass reads low in alkali: the true pH may be higher, {up_to}, besides the ± \
                 ({sodium_mol_kg:.2} mol/kg sodium assumed, glass unknown; model and constant recalled, \
                 not checked)."
            )
        }
        Remark::AcidError => {
            "Glass reads high in strong acid: the true pH may be lower, besides the ±; nobody knows by \
             how much."
                .to_owned()
        }
        Remark::UnlikeBuffers { ionic_strength_mol_kg } => format!(
            "The water's ionic strength (about {ionic_strength_mol_kg:.2} mol/kg) is unlike the buffers': \
             this pH is on their scale, not on the total scale of seawater."
        ),
        Remark::AcidWater { high_percent } => format!(
            "Acid water: hydrogen ions conduct otherwise than the compensation assumes, and the specific \
             conductance is about {:.0} % too {}, besides the ±.",
            high_percent.abs(),
            if high_percent > 0.0 { "high" } else { "low" }
        ),
        Remark::NotSettled => {
            "The electrode had not come to rest since its power came on or something was driven (cold, dry or \
             clogged glass, or a pH that moves fast): nobody can say how far off this pH is. Take it from a \
             reading without the flag not-settled."
                .to_owned()
        }
        Remark::CellChanged => {
            "The supply or the cell changed by a step while the cell was read, and again when it was read once more: \
             nobody can say how far off these conductivities are. Take them from a reading without the flag \
             cell-changed; where it comes again and again, look for a bubble, a loose contact, or a load that \
             switches on the same supply."
                .to_owned()
        }
        Remark::RecordMissing { quantity } => format!(
            "The record of the {} is not to be had: nobody can say how far the value holds.",
            calibration_of(quantity)
        ),
        Remark::VerificationFailed { quantity } => format!(
            "The last verification of the {} failed, and U holds what it found. Run `rillmark calibrate {}`.",
            calibration_of(quantity),
            command(quantity)
        ),
        Remark::Overdue { quantity, days } => format!(
            "The {} is overdue by {}. Run `rillmark calibrate {}`.",
            calibration_of(quantity),
            duration(days),
            command(quantity)
        ),
        Remark::CalibratedLater { quantity, days } => format!(
            "The {} lies {} in the clock's future: its age is not known, and U holds no drift. Check this \
             computer's clock.",
            calibration_of(quantity),
            duration(days)
        ),
        Remark::NoClock => "Nobody knows when the readings were taken: the calibrations' age is not known, \
             and U holds no drift."
            .to_owned(),
    }
}

/// A number of days.
fn duration(days: f64) -> String {
    match days {
        ..0.095 => format!("{:.0} min", days * 1440.0),
        0.095..1.95 => format!("{:.0} h", days * 24.0),
        _ => format!("{days:.0} days"),
    }
}
