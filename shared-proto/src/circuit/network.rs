//! What follows from the parts by arithmetic.

use super::{chips, parts};

/// Amplitude of the drive about mid in V: mid through [`parts::DRIVE_SERIES`] and
/// [`parts::DRIVE_TO_MID`], 1.65 · 10 / 41.6 = 0.397.
pub const DRIVE_V: f64 = chips::MID_V * parts::DRIVE_TO_MID.value
    / (parts::DRIVE_SERIES.value + parts::DRIVE_TO_MID.value);

/// The two blocking capacitors in series, in F: 6.9 µF.
pub const BLOCKING_F: f64 = parts::BLOCKING_DRIVE.value * parts::BLOCKING_RETURN.value
    / (parts::BLOCKING_DRIVE.value + parts::BLOCKING_RETURN.value);

/// From the cell's bottom to mid, in Ω: a typical switch, and the resistor before it.
pub const CELL_BACK_OHM: f64 = chips::SWITCH_ON_OHM + parts::CELL_RETURN.value;

/// Part of a period for which a gate is open: the centre half of a half period.
pub const GATE_DUTY: f64 = 0.25;

/// Time constant of a hold in s while its gate opens for [`GATE_DUTY`]: 4.7 kΩ · 100 nF / ¼ =
/// 1.88 ms.
pub const HOLD_S: f64 = parts::HOLD_PLUS.value * parts::HOLD_PLUS_CAPACITOR.value / GATE_DUTY;

/// The most that the converter's input takes from the electrode's voltage through the two filter
/// resistors, as a fraction: 2 kΩ of 710 kΩ. The converter loads its input only while it converts, so
/// anything between this and nothing is possible; a constant, it falls to the slope of a calibration.
pub const ELECTRODE_LOAD: f64 =
    (parts::ELECTRODE_FILTER.value + parts::MID_FILTER.value) / chips::ADC_INPUT_OHM;

/// One code of the converter in V where taps are read: 31.25 µV.
pub const TAP_CODE_V: f64 = chips::ADC_TAPS_V / chips::ADC_CODES;

/// One code of the converter in V where the electrode is read: 15.625 µV.
pub const ELECTRODE_CODE_V: f64 = chips::ADC_ELECTRODE_V / chips::ADC_CODES;
