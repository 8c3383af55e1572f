//! Every limit that a judgement compares with: value, unit, and where it comes from.
//!
//! The words in brackets say how the number came to this project: the tags of
//! [`reference`](rillmark_proto::reference::Tag). 'Common practice, no source' is trade lore; such limits are
//! defaults.

use rillmark_proto::reference::{sourced, tag_words};

/// A limit with the reason why it stands where it stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limit<T> {
    /// The number or pair of numbers, in the unit that the constant states.
    pub value: T,
    /// Where it comes from.
    pub source: &'static str,
}

/// Source of everything that the trade does without being able to say who said so.
pub const COMMON_PRACTICE: &str = tag_words!(CommonPractice);

const fn practice<T: Copy>(value: T) -> Limit<T> {
    Limit { value, source: COMMON_PRACTICE }
}

/// Slopes (REFERENCES 15).
const FIELD_MANUAL_SLOPE: &str = sourced!(
    SeenAtOneRemove,
    "USGS National Field Manual: 95 to 101 % (TM 9-A6.4, 2021), 102 % on the form of TM 9-A6.8 (2025)"
);
/// A buffer read after the calibration (REFERENCES 15).
pub(super) const FIELD_MANUAL_PH_CHECK: &str =
    sourced!(SeenAtOneRemove, "a buffer reads within 0.05 pH of its value: USGS TM 9-A6.4 (2021)");
/// A standard read after the calibration (REFERENCES 15).
const FIELD_MANUAL_CONDUCTIVITY: &str =
    sourced!(SeenAtOneRemove, "a standard above 100 µS/cm within 3 %: USGS TM 9-A6.3 (2019)");
/// A thermometer against its reference (REFERENCES 15).
pub(super) const FIELD_MANUAL_TEMPERATURE: &str = sourced!(
    SeenAtOneRemove,
    "a sensor that compensates others within 0.2 °C: USGS TM 9-A6.1 (2024)"
);

// --- A pH line -----------------------------------------------------------------------------------

/// Slope in percent of Nernst of an electrode that needs no attention.
pub const SLOPE_BAND_PERCENT: Limit<(f64, f64)> =
    Limit { value: (95.0, 102.0), source: FIELD_MANUAL_SLOPE };
/// Slope in percent of Nernst outside which no electrode and no honest buffer can be: below it the
/// glass is dead, above it a buffer is not what its label says.
pub const SLOPE_POSSIBLE_PERCENT: Limit<(f64, f64)> = practice((80.0, 105.0));
/// Largest offset at pH 7 in mV, either sign.
pub const OFFSET_MV: Limit<f64> = practice(30.0);
/// Largest change of the offset in mV from every earlier calibration of the same electrode.
pub const OFFSET_CHANGE_MV: Limit<f64> = practice(15.0);
/// Largest change of the slope in percent of Nernst from every earlier calibration.
pub const SLOPE_CHANGE_PERCENT: Limit<f64> = practice(5.0);
/// Largest residual of a point in pH: a calibrated meter reads within this of its buffer.
pub const RESIDUAL_PH: Limit<f64> = Limit { value: 0.05, source: FIELD_MANUAL_PH_CHECK };
/// Least distance in pH between the lowest and the highest buffer.
pub const BUFFER_SPAN_PH: Limit<f64> = practice(1.0);
/// Fewest pH points; a single one takes its slope from before, under a warning.
pub const LEAST_PH_POINTS: u8 = 1;

// --- A cell constant -----------------------------------------------------------------------------

/// Cell constants in 1/cm that two-electrode cells are made with, with room for home-built ones.
pub const CELL_CONSTANT_USUAL_PER_CM: Limit<(f64, f64)> = practice((0.05, 20.0));
/// Cell constants in 1/cm outside which the standard or the wiring must be wrong.
pub const CELL_CONSTANT_POSSIBLE_PER_CM: Limit<(f64, f64)> = practice((0.005, 100.0));
/// Largest change of the cell constant in percent from every earlier calibration of the same cell.
pub const CELL_CONSTANT_CHANGE_PERCENT: Limit<f64> = practice(5.0);
/// Largest residual of a standard in percent of its conductivity.
pub const RESIDUAL_PERCENT: Limit<f64> = Limit { value: 3.0, source: FIELD_MANUAL_CONDUCTIVITY };
/// A range's factor beside the common cell constant: its resistor is off by percents, and a factor of two is
/// another part, or another unit in the table.
pub const RANGE_FACTOR_POSSIBLE: Limit<(f64, f64)> =
    Limit { value: (0.5, 2.0), source: "own choice, no source" };
/// Fewest conductivity points.
pub const LEAST_CONDUCTIVITY_POINTS: u8 = 1;

/// Largest conductance in µS of a clean, dry cell in air, either sign: connector and cable leave a few
/// hundredths, a film of water on the electrodes several.
pub const ZERO_US: Limit<f64> = practice(0.5);
/// What the front end resolves of a conductance in air, in µS, as a standard uncertainty: two codes of
/// the 100 kΩ range (10 µS of full scale in 25 600 codes).
pub const ZERO_RESOLUTION_US: Limit<f64> =
    Limit { value: 0.000_8, source: "drive and code size of the front end (computed)" };

// --- Drift ---------------------------------------------------------------------------------------

/// Calibrations that are further apart than this many days teach nothing of the drift: hardly any sensor
/// lasts that long between two, and a clock that was wrong by years is more likely.
pub const TEACHES_DAYS: Limit<f64> = Limit { value: 730.0, source: "own choice, no source" };

// --- Bottles -------------------------------------------------------------------------------------

/// For how many days an open bottle of an acid or neutral buffer is used.
pub const OPENED_BUFFER_DAYS: Limit<u16> = practice(90);
/// The same for an alkaline buffer, which takes up carbon dioxide from the air and falls.
pub const OPENED_ALKALINE_DAYS: Limit<u16> = practice(30);
/// The same for a conductivity standard: water evaporates from it.
pub const OPENED_STANDARD_DAYS: Limit<u16> = practice(90);
/// The same for a weak conductivity standard.
pub const OPENED_WEAK_DAYS: Limit<u16> = practice(30);
/// Below this conductivity at 25 °C, in µS/cm, a standard is weak: what water takes up of the air's
/// carbon dioxide (1.10 µS/cm at 25 °C, REFERENCES 6; seen) is 0.2 % of it.
pub const WEAK_STANDARD_US_CM: Limit<f64> = practice(500.0);

// --- Points --------------------------------------------------------------------------------------

/// How far in pH a buffer may read from its label under the calibration in force: more is another
/// beaker. Ageing between two calibrations is a few tenths; buffers stand 2 to 3 pH apart.
pub const LABEL_PH: Limit<f64> = Limit {
    value: 1.0,
    source: "the expected value must match the label: common practice, no source",
};
/// The same for an electrode without a calibration, judged as a nominal one (0 mV at pH 7, 100 %):
/// 60 mV of offset and a slope of 90 % at 3 pH from 7 make 1.3 pH.
pub const LABEL_NOMINAL_PH: Limit<f64> = Limit {
    value: 1.5,
    source: "the expected value must match the label: common practice, no source",
};
/// How far in percent a conductivity standard may read from its label under the cell constant in
/// force: more is another beaker, or the cell is not immersed.
pub const LABEL_PERCENT: Limit<f64> = Limit {
    value: 30.0,
    source: "the expected value must match the label: common practice, no source",
};
/// The same against a nominal cell constant that the user stated.
pub const LABEL_NOMINAL_PERCENT: Limit<f64> = Limit {
    value: 50.0,
    source: "the expected value must match the label: common practice, no source",
};
/// How far in pH a buffer must read from its label to be taken for another one that fits: an electrode
/// that was refilled or dried out moves by a few tenths.
pub const OTHER_PH: Limit<f64> = Limit {
    value: 0.5,
    source: "the expected value must match the label: common practice, no source",
};
/// The same for conductivity standards, in percent: a bubble takes a few percent away.
pub const OTHER_PERCENT: Limit<f64> = Limit {
    value: 15.0,
    source: "the expected value must match the label: common practice, no source",
};
/// Values in pH that two names of a buffer may differ by and be the same solution: editions and labels
/// of one composition lie within it (phthalate of 1977 and 2002 are 0.010 apart at 0 °C), different
/// compositions do not.
pub const SAME_PH: Limit<f64> = practice(0.015);
/// The same for conductivity standards, in percent: 12 880 and 12 890 µS/cm are within it, 1408 and
/// 1413 µS/cm are not.
pub const SAME_PERCENT: Limit<f64> = practice(0.1);
/// How far in pH buffers may be apart to be called like one of them, when a person is told what a
/// beaker looks like.
pub const ALIKE_PH: Limit<f64> = practice(0.3);
/// The same for conductivity standards, in percent: those around 12 880 µS/cm are within 0.5 %.
pub const ALIKE_PERCENT: Limit<f64> = practice(2.0);
/// How many standard uncertainties a signal may be away from what a standard would give.
pub const NEAR: Limit<f64> = practice(3.0);

/// What a healthy sensor may have changed by since its calibration, as a standard uncertainty.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ageing {
    /// On the same day: rinsing, temperature, another beaker. What it has drifted by comes to it.
    pub at_once: f64,
    /// At most this, however old the calibration is.
    pub most: f64,
}

impl Ageing {
    /// With what it has drifted by, as a standard uncertainty; the most when nobody knows.
    pub fn with(&self, drifted: Option<f64>) -> f64 {
        let all = |drifted| libm::fmin(libm::hypot(self.at_once, drifted), self.most);
        drifted.map_or(self.most, all)
    }
}

/// Of an electrode's offset, in mV. Three of the most are the 60 mV that any electrode is given.
pub const OFFSET_AGEING_MV: Limit<Ageing> = practice(Ageing { at_once: 3.0, most: 20.0 });
/// Of an electrode's slope, as a fraction of Nernst.
pub const SLOPE_AGEING: Limit<Ageing> = practice(Ageing { at_once: 0.005, most: 0.05 });
/// Of a cell constant, as a fraction of it: deposits, and bubbles that are not seen.
pub const CELL_AGEING: Limit<Ageing> = practice(Ageing { at_once: 0.01, most: 0.05 });
/// Largest offset in mV, either sign, of an electrode of which nothing is known.
pub const ANY_OFFSET_MV: Limit<f64> = practice(60.0);
/// Slope, as a fraction of Nernst, of an electrode of which nothing is known.
pub const ANY_SLOPE: Limit<(f64, f64)> = practice((0.85, 1.02));
/// How far in percent the cell constant of a home-built cell may be from the one stated.
pub const NOMINAL_CELL_PERCENT: Limit<f64> = practice(30.0);

/// Largest difference in K between the temperatures of two standards of one calibration. The method
/// says it of sample and buffer (REFERENCES 17); standards are held to it among each other.
pub const TEMPERATURE_SPAN_K: Limit<f64> = Limit {
    value: 2.0,
    source: sourced!(
        Recalled,
        "EPA method 150.1: correct if sample and buffer differ by more than 2 °C"
    ),
};
/// Above this pH a buffer takes up enough carbon dioxide from the air to lose pH.
pub const ALKALINE_PH: Limit<f64> = practice(9.0);
/// Outside these pH a standard is a strong acid or alkali to eyes and skin.
pub const CAUSTIC_PH: Limit<(f64, f64)> = practice((2.0, 12.0));

// --- Coming to rest (the limits of rest itself are the rules of `signal::settle`) ----------------

/// How long readings may be unusable in a row before that is a refusal, in ms: longer than a cell
/// takes to be lowered into a beaker.
pub const UNUSABLE_MS: Limit<u64> = practice(5_000);
/// How long a reading may take to settle before the operator is asked, in ms.
pub const PATIENCE_MS: Limit<u64> = practice(300_000);

// --- Before and after ----------------------------------------------------------------------------

/// As-found tolerance in pH when the plan states none.
pub const AS_FOUND_PH: Limit<f64> = Limit { value: 0.05, source: FIELD_MANUAL_PH_CHECK };
/// As-found tolerance in percent of the standard's conductivity when the plan states none.
pub const AS_FOUND_PERCENT: Limit<f64> = Limit { value: 3.0, source: FIELD_MANUAL_CONDUCTIVITY };
/// For how many days a reference thermometer may have been open: there is nothing to open.
pub const OPENED_NEVER_DAYS: Limit<u16> =
    Limit { value: u16::MAX, source: "follows from the definition; no limit" };
/// As-found tolerance of a thermometer in K when the plan states none.
pub const AS_FOUND_K: Limit<f64> = Limit { value: 0.2, source: FIELD_MANUAL_TEMPERATURE };
/// Largest as-left difference of a thermometer in K.
pub const AS_LEFT_K: Limit<f64> = Limit { value: 0.2, source: FIELD_MANUAL_TEMPERATURE };
/// Largest correction of a thermometer in K: class C of IEC 60751 at 25 °C is 0.85 K.
pub const THERMOMETER_OFFSET_K: Limit<f64> = practice(1.0);
/// How far in K a reference may be from what the probe reads: more is a slip of the pen, or another
/// kind of thermometer than the stated one.
pub const REFERENCE_FAR_K: Limit<f64> = practice(10.0);
/// How long in ms the operator may take to say what the reference says: the bath goes on drifting, and
/// a reading that settled long ago belongs to another temperature.
pub const REFERENCE_READ_MS: Limit<i64> = practice(60_000);
/// Standard uncertainty in K of a reference that is no better than the thermometer itself: class B at
/// 25 °C.
pub const REFERENCE_COARSE_K: Limit<f64> = Limit {
    value: 0.245,
    source: sourced!(Recalled, "IEC 60751, class B at 25 °C: 0.425 K / sqrt(3)"),
};
/// Least distance in K between the coldest and the warmest point that tells a gain.
pub const THERMOMETER_SPAN_K: Limit<f64> = practice(10.0);
/// Largest residual of a point in standard uncertainties of its comparison.
pub const THERMOMETER_RESIDUAL: Limit<f64> = practice(3.0);
/// Fewest points beside a reference thermometer.
pub const LEAST_TEMPERATURE_POINTS: u8 = 1;
/// Largest as-left difference in pH.
pub const AS_LEFT_PH: Limit<f64> = Limit { value: 0.05, source: FIELD_MANUAL_PH_CHECK };
/// Largest as-left difference in percent of the standard's conductivity.
pub const AS_LEFT_PERCENT: Limit<f64> = practice(1.0);

// --- The water -----------------------------------------------------------------------------------

/// Largest difference in pH between the stirred and the still water that a healthy junction shows
/// (REFERENCES 18).
pub const STIR_PH: Limit<f64> = Limit {
    value: 0.02,
    source: sourced!(
        Seen,
        "unstirred and stirred differ by less than 0.02 pH: Covington and Davison, CRC Handbook"
    ),
};
