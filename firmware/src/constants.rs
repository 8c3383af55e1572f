//! Every constant of the front end and its chips, with unit, arithmetic and reason.
//!
//! "Simulated" means a circuit simulation with generic part models; nothing has been measured on
//! copper yet. "Judgement" means a choice without a measurement behind it. What a part or chip is, and
//! the rates and waits that an error budget counts with, stand in `rillmark_proto::circuit`, for
//! drawings, simulations and budgets alike; their reasons stand here.

use rillmark_proto::circuit::{chips, parts, timing};

// --- Chips on the I2C bus ------------------------------------------------------------------------

/// I2C address of the converter (ADS1115 class, address pin to ground; from the data sheet).
pub const ADC_ADDRESS: u8 = 0x48;
/// I2C address of the clock chip (DS3231 class, fixed; from the data sheet).
pub const CLOCK_ADDRESS: u8 = 0x68;

// --- Conversions ---------------------------------------------------------------------------------

/// From one triggered conversion to the next, in µs. At 860 per second one conversion takes
/// 1.163 ms, at the slowest (clock −10 %) 1.292 ms; with 0.25 ms of bus traffic at 400 kHz that
/// leaves 0.4 ms of slack.
pub const CONVERSION_PERIOD_US: u64 = timing::CONVERSION_PERIOD_US;
/// The longest from the start of a conversion to its end, in µs: 25 µs to wake and 1.292 ms. Until then
/// the converter hands out the code of the conversion before, perhaps of another input.
pub const CONVERSION_LONGEST_US: u64 = 1_320;
/// How much later than its time a conversion may be done, in µs. With 0.4 ms of slack in each period the
/// next two or three catch up, so that few of the 50 leave the grid that takes the mains out.
pub const CONVERSION_LATE_US: u64 = 1_000;
/// Conversions in one average: 50 · 2 ms = 100 ms = 5 cycles of 50 Hz = 6 cycles of 60 Hz, so that
/// both mains frequencies fall out whole. The timing is the microcontroller's crystal, because the
/// converter's own clock is only good to ±10 %.
pub const CONVERSIONS_PER_AVERAGE: u32 = timing::CONVERSIONS_PER_AVERAGE;
/// Conversions in one of the two halves in which an outer tap is read: 50 ms = 3 cycles of 60 Hz. Of 50 Hz it
/// is 2½, and the second half begins a whole number and a half of its cycles after the first one (190 ms
/// and 330 ms), so that both together leave nothing of it.
pub const HALF_CONVERSIONS: u32 = timing::HALF_CONVERSIONS;
/// Length of one average in µs.
pub const AVERAGE_US: u64 = CONVERSION_PERIOD_US * CONVERSIONS_PER_AVERAGE as u64;
/// One code of the electrode channel in nV: 0.512 V / 2¹⁵ = 15.625 µV.
pub const ELECTRODE_NV_PER_CODE: i64 =
    (chips::ADC_ELECTRODE_V * 1e9) as i64 / chips::ADC_CODES as i64;

// --- Excitation ----------------------------------------------------------------------------------

/// Drive frequencies of the 1 kΩ range in Hz, highest first: octaves, as the extrapolation to
/// infinite frequency needs them.
pub const FREQUENCIES_1K_HZ: [u32; 3] = timing::FREQUENCIES_1K_HZ;
/// Drive frequency of the 10 kΩ range in Hz: not a multiple of 50 or 60 Hz.
pub const FREQUENCY_10K_HZ: u32 = timing::FREQUENCY_10K_HZ;
/// Drive frequency of the 100 kΩ range in Hz: low enough for the cable's capacitance at 200 kΩ, and
/// not 250 Hz, which would alias the fifth harmonic of 50 Hz.
pub const FREQUENCY_100K_HZ: u32 = timing::FREQUENCY_100K_HZ;
/// Drive frequency of the thermometer in Hz.
pub const FREQUENCY_THERMOMETER_HZ: u32 = timing::FREQUENCY_THERMOMETER_HZ;

// --- Resistors -----------------------------------------------------------------------------------

/// Range resistor in Ω for cells of 20 Ω to 2 kΩ (0.1 %).
pub const RANGE_1K_OHM: f64 = parts::RANGE_1K.value;
/// Range resistor in Ω for cells of 2 kΩ to 20 kΩ (0.1 %).
pub const RANGE_10K_OHM: f64 = parts::RANGE_10K.value;
/// Range resistor in Ω for cells of 20 kΩ to 200 kΩ (0.1 %).
pub const RANGE_100K_OHM: f64 = parts::RANGE_100K.value;
/// Reference resistor of the thermometer in Ω (0.1 %, 10 ppm/K): about twice the Pt1000, so that
/// both see a good part of the drive; a thermistor of 10 kΩ has as much at 66 °C.
pub const THERMOMETER_REFERENCE_OHM: f64 = parts::THERMOMETER_REFERENCE.value;

// --- Ranges --------------------------------------------------------------------------------------

/// Above this cell resistance in Ω the 1 kΩ range gives way to the 10 kΩ range (2 kΩ + 10 %).
pub const LEAVE_1K_ABOVE_OHM: f64 = 2_200.0;
/// Below this cell resistance in Ω the 10 kΩ range gives way to the 1 kΩ range (2 kΩ − 10 %).
pub const LEAVE_10K_BELOW_OHM: f64 = 1_800.0;
/// Above this cell resistance in Ω the 10 kΩ range gives way to the 100 kΩ range (20 kΩ + 10 %).
pub const LEAVE_10K_ABOVE_OHM: f64 = 22_000.0;
/// Below this cell resistance in Ω the 100 kΩ range gives way to the 10 kΩ range (20 kΩ − 10 %).
pub const LEAVE_100K_BELOW_OHM: f64 = 18_000.0;
/// A cell above this resistance in Ω is flagged open (200 kΩ + 25 %; judgement).
pub const CELL_OPEN_ABOVE_OHM: f64 = 250_000.0;
/// A cell below this resistance in Ω is flagged over range (20 Ω − 20 %; judgement).
pub const CELL_OVER_RANGE_BELOW_OHM: f64 = 16.0;
/// Above this resistance in Ω no thermometer is left to measure: a 20 kΩ thermistor (beta 3950 K) has
/// 88 kΩ at −5 °C, a 10 kΩ one 34 kΩ at 0 °C. At 100 kΩ the reference resistor still sees 501 of the
/// drive's 25 600 codes, so that one code is 0.2 % or 36 mK of a thermistor. What is open for the kind
/// in force, 5 kΩ of a Pt1000, is judged with the coefficients.
pub const THERMOMETER_OPEN_ABOVE_OHM: f64 = 100_000.0;
/// Below this resistance in Ω there is a short, whatever is fitted: a Pt100 has 84 Ω at −40 °C.
pub const THERMOMETER_SHORT_BELOW_OHM: f64 = 50.0;
/// A drive below this many codes at the hot end (±1.024 V / 2¹⁵ = 31.25 µV a code; the drive is
/// ±0.4 V, that is 25 600 codes) is no drive: nothing can be said about what it drives.
pub const LEAST_DRIVE_CODES: f64 = 2_560.0;

/// Halves of one reading whose loads differ by more than this part are of two loads: a contact came or went.
/// The fastest thermistor changes by half of it meanwhile when it is plunged by 40 K (judgement).
pub const CHANGED_PART: f64 = 0.1;
/// The same in codes, where the load is small: a hundredth of the drive.
pub const CHANGED_CODES: f64 = 256.0;

/// A part of one half may be this much of the load beside the other, trend left out, before a contact has come or
/// gone meanwhile: 0.6 K of a Pt1000; nothing in water changes so unevenly in 25 ms (judgement).
pub const CHANGED_WITHIN_PART: f64 = 0.002_5;
/// The same in codes, where the load is small: five times the most that noise does.
pub const CHANGED_WITHIN_CODES: f64 = 10.0;

/// By how many codes the halves of a reading of the cell may differ by anything but an even change, …
pub const UNEVEN_CODES: f64 = timing::UNEVEN_CODES;
/// … and this part of the load's codes besides.
pub const UNEVEN_PART: f64 = timing::UNEVEN_PART;
/// By how many codes the hot end may move while it is read.
pub const UNEVEN_H_CODES: f64 = timing::UNEVEN_H_CODES;

// --- Extrapolation to infinite frequency ---------------------------------------------------------

/// A step from 4 to 8 kHz below this fraction of the resistance is no trend: ten times the noise of
/// one reading (0.002 %, simulated), since the extrapolation has up to 14 times that noise.
pub const TREND_LEAST_FRACTION: f64 = 2e-4;
/// Nor is a step below this many Ω: four times the resolution at 20 Ω (0.013 %, simulated).
pub const TREND_LEAST_OHM: f64 = 0.01;
/// The steps of a polarising electrode shrink by 2^α from octave to octave, with α between 0.3 and
/// 1; outside these limits the trend is something else and 8 kHz is taken as it stands (judgement).
pub const TREND_RATIO_MIN: f64 = timing::LEAST_TREND_RATIO;
/// Upper limit of the same ratio: R = R∞ + c/f² would have 4.
pub const TREND_RATIO_MAX: f64 = 4.5;

// --- Waits ---------------------------------------------------------------------------------------

/// From sensor power on to the first conversion, in µs: two followers with 1 kΩ + 10 µF (10 ms) and
/// a 500 MΩ membrane (0.9 s to 0.1 mV); simulated.
pub const WAIT_POWER_US: u64 = timing::WAIT_POWER_US;
/// After a tap change, in µs: the gates' 4.7 kΩ + 100 nF at a duty of one quarter follow with 1.8 ms,
/// so that the first conversion lacks 0.3 codes at most (after half the wait 80); simulated.
pub const WAIT_TAP_US: u64 = timing::WAIT_TAP_US;
/// After a range or frequency change, in µs: no tap lacks a code at its first conversion, blocking
/// capacitors empty or charged; simulated.
pub const WAIT_RANGE_US: u64 = timing::WAIT_RANGE_US;
/// From a range or frequency change to the end of its taps, in µs.
pub const TAPS_US: u64 = timing::TAPS_US;
/// With the cell closed at mid before the drive starts and after it stops, in µs. Simulated: it
/// suffices, and the pH after [`WAIT_PH_US`] would be the same without it; meanwhile the reference is
/// open, and the water stands where the cell's metal takes it. That length is judgement.
pub const WAIT_CELL_US: u64 = timing::WAIT_CELL_US;
/// Averages of the electrode that say whether it stands still: half a second, in which a time constant of a
/// second shows.
pub const STILL_AVERAGES: usize = timing::STILL_AVERAGES;
/// The most in nV that they move by, from the first two to the last two, while it does: 1.5 codes. With a
/// time constant of 1.2 s (500 MΩ at 25 °C, at 0 °C) four times that is left in their middle, 0.1 mV, whatever
/// moved it; noise moves them by some 8 µV (computed).
pub const STILL_NV: i64 = timing::STILL_NV;
/// Water or glass may move by this much in the same time, in nV, 50 mV a minute, and the input still have come
/// to rest: it has when that is no less than three quarters of what it was [`STILL_BEFORE`] averages before. An
/// input of 1.2 s would have gone down to 0.43 of it in that second, one of 2 s to 0.61 (computed). One of 4 s and
/// more may be taken for water, with up to 3 mV to go: see the hardware notes.
pub const STILL_MOVING_NV: i64 = 250_000;
/// See [`STILL_MOVING_NV`]: a second.
pub const STILL_BEFORE: usize = 10;
/// After this long in µs 0.1 mV is left of the 1.65 V of a power-up even with a time constant of 5 s, five times that
/// of 500 MΩ at 0 °C: what moves still is the water, or the glass itself. 5 s · ln(1.65 V / 0.1 mV), and half a
/// second for the averages.
pub const TAIL_POWER_US: u64 = 49_000_000;
/// The same of the 41 mV of a first drive of the cell (simulated).
pub const TAIL_CELL_US: u64 = 30_500_000;
/// The longest that a full reading takes from the end of its waits until they stand still, in µs. With a time
/// constant of 1 s (500 MΩ at 25 °C, at 0 °C) a power-up takes 9.8 s to 0.1 mV, of which [`WAIT_POWER_US`] are
/// waited, and a first closing of the cell 7 s (computed, simulated). A whole reading then stays below the time for
/// which a host waits for an answer or a reading.
pub const STILL_LONGEST_US: u64 = timing::STILL_LONGEST_US;
/// How long beyond its wait a thermometer's drive may be on the electrode's way, in µs: with the same time
/// constant 0.5 mV, the most that open switches let through, take 1.9 s to 0.1 mV (computed). A slower input is
/// moved by less in the 0.4 s of the drive, so that no time constant leaves more (computed: at most 0.10 mV, at
/// 2.2 s).
pub const STILL_THERMOMETER_US: u64 = 1_000_000;
/// From the end of any drive to the next pH, in µs: behind 500 MΩ it is 30 mV away when the cell is opened
/// after a first reading, 20 µV after 0.6 s, less than a code after this; simulated. A full reading
/// after another one then takes half a cycle of 50 Hz more than a whole number, so that what is left of hum
/// alternates from reading to reading and is not taken for a wandering.
pub const WAIT_PH_US: u64 = 1_010_000;

// --- Sampling ------------------------------------------------------------------------------------

/// Averages of 100 ms in one pH reading of pH-only sampling.
pub const PH_AVERAGES: u32 = timing::PH_AVERAGES;
/// From one reading to the next in pH-only sampling, in µs: 4 readings a second.
pub const PH_PERIOD_US: u64 = 250_000;
/// From one temperature to the next in pH-only sampling, in µs. One costs 0.43 s of drive and 1 s of
/// rest, so that 3.4 readings a second remain on average.
pub const PH_TEMPERATURE_PERIOD_US: u64 = 10_000_000;
/// Averages of 100 ms in the pH of a full reading: 0.5 s.
pub const FULL_PH_AVERAGES: u32 = timing::FULL_PH_AVERAGES;
/// Shortest time from one reading to the next in the other samplings, in µs, also when a chip is
/// silent and nothing else takes time.
pub const LEAST_PERIOD_US: u64 = 500_000;
/// With less than this between two full readings the power stays on, in µs: the 2 s to power up and
/// a second in which something is saved.
pub const LEAST_POWER_OFF_US: u64 = WAIT_POWER_US + 1_000_000;

/// The longest wait in which the board's watchdog is not told that the work goes on, in µs: an eighth
/// of the longest that an RP2040's watchdog waits (8.3 s).
pub const ALIVE_US: u64 = 1_000_000;

/// For how long before a conversion the board's lamp is dark and its regulator as quiet as it can, in µs: a
/// hundred times what the supply takes to come to rest (judgement).
pub const QUIET_US: u64 = 10_000;
/// How often one reading of the cell goes to another range or is taken again.
pub const AGAIN_MOST: usize = timing::AGAIN_MOST;

// --- Line ----------------------------------------------------------------------------------------

/// Wait after the line reported an error or its end, in ms.
pub const WAIT_LINE_MS: u32 = 50;

// --- Store ---------------------------------------------------------------------------------------

/// The longest that a flash erases 4 KiB, in µs (W25Q16JV data sheet, recalled, not checked; typical is
/// 45 ms).
pub const STORE_ERASE_US: u64 = 400_000;
/// The longest that a flash programs up to 256 bytes, in µs (the same; typical is 0.4 ms).
pub const STORE_PROGRAM_US: u64 = 3_000;
/// Idle time that a step ahead of the store wants, in µs: one erased page and sixteen programs, 448 ms.
pub const STORE_STEP_US: u64 = 500_000;
/// The longest that a start or a change keeps the store, in µs.
pub const STORE_LONGEST_US: u64 = timing::STORE_LONGEST_US;

/// The most flash pages (erase units) that the store uses of its region; a larger region is used up
/// to here. Sixteen pages of 4 KiB hold all records that it lists, with room to turn pages.
pub const STORE_MAX_PAGES: usize = 32;
