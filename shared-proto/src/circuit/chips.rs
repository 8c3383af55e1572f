//! What the front end asks of its chips: the figures a part must keep to be fit for its place.
//!
//! Typical and greatest values are those of general-purpose parts of each class (their data
//! sheets, REFERENCES 23; recalled, not checked, where nothing else is said); a part that keeps them
//! may take the place of any other. *Seen* are the first pages of the data sheets of the LMP7702
//! (SNOSAI9I, with its supply and its offset at 3 V), the AD8606 (Rev. L) and the LMC6482 (SNOS674G).

/// Supply in V.
pub const SUPPLY_V: f64 = 3.3;
/// Common level *mid* in V: half the supply.
pub const MID_V: f64 = SUPPLY_V / 2.0;

/// Greatest input bias at 25 °C, in A, of an electrometer that passed the first check: CMOS, doubling every
/// 10 K. It is what good parts have typically (LMP7702: seen), and what the check holds each board to.
pub const ELECTROMETER_BIAS_A: f64 = 200e-15;
/// The same of a chip at the limit of its data sheet (LMP7702, AD8606: seen), which the check turns away.
pub const ELECTROMETER_BIAS_MAX_A: f64 = 1e-12;
/// Greatest offset of the electrometer in V, constant enough to fall to the calibration: at 3 V and at any
/// temperature 0.52 mV (LMP7702: seen) and 0.75 mV (AD8606: recalled, not checked).
pub const ELECTROMETER_OFFSET_V: f64 = 1e-3;
/// Its drift with temperature in V/K.
pub const ELECTROMETER_DRIFT_V_PER_K: f64 = 2e-6;
/// Greatest change of the electrometer's offset with its input voltage, as a fraction: 80 dB.
pub const ELECTROMETER_COMMON_MODE: f64 = 1e-4;
/// Greatest change of the same with the supply, as a fraction of its change: 80 dB.
pub const ELECTROMETER_SUPPLY_REJECTION: f64 = 1e-4;
/// Gain-bandwidth of every operational amplifier here in Hz.
pub const AMPLIFIER_BANDWIDTH_HZ: f64 = 1e6;
/// Slew rate of the same in V/s.
pub const AMPLIFIER_SLEW_V_PER_S: f64 = 0.5e6;
/// Output impedance of the same in Ω before feedback: what makes a cable at the output ring.
pub const AMPLIFIER_OUTPUT_OHM: f64 = 300.0;
/// Greatest change of the offset of the other amplifiers with their input voltage, as a fraction: 60 dB.
/// It is a gain that all taps share, and drops out of the ratio.
pub const FOLLOWER_COMMON_MODE: f64 = 1e-3;
/// Greatest offset of the drive's and the taps' followers in V; it drops out of the ratio.
pub const FOLLOWER_OFFSET_V: f64 = 5e-3;

/// On-resistance of an analog switch at 3.3 V, in Ω; it drops out of the ratio.
pub const SWITCH_ON_OHM: f64 = 100.0;
/// Greatest on-resistance of the same, in Ω.
pub const SWITCH_ON_MAX_OHM: f64 = 200.0;
/// Greatest leakage of the open switches at the cell in all, in A at 25 °C, doubling every 10 K: 20 nA cost 0.2 mV
/// of pH.
pub const SWITCH_LEAKAGE_A: f64 = 20e-9;
/// Greatest leakage of a clamp diode pair at 25 °C, in A: of small-signal diodes made for low leakage.
pub const CLAMP_LEAKAGE_A: f64 = 5e-9;
/// Charge that a gate injects when it shuts, as a capacitance from its control pin, in F.
pub const GATE_INJECTION_F: f64 = 5e-12;

/// Codes of the converter either way.
pub const ADC_CODES: f64 = 32_768.0;
/// Full scale in V in which the electrode is read.
pub const ADC_ELECTRODE_V: f64 = 0.512;
/// Full scale in V in which taps are read.
pub const ADC_TAPS_V: f64 = 1.024;
/// Noise of one conversion at 860 per second, in codes (standard deviation).
pub const ADC_NOISE_CODES: f64 = 0.7;
/// Greatest gain error as a fraction at 25 °C: constant, falls to the slope of a calibration.
pub const ADC_GAIN_ERROR: f64 = 0.0015;
/// Greatest drift of the gain as a fraction per K.
pub const ADC_GAIN_DRIFT_PER_K: f64 = 40e-6;
/// Greatest offset in codes, falls to the offset of a calibration or drops out of the ratio.
pub const ADC_OFFSET_CODES: f64 = 3.0;
/// How far its line may be bent, in codes.
pub const ADC_LINEARITY_CODES: f64 = 1.0;
/// Differential input resistance in Ω at ±0.512 V while it converts, more at ±1.024 V.
pub const ADC_INPUT_OHM: f64 = 710e3;
/// Its own clock may be off by this fraction.
pub const ADC_CLOCK_ERROR: f64 = 0.10;

/// Supply current in A of the electrometer's chip, both amplifiers, typical: twice 0.715 mA (LMP7702; seen
/// at one remove).
pub const ELECTROMETER_SUPPLY_A: f64 = 1.5e-3;
/// Supply current in A of the other followers' chip, both amplifiers, typical.
pub const FOLLOWERS_SUPPLY_A: f64 = 0.2e-3;
/// Supply current in A of the converter while it converts …
pub const ADC_SUPPLY_A: f64 = 0.2e-3;
/// … and between conversions.
pub const ADC_ASLEEP_A: f64 = 2e-6;
/// Supply current in A of the three switches together.
pub const SWITCHES_SUPPLY_A: f64 = 30e-6;
/// Supply current in A of the clock chip while the board has power.
pub const CLOCK_SUPPLY_A: f64 = 0.1e-3;
/// Current in A that the clock chip takes from its coin cell while the board has none, at most.
pub const CLOCK_BATTERY_A: f64 = 3e-6;
/// Charge of the coin cell in A·s: 220 mAh.
pub const COIN_CELL_AS: f64 = 0.22 * 3600.0;
/// Supply current in A of the microcontroller board, awake with USB: 18 to 26 mA (seen in what people
/// measured, not in a data sheet). Its program never sleeps.
pub const BOARD_AWAKE_A: f64 = 20e-3;
