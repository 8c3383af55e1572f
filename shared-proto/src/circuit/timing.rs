//! When the front end is driven and read: what the firmware keeps and the budget counts with.

/// From one triggered conversion to the next, in µs.
pub const CONVERSION_PERIOD_US: u64 = 2_000;
/// Conversions in one average.
pub const CONVERSIONS_PER_AVERAGE: u32 = 50;
/// Averages in one pH reading of pH-only sampling, the shortest that there is.
pub const PH_AVERAGES: u32 = 2;

/// Drive frequencies of the 1 kΩ range in Hz, highest first.
pub const FREQUENCIES_1K_HZ: [u32; 3] = [8_000, 4_000, 2_000];
/// Least ratio of the steps of a resistance from octave to octave that is taken for polarisation, and extrapolated:
/// below it 8 kHz is taken as it stands (judgement).
pub const LEAST_TREND_RATIO: f64 = 1.2;
/// Drive frequency of the 10 kΩ range in Hz.
pub const FREQUENCY_10K_HZ: u32 = 2_030;
/// Drive frequency of the 100 kΩ range in Hz.
pub const FREQUENCY_100K_HZ: u32 = 220;
/// Drive frequency of the thermometer in Hz.
pub const FREQUENCY_THERMOMETER_HZ: u32 = 2_030;

/// From sensor power on to the first conversion, in µs.
pub const WAIT_POWER_US: u64 = 2_000_000;
/// After a tap change, in µs.
pub const WAIT_TAP_US: u64 = 20_000;
/// After a range or frequency change, in µs.
pub const WAIT_RANGE_US: u64 = 50_000;
/// With the cell closed at mid before the drive starts and after it stops, in µs.
pub const WAIT_CELL_US: u64 = 50_000;
/// Averages in the pH of a full reading.
pub const FULL_PH_AVERAGES: u32 = 5;
/// Conversions of an outer tap before the middle one, and as many after it.
pub const HALF_CONVERSIONS: u32 = CONVERSIONS_PER_AVERAGE / 2;

/// From a change of range or frequency to the end of its taps, in µs: the middle one in one average, two in
/// halves about it.
pub const TAPS_US: u64 =
    WAIT_RANGE_US + 4 * WAIT_TAP_US + 3 * CONVERSIONS_PER_AVERAGE as u64 * CONVERSION_PERIOD_US;

/// By how many codes the halves of the outer taps may differ by anything but an even change of the drive before the cell
/// is read again or flagged: 3.5 times their noise at 20 Ω (computed), …
pub const UNEVEN_CODES: f64 = 1.5;
/// … and this part of the load's codes besides: stirred water is not as even (judgement).
pub const UNEVEN_PART: f64 = 1e-4;
/// By how many codes the hot end may move while it is read: a supply that wanders as the budget has it moves it by
/// 3.2 codes in the 50 ms between the middles of its parts (computed), noise by 0.2.
pub const UNEVEN_H_CODES: f64 = 4.5;

/// Averages that say whether the electrode stands still.
pub const STILL_AVERAGES: usize = 5;
/// The most that they move by while it does, from the first two to the last two, in nV.
pub const STILL_NV: i64 = 24_000;
/// The longest that a full reading takes from the end of its waits until they do, in µs.
pub const STILL_LONGEST_US: u64 = 9_000_000;

/// How often one reading of the cell goes over to another range, or takes taps once more because the drive or
/// the cell changed meanwhile, both together: from one end of the ranges to the other, and back on a board whose
/// resistors are mixed up.
pub const AGAIN_MOST: usize = 3;

/// The longest that a full reading takes from power on, in µs: the electrode does not come to rest, a contact
/// of the thermometer comes or goes, so that it is read twice, and the cell is found on the last of three
/// ranges, which has three frequencies.
pub const LONGEST_READING_US: u64 = WAIT_POWER_US
    + STILL_LONGEST_US
    + 2 * TAPS_US
    + 2 * WAIT_CELL_US
    + (AGAIN_MOST + FREQUENCIES_1K_HZ.len()) as u64 * TAPS_US;

/// The longest that a start or a change keeps the store of the records, in µs, on a flash at its slowest and with
/// nothing turned ahead: twice of what was computed of counted erasures and programs (0.93 s). A watchdog has to
/// wait for longer.
pub const STORE_LONGEST_US: u64 = 2_000_000;

/// The longest from a command to its answer, or by which a reading comes late, in µs: a command that stores
/// waits for the longest reading, and a reading for a command that stores.
pub const LONGEST_ANSWER_US: u64 = LONGEST_READING_US + STORE_LONGEST_US;
