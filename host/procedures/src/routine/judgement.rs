//! Judgements: what is to be said about a reading, a point, a line or an attempt.
//!
//! A judgement is a code with typed numbers. The sentence for a person is the host's business.

use super::limits;
use rillmark_metrology::reference::ionic_strength;
use rillmark_metrology::signal::settle::{CONDUCTANCE, POTENTIAL, TEMPERATURE};
use rillmark_proto::reference::sourced;

/// How much a judgement weighs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Severity {
    /// Worth knowing; nothing has to be decided.
    Note,
    /// Stops until the operator overrides it with a reason, which the record keeps.
    Warning,
    /// Cannot be overridden.
    Refusal,
}

impl Severity {
    /// The name that machine-readable output gives the severity.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::Warning => "warning",
            Self::Refusal => "refusal",
        }
    }
}

/// The most numbers that one judgement carries.
pub const MAX_NUMBERS: usize = 5;

/// Names and values of a judgement's numbers.
pub type Numbers = heapless::Vec<(&'static str, f64), MAX_NUMBERS>;

/// One row a judgement: its numbers with their meaning, its permanent number, its code, its weight
/// and where its limit comes from. A number or code is never given a second meaning.
macro_rules! judgements {
    ($(
        $(#[$doc:meta])*
        $name:ident { $( $(#[$field_doc:meta])* $field:ident: $type:ty ),* }
            = $number:literal, $code:literal, $severity:ident, $source:expr;
    )*) => {
        /// What is to be said, with the numbers that it rests on. Points are counted from 1.
        #[derive(Clone, Copy, Debug, PartialEq)]
        pub enum Judgement {
            $( $(#[$doc])* $name { $( $(#[$field_doc])* $field: $type ),* }, )*
        }

        impl Judgement {
            /// The name that machine-readable output gives the judgement; never changes.
            pub const fn code(&self) -> &'static str {
                match self { $( Self::$name { .. } => $code, )* }
            }

            /// The number that records keep; never changes.
            pub const fn number(&self) -> u16 {
                match self { $( Self::$name { .. } => $number, )* }
            }

            /// How much it weighs.
            pub const fn severity(&self) -> Severity {
                match self { $( Self::$name { .. } => Severity::$severity, )* }
            }

            /// Where its limit comes from.
            pub const fn source(&self) -> &'static str {
                match self { $( Self::$name { .. } => $source, )* }
            }

            /// Its numbers, each under the name that machine-readable output gives it.
            pub fn numbers(&self) -> Numbers {
                match *self {
                    $( Self::$name { $($field),* } => {
                        let named: &[(&'static str, f64)] =
                            &[$( (stringify!($field), f64::from($field)) ),*];
                        named.iter().copied().collect()
                    } )*
                }
            }

            /// The code that belongs to a permanent number, if this release knows it.
            pub fn code_of(number: u16) -> Option<&'static str> {
                match number {
                    $( $number => Some($code), )*
                    _ => None,
                }
            }

            /// One of each judgement with all its numbers set to `n`, in the order of their
            /// permanent numbers: what there is to put into words.
            pub fn each(n: u8) -> impl Iterator<Item = Self> {
                [$( Self::$name { $($field: n.into()),* } ),*].into_iter()
            }
        }
    };
}

/// Source of a judgement about points that contradict what they were stated to be good for.
const CHI_SQUARED: &str = "99 % quantile of the chi-squared distribution";

/// Source of a judgement that follows from what a calibration is and needs no limit.
const BY_DEFINITION: &str = "follows from the definition; no limit";

/// Source of the rule that a check needs a standard of its own.
const INDEPENDENT: &str = "a check standard is of another bottle or lot than the calibration's: common practice, no source";

/// Source of what air does to standards.
const AIR: &str = "carbon dioxide: PHREEQC (computed) and CRC Handbook, p. 5-73 (seen); a bottle opened once a day: common practice, no source";

judgements! {
    // --- Readings ---
    /// The potential has not come to rest.
    PotentialNotSettled {
        /// Drift in mV per minute.
        drift_mv_per_min: f64,
        /// At most this much is still to come, in mV.
        to_come_mv: f64,
        /// As much may be, in mV.
        limit_mv: f64,
        /// Standard deviation about that drift in mV.
        scatter_mv: f64,
        /// How long it was waited for, in s of probe time.
        waited_s: f64
    } = 1, "potential-not-settled", Warning, POTENTIAL.source;
    /// The conductance has not come to rest.
    ConductanceNotSettled {
        /// Drift in percent of the conductance per minute.
        drift_percent_per_min: f64,
        /// At most this much is still to come, in percent of the conductance.
        to_come_percent: f64,
        /// As much may be, in percent of the conductance.
        limit_percent: f64,
        /// Standard deviation about that drift in percent of the conductance.
        scatter_percent: f64,
        /// How long it was waited for, in s of probe time.
        waited_s: f64
    } = 2, "conductance-not-settled", Warning, CONDUCTANCE.source;
    /// The thermometer has not come to rest.
    TemperatureNotSettled {
        /// Drift in K per minute.
        drift_k_per_min: f64,
        /// At most this much is still to come, in K.
        to_come_k: f64,
        /// As much may be, in K.
        limit_k: f64
    } = 3, "temperature-not-settled", Warning, TEMPERATURE.source;
    /// Readings came without a temperature.
    TemperatureMissing {} = 4, "temperature-missing", Refusal, BY_DEFINITION;
    /// Readings came without the potential or conductance that is calibrated.
    SignalMissing {} = 5, "signal-missing", Refusal, BY_DEFINITION;
    /// Readings were flagged.
    ReadingFlagged {
        /// The bits of `reading::Flags` that stand in the way.
        flags: u32
    } = 6, "reading-flagged", Refusal, BY_DEFINITION;
    /// There are too few readings in a row to tell a drift.
    TooFewReadings {
        /// Readings in a row.
        readings: u8,
        /// Fewest that tell a drift.
        least: u8
    } = 7, "too-few-readings", Refusal, BY_DEFINITION;
    /// Too few fresh temperatures to tell whether the thermometer has come to rest.
    TooFewTemperatures {
        /// Temperatures so far.
        temperatures: u8,
        /// Fewest temperatures.
        least: u8
    } = 8, "too-few-temperatures", Warning, TEMPERATURE.source;

    // --- Standards ---
    /// The standard has no assigned value at this temperature.
    StandardOutsideTable {
        /// The point.
        point: u8,
        /// Temperature of the standard in °C.
        temperature_c: f64,
        /// Lowest usable temperature in °C.
        min_c: f64,
        /// Highest usable temperature in °C.
        max_c: f64
    } = 20, "standard-outside-table", Refusal, "range of the standard's own table or equation";
    /// The standard is past its expiry date.
    StandardExpired {
        /// The point.
        point: u8,
        /// Days past the expiry.
        days: i32
    } = 21, "standard-expired", Warning, sourced!(SeenAtOneRemove, "buffers in date: USGS TM 9-A6.4 (2021)");
    /// The reading is nowhere near what the stated buffer gives under the calibration in force.
    BufferNotAsLabelled {
        /// The point.
        point: u8,
        /// The buffer's pH.
        expected_ph: f64,
        /// pH found.
        found_ph: f64,
        /// Largest difference in pH.
        limit_ph: f64
    } = 22, "buffer-not-as-labelled", Refusal, limits::LABEL_PH.source;
    /// The reading is nowhere near what the stated buffer gives with a nominal electrode.
    BufferFarFromNominal {
        /// The point.
        point: u8,
        /// The buffer's pH.
        expected_ph: f64,
        /// pH that a nominal electrode (0 mV at pH 7, slope 100 %) would have found.
        found_ph: f64,
        /// Largest difference in pH.
        limit_ph: f64
    } = 23, "buffer-far-from-nominal", Refusal, limits::LABEL_NOMINAL_PH.source;
    /// The reading is nowhere near what the stated conductivity standard should give.
    StandardNotAsLabelled {
        /// The point.
        point: u8,
        /// The standard's conductivity in µS/cm at its temperature.
        expected_us_cm: f64,
        /// Conductivity in µS/cm found with the cell constant in force or the nominal one.
        found_us_cm: f64,
        /// Largest difference in percent.
        limit_percent: f64
    } = 24, "standard-not-as-labelled", Refusal, limits::LABEL_PERCENT.source;
    /// The points were taken at temperatures that differ a lot.
    TemperaturesDiffer {
        /// Difference in K between the warmest and the coldest point.
        span_k: f64,
        /// Largest difference not worth a note.
        limit_k: f64
    } = 25, "temperatures-differ", Note, limits::TEMPERATURE_SPAN_K.source;
    /// Neither a calibration in force nor a stated cell constant: a wrong bottle goes unnoticed.
    LabelUnchecked {} = 27, "label-unchecked", Note,
        "the expected value must match the label: common practice, no source";
    /// A bottle has been open for longer than its kind keeps.
    StandardLongOpen {
        /// The point.
        point: u8,
        /// Days since it was opened.
        days: i32,
        /// Days that it is used.
        limit_days: u16
    } = 28, "standard-long-open", Warning, limits::OPENED_BUFFER_DAYS.source;
    /// A bottle for a single use was opened on an earlier day.
    SingleUseOpenedBefore {
        /// The point.
        point: u8,
        /// Days since it was opened.
        days: i32
    } = 29, "single-use-opened-before", Warning, "a single use is that of one day: common practice, no source";
    /// A bottle is said to be opened on a day that is still to come.
    OpenedInFuture {
        /// The point.
        point: u8,
        /// Days until then.
        days: i32
    } = 30, "opened-in-future", Warning, BY_DEFINITION;
    /// The probe stands in another buffer than the stated one.
    LooksLikeOtherBuffer {
        /// The point.
        point: u8,
        /// The stated buffer's pH.
        expected_ph: f64,
        /// pH found with the calibration in force or a nominal electrode.
        found_ph: f64,
        /// pH at 25 °C of the buffer that it looks like.
        looks_like_ph: f64
    } = 32, "looks-like-other-buffer", Refusal, limits::OTHER_PH.source;
    /// The probe stands in another conductivity standard than the stated one.
    LooksLikeOtherStandard {
        /// The point.
        point: u8,
        /// The stated standard's conductivity in µS/cm at its temperature.
        expected_us_cm: f64,
        /// Conductivity in µS/cm found with the cell constant in force or the nominal one.
        found_us_cm: f64,
        /// Conductivity in µS/cm at 25 °C of the standard that it looks like.
        looks_like_us_cm: f64
    } = 33, "looks-like-other-standard", Refusal, limits::OTHER_PERCENT.source;
    /// The reading fits a buffer that the plan does not have, and not the stated one.
    MayBeOtherBuffer {
        /// The point.
        point: u8,
        /// The stated buffer's pH.
        expected_ph: f64,
        /// pH found with the calibration in force.
        found_ph: f64,
        /// pH at 25 °C of the buffer that it would fit.
        looks_like_ph: f64
    } = 34, "may-be-other-buffer", Warning, limits::OTHER_PH.source;

    /// An alkaline buffer has been open, and air has taken pH off it.
    AirLowersBuffer {
        /// The point.
        point: u8,
        /// Days since it was opened or dissolved.
        days: u16,
        /// At most so much was taken off, in pH.
        up_to_ph: f64,
        /// What it is taken as, near 25 °C.
        taken_ph: f64
    } = 35, "air-lowers-buffer", Note, AIR;
    /// Nobody said since when an alkaline buffer has been open: air may have taken pH off it.
    AirMayLowerBuffer {
        /// The point.
        point: u8,
        /// It is taken to have been open for anything up to so many days.
        limit_days: u16,
        /// At most so much was taken off, in pH.
        up_to_ph: f64,
        /// What it is taken as, near 25 °C.
        taken_ph: f64
    } = 36, "air-may-lower-buffer", Note, AIR;
    /// Air, or the water that it was made with, has added to a conductivity standard.
    WaterAddsToStandard {
        /// The point.
        point: u8,
        /// At most so much was added near 25 °C, in µS/cm.
        up_to_us_cm: f64,
        /// What it is taken as, near 25 °C, in µS/cm.
        taken_us_cm: f64
    } = 37, "water-adds-to-standard", Note, AIR;
    /// A conductivity standard was made with tap water.
    TapInStandard {
        /// The point.
        point: u8,
        /// What soft tap water adds, in percent of the standard.
        least_percent: f64,
        /// What hard tap water adds.
        most_percent: f64
    } = 38, "tap-in-standard", Refusal, limits::COMMON_PRACTICE;
    /// A buffer was made with tap water.
    TapInBuffer {
        /// The point.
        point: u8,
        /// How far hard tap water may move it, in pH, either way.
        up_to_ph: f64
    } = 39, "tap-in-buffer", Warning, limits::COMMON_PRACTICE;

    // --- The plan ---
    /// Too few standards.
    TooFewPoints {
        /// Standards planned.
        points: u8,
        /// Fewest that make a calibration.
        least: u8
    } = 40, "too-few-points", Refusal, BY_DEFINITION;
    /// The buffers are too close to each other to give a slope.
    BuffersTooClose {
        /// Difference in pH between the lowest and the highest.
        span_ph: f64,
        /// Least difference.
        least_ph: f64
    } = 41, "buffers-too-close", Refusal, limits::BUFFER_SPAN_PH.source;
    /// Nobody has said which electrode or cell is fitted.
    NotEquipped {} = 42, "not-equipped", Refusal, BY_DEFINITION;
    /// The cell has no calibration yet, and pH is about to be calibrated.
    ConductivityFirst {} = 43, "conductivity-first", Note,
        "conductivity first, pH again and again: common practice, no source";
    /// There are more overrides than a record can hold.
    TooManyOverrides {
        /// The most a record holds.
        most: u8
    } = 44, "too-many-overrides", Refusal, "what a record can hold";
    /// A standard of the plan is of the other quantity.
    StandardOfOtherQuantity {
        /// The point.
        point: u8
    } = 45, "standard-of-other-quantity", Refusal, BY_DEFINITION;

    // --- Manners ---
    /// A standard is warmer or colder than the first one of the calibration.
    StandardTemperatureDiffers {
        /// The point.
        point: u8,
        /// Its temperature in °C.
        temperature_c: f64,
        /// Temperature of the first standard in °C.
        first_c: f64,
        /// Largest difference in K.
        limit_k: f64
    } = 46, "standard-temperature-differs", Warning, limits::TEMPERATURE_SPAN_K.source;
    /// An alkaline buffer is taken before one that is not.
    AlkalineNotLast {
        /// The point.
        point: u8,
        /// The buffer's pH near 25 °C.
        ph: f64
    } = 47, "alkaline-not-last", Note, limits::ALKALINE_PH.source;
    /// The result is in doubt, and a point was taken before it had come to rest.
    TakenUnsettled {
        /// The point.
        point: u8
    } = 48, "taken-unsettled", Note, BY_DEFINITION;
    /// Nothing is stated of how well buffers are known.
    BuffersUnstated {
        /// How many buffers.
        standards: u8,
        /// Which standards of the plan, the first one as bit 0.
        which: u8,
        /// That of the closing check when it is one of them, else 0.
        closing: u8,
        /// Expanded uncertainty (k = 2) that the best known of them is taken with, in pH.
        expanded_ph: f64
    } = 49, "buffers-unstated", Note, limits::COMMON_PRACTICE;
    /// Nothing is stated of how well conductivity standards are known.
    StandardsUnstated {
        /// How many standards.
        standards: u8,
        /// Which ones of the plan, the first one as bit 0.
        which: u8,
        /// That of the closing check when it is one of them, else 0.
        closing: u8,
        /// Expanded uncertainty (k = 2) that the best known of them is taken with, in percent.
        expanded_percent: f64
    } = 50, "standards-unstated", Note, limits::COMMON_PRACTICE;
    /// The water for a conductivity standard was measured by eye.
    WaterByEye {
        /// The point.
        point: u8,
        /// Expanded uncertainty (k = 2) that this leaves, in percent of it and of all later readings.
        expanded_percent: f64
    } = 51, "water-by-eye", Note, limits::COMMON_PRACTICE;
    /// Several points were taken in one bottle, and together say no more about it than one of them.
    PointsShareBottles {
        /// Points.
        points: u32,
        /// Bottles.
        bottles: u32
    } = 52, "points-share-bottles", Note, BY_DEFINITION;

    // --- Since the calibration before ---
    /// By the host's clock the calibration in force was made later than now.
    DatedBeforeEarlier {
        /// By so many days.
        days: f64
    } = 53, "dated-before-earlier", Note, BY_DEFINITION;
    /// The calibration before is so long ago that it teaches nothing of the drift.
    LongSinceEarlier {
        /// Days since then.
        days: f64,
        /// The most.
        limit_days: f64
    } = 54, "long-since-earlier", Note, limits::TEACHES_DAYS.source;
    /// The sensor is said to have been stored for longer than there were days.
    StoredLongerThanPassed {
        /// Days stored.
        stored_days: u16,
        /// Whole days since the calibration before.
        days: f64
    } = 55, "stored-longer-than-passed", Refusal, BY_DEFINITION;
    /// The sensor is said to have been stored since a calibration that there is not.
    StoredSinceNothing {
        /// Days stored.
        stored_days: u16
    } = 56, "stored-since-nothing", Refusal, BY_DEFINITION;
    /// The days in storage are no days of drift.
    StoredDaysCounted {
        /// Days stored.
        stored_days: u16,
        /// Days since the calibration before.
        days: f64
    } = 57, "stored-days-counted", Note, BY_DEFINITION;

    // --- A pH line ---
    /// The slope is outside the band of an electrode that needs no attention.
    SlopeOutOfBand {
        /// Slope in percent of Nernst.
        slope_percent: f64,
        /// Lower end of the band.
        min_percent: f64,
        /// Upper end of the band.
        max_percent: f64
    } = 60, "slope-out-of-band", Warning, limits::SLOPE_BAND_PERCENT.source;
    /// The slope is one that no working electrode has.
    SlopeImpossible {
        /// Slope in percent of Nernst.
        slope_percent: f64,
        /// Lowest possible.
        min_percent: f64,
        /// Highest possible.
        max_percent: f64
    } = 61, "slope-impossible", Refusal, limits::SLOPE_POSSIBLE_PERCENT.source;
    /// The potential rises with pH: beakers or leads are swapped.
    SlopeReversed {
        /// Slope in percent of Nernst.
        slope_percent: f64
    } = 62, "slope-reversed", Refusal, "sign of the Nernst equation";
    /// The offset is larger than that of an electrode that needs no attention.
    OffsetOutOfBand {
        /// Potential at pH 7 in mV.
        offset_mv: f64,
        /// Largest offset, either sign.
        limit_mv: f64
    } = 63, "offset-out-of-band", Warning, limits::OFFSET_MV.source;
    /// The offset is far from every earlier one of this electrode: was it changed?
    OffsetFarFromHistory {
        /// Potential at pH 7 in mV.
        offset_mv: f64,
        /// The nearest earlier offset in mV.
        earlier_mv: f64,
        /// Largest change.
        limit_mv: f64
    } = 64, "offset-far-from-history", Warning, limits::OFFSET_CHANGE_MV.source;
    /// The slope is far from every earlier one of this electrode.
    SlopeFarFromHistory {
        /// Slope in percent of Nernst.
        slope_percent: f64,
        /// The nearest earlier slope.
        earlier_percent: f64,
        /// Largest change.
        limit_percent: f64
    } = 65, "slope-far-from-history", Warning, limits::SLOPE_CHANGE_PERCENT.source;
    /// A buffer lies far from the line through all of them, and no other one farther.
    ResidualLarge {
        /// The point.
        point: u8,
        /// How many points there are; three do not tell which of them is off.
        points: u8,
        /// Residual in pH.
        residual_ph: f64,
        /// Largest residual, either sign.
        limit_ph: f64
    } = 66, "residual-large", Warning, limits::RESIDUAL_PH.source;
    /// Two points make a line through both: nothing is left over that could show an error.
    TwoPointsOnly {} = 67, "two-points-only", Note, BY_DEFINITION;
    /// No line can be drawn through these points.
    NoLine {} = 68, "no-line", Refusal, BY_DEFINITION;
    /// A single buffer is planned: the slope has to come from before.
    SinglePoint {
        /// The slope taken, in percent of Nernst.
        slope_percent: f64,
        /// Its standard uncertainty in percent of Nernst.
        u_percent: f64,
        /// 1 when it is that of any electrode of which nothing is known, 0 when somebody measured it.
        assumed: u8
    } = 69, "single-point", Warning, sourced!(SeenAtOneRemove, "two or three buffers that bracket the sample: USGS TM 9-A6.4 (2021)");
    /// The points scatter more than their stated uncertainties allow once in a hundred times.
    PhPointsContradict {
        /// Sum of the squared residuals in units of the stated uncertainties.
        chi_squared: f64,
        /// The 99 % quantile.
        limit: f64
    } = 70, "ph-points-contradict", Warning, CHI_SQUARED;

    // --- A cell constant ---
    /// The cell constant is one that no cell has.
    CellConstantImpossible {
        /// Cell constant in 1/cm.
        cell_constant_per_cm: f64,
        /// Lowest possible.
        min_per_cm: f64,
        /// Highest possible.
        max_per_cm: f64
    } = 80, "cell-constant-impossible", Refusal, limits::CELL_CONSTANT_POSSIBLE_PER_CM.source;
    /// The cell constant is one that cells are seldom made with.
    CellConstantUnusual {
        /// Cell constant in 1/cm.
        cell_constant_per_cm: f64,
        /// Lowest usual.
        min_per_cm: f64,
        /// Highest usual.
        max_per_cm: f64
    } = 81, "cell-constant-unusual", Warning, limits::CELL_CONSTANT_USUAL_PER_CM.source;
    /// The cell constant is far from every earlier one of this cell: was it changed?
    CellConstantFarFromHistory {
        /// Cell constant in 1/cm.
        cell_constant_per_cm: f64,
        /// The nearest earlier cell constant.
        earlier_per_cm: f64,
        /// Largest change in percent.
        limit_percent: f64
    } = 82, "cell-constant-far-from-history", Warning, limits::CELL_CONSTANT_CHANGE_PERCENT.source;
    /// A standard lies far from what the common cell constant gives, and no other one farther.
    ConductivityResidualLarge {
        /// The point.
        point: u8,
        /// How many points there are; two do not tell which of them is off.
        points: u8,
        /// Residual in percent of the standard.
        residual_percent: f64,
        /// Largest residual, either sign.
        limit_percent: f64
    } = 83, "conductivity-residual-large", Warning, limits::RESIDUAL_PERCENT.source;
    /// The points scatter more than their stated uncertainties allow once in a hundred times.
    ConductivityPointsContradict {
        /// Sum of the squared residuals in units of the stated uncertainties.
        chi_squared: f64,
        /// The 99 % quantile.
        limit: f64
    } = 84, "conductivity-points-contradict", Warning, CHI_SQUARED;
    /// One cell constant contradicted the points, so that each range got a factor of its own.
    RangesDisagree {
        /// Largest distance of a factor from 1 in percent.
        largest_percent: f64
    } = 85, "ranges-disagree", Note, CHI_SQUARED;
    /// A range's own factor is one that no resistor of a range brings.
    RangeFactorImpossible {
        /// The factor that is farthest from 1.
        factor: f64,
        /// Lowest possible.
        min: f64,
        /// Highest possible.
        max: f64
    } = 86, "range-factor-impossible", Refusal, limits::RANGE_FACTOR_POSSIBLE.source;
    /// The cell conducts too much for an empty one in air, or less than nothing.
    CellNotDry {
        /// Conductance in µS.
        conductance_us: f64,
        /// Largest conductance in air, either sign.
        limit_us: f64
    } = 90, "cell-not-dry", Refusal, limits::ZERO_US.source;
    /// The conductance in air has not come to rest.
    ZeroNotSettled {
        /// Drift in µS per minute.
        drift_us_per_min: f64,
        /// Upper estimate of the change still to come, in µS.
        to_come_us: f64,
        /// Largest change still to come.
        limit_us: f64,
        /// Standard deviation about that drift in µS.
        scatter_us: f64,
        /// How long it was waited for, in s of probe time.
        waited_s: f64
    } = 91, "zero-not-settled", Warning, "accept only when settled: common practice, no source";
    /// The conductance in air was measured.
    ZeroMeasured {
        /// In µS.
        zero_us: f64,
        /// Its standard uncertainty.
        u_us: f64
    } = 92, "zero-measured", Note, BY_DEFINITION;
    /// The conductance in air is that of the calibration in force.
    ZeroCarriedOver {
        /// In µS.
        zero_us: f64,
        /// Its standard uncertainty.
        u_us: f64
    } = 93, "zero-carried-over", Note, BY_DEFINITION;

    // --- Before and after ---
    /// Every point read within tolerance under the calibration in force.
    PhAsFoundWithinTolerance {
        /// Largest difference in pH, either sign.
        largest_ph: f64,
        /// Tolerance in pH.
        tolerance_ph: f64
    } = 100, "ph-as-found-within-tolerance", Note, limits::AS_FOUND_PH.source;
    /// Some point read outside tolerance under the calibration in force.
    PhAsFoundOutsideTolerance {
        /// Largest difference in pH, either sign.
        largest_ph: f64,
        /// Tolerance in pH.
        tolerance_ph: f64
    } = 101, "ph-as-found-outside-tolerance", Note, limits::AS_FOUND_PH.source;
    /// Every point read within tolerance under the calibration in force.
    ConductivityAsFoundWithinTolerance {
        /// Largest difference in percent, either sign.
        largest_percent: f64,
        /// Tolerance in percent.
        tolerance_percent: f64
    } = 102, "conductivity-as-found-within-tolerance", Note, limits::AS_FOUND_PERCENT.source;
    /// Some point read outside tolerance under the calibration in force.
    ConductivityAsFoundOutsideTolerance {
        /// Largest difference in percent, either sign.
        largest_percent: f64,
        /// Tolerance in percent.
        tolerance_percent: f64
    } = 103, "conductivity-as-found-outside-tolerance", Note, limits::AS_FOUND_PERCENT.source;
    /// After adjustment the last buffer still reads off.
    PhAsLeftOff {
        /// The buffer's pH.
        expected_ph: f64,
        /// pH found.
        found_ph: f64,
        /// Largest difference.
        limit_ph: f64
    } = 104, "ph-as-left-off", Warning, limits::AS_LEFT_PH.source;
    /// After adjustment the last standard still reads off.
    ConductivityAsLeftOff {
        /// The standard's conductivity in µS/cm.
        expected_us_cm: f64,
        /// Conductivity in µS/cm found.
        found_us_cm: f64,
        /// Largest difference in percent.
        limit_percent: f64
    } = 105, "conductivity-as-left-off", Warning, limits::AS_LEFT_PERCENT.source;
    /// There is no calibration in force that an as-found could be read with.
    NoEarlierCalibration {} = 106, "no-earlier-calibration", Note, BY_DEFINITION;

    // --- The water ---
    /// The water is far more dilute than any buffer: its junction potential is another one.
    WaterDilute {
        /// Conductivity at 25 °C in µS/cm.
        conductivity_us_cm: f64,
        /// Below this it is dilute.
        limit_us_cm: f64,
        /// Standard uncertainty in pH that the residual junction potential gives.
        u_ph: f64
    } = 120, "water-dilute", Note, ionic_strength::DILUTE_SOURCE;
    /// The water holds far more salt than any buffer, and its pH is not one on the total scale.
    WaterSalty {
        /// Ionic strength in mol/kg, estimated from the conductivity.
        ionic_strength_mol_kg: f64,
        /// Above this it is salty.
        limit_mol_kg: f64,
        /// Standard uncertainty in pH that the residual junction potential gives.
        u_ph: f64
    } = 121, "water-salty", Note, ionic_strength::SALTY_SOURCE;
    /// Still or stirred, the pH is the same: the junction is healthy.
    StirAlike {
        /// pH stirred minus pH still.
        difference_ph: f64,
        /// Expanded uncertainty of that difference, k = 2.
        expanded_ph: f64,
        /// Largest difference of a healthy junction, either sign.
        limit_ph: f64
    } = 122, "stir-alike", Note, limits::STIR_PH.source;
    /// The pH depends on whether the water moves: the junction is clogged, or not made for the water.
    StirDiffers {
        /// pH stirred minus pH still.
        difference_ph: f64,
        /// Expanded uncertainty of that difference, k = 2.
        expanded_ph: f64,
        /// Largest difference of a healthy junction, either sign.
        limit_ph: f64,
        /// Standard uncertainty in pH that the junction gives in this water.
        u_ph: f64
    } = 123, "stir-differs", Warning, limits::STIR_PH.source;
    /// Whether the pH depends on the water's motion cannot be told.
    StirUnclear {
        /// pH stirred minus pH still.
        difference_ph: f64,
        /// Expanded uncertainty of that difference, k = 2.
        expanded_ph: f64,
        /// Largest difference of a healthy junction, either sign.
        limit_ph: f64,
        /// Standard uncertainty in pH that the junction gives in this water.
        u_ph: f64
    } = 124, "stir-unclear", Note, limits::STIR_PH.source;
    /// The pH of the still or the stirred water did not come to rest, so a mean was taken.
    StirRestless {
        /// Standard uncertainty of that mean in pH.
        u_ph: f64
    } = 125, "stir-restless", Note, "restless in one water, at rest in another: common practice, no source";
    // --- A verification ---
    /// There is no calibration in force that could be verified.
    NothingToVerify {} = 140, "nothing-to-verify", Refusal, BY_DEFINITION;
    /// The probe reads nowhere near the check buffer.
    PhCheckFarOff {
        /// The buffer's pH.
        expected_ph: f64,
        /// pH found.
        found_ph: f64,
        /// Largest difference not worth a question.
        limit_ph: f64
    } = 141, "ph-check-far-off", Warning, limits::LABEL_PH.source;
    /// The probe reads nowhere near the check standard.
    ConductivityCheckFarOff {
        /// The standard's conductivity in µS/cm at its temperature.
        expected_us_cm: f64,
        /// Conductivity in µS/cm found.
        found_us_cm: f64,
        /// Largest difference in percent not worth a question.
        limit_percent: f64
    } = 142, "conductivity-check-far-off", Warning, limits::LABEL_PERCENT.source;
    /// The check standard is the calibration's own bottle, or another one of its lot.
    CheckNotIndependent {} = 143, "check-not-independent", Note, INDEPENDENT;
    /// The check standard is of a solution that the calibration used, and a lot is not known.
    CheckLotUnknown {} = 144, "check-lot-unknown", Note, INDEPENDENT;
    /// The standard alone is so uncertain that no reading could pass.
    CheckCannotPass {
        /// Expanded uncertainty (k = 2) of the standard in pH, µS/cm or K.
        expanded: f64,
        /// Largest difference that conforms.
        limit: f64
    } = 145, "check-cannot-pass", Note, sourced!(Recalled, "guard bands of U on either side meet, JCGM 106:2012");

    // --- A thermometer ---
    /// Every point read within tolerance under the calibration in force.
    TemperatureAsFoundWithinTolerance {
        /// Largest difference in K, either sign.
        largest_k: f64,
        /// Tolerance in K.
        tolerance_k: f64
    } = 160, "temperature-as-found-within-tolerance", Note, limits::AS_FOUND_K.source;
    /// Some point read outside tolerance under the calibration in force.
    TemperatureAsFoundOutsideTolerance {
        /// Largest difference in K, either sign.
        largest_k: f64,
        /// Tolerance in K.
        tolerance_k: f64
    } = 161, "temperature-as-found-outside-tolerance", Note, limits::AS_FOUND_K.source;
    /// After adjustment the thermometer still reads off.
    TemperatureAsLeftOff {
        /// The reference's temperature in °C.
        expected_c: f64,
        /// Temperature in °C found.
        found_c: f64,
        /// Largest difference in K.
        limit_k: f64
    } = 162, "temperature-as-left-off", Warning, limits::AS_LEFT_K.source;
    /// The correction is larger than a sound thermometer needs.
    ThermometerOffsetLarge {
        /// Correction in K.
        offset_k: f64,
        /// Largest correction, either sign.
        limit_k: f64
    } = 163, "thermometer-offset-large", Warning, limits::THERMOMETER_OFFSET_K.source;
    /// The reference's own calibration is past its date.
    ReferenceOverdue {
        /// The point.
        point: u8,
        /// Days since then.
        days: i32
    } = 164, "reference-overdue", Warning, "a reference is trusted until its certificate's date: common practice, no source";
    /// The reference is no better than the thermometer.
    ReferenceCoarse {
        /// The point.
        point: u8,
        /// Its standard uncertainty in K.
        u_k: f64,
        /// That of an uncalibrated thermometer.
        limit_k: f64
    } = 165, "reference-coarse", Note, limits::REFERENCE_COARSE_K.source;
    /// One point tells an offset and nothing of the gain.
    ThermometerOnePoint {} = 166, "thermometer-one-point", Note, BY_DEFINITION;
    /// The points are too close to each other to tell a gain.
    ThermometerPointsClose {
        /// From the coldest to the warmest in K.
        span_k: f64,
        /// Least distance.
        least_k: f64
    } = 167, "thermometer-points-close", Note, limits::THERMOMETER_SPAN_K.source;
    /// The resistance is not one that this kind of thermometer has.
    ThermometerOfOtherKind {
        /// The resistance in Ω.
        resistance_ohm: f64
    } = 168, "thermometer-of-other-kind", Refusal, "range of the thermometer's relation";
    /// Reference and probe are too far apart to be beside each other.
    ReferenceFarFromReading {
        /// The point.
        point: u8,
        /// What the reference says in °C.
        reference_c: f64,
        /// What the probe reads in °C.
        found_c: f64,
        /// Largest distance in K.
        limit_k: f64
    } = 169, "reference-far-from-reading", Refusal, limits::REFERENCE_FAR_K.source;
    /// The reference was read too long after the probe had settled.
    ReferenceReadLate {
        /// How long it took, in s.
        waited_s: f64,
        /// Longest wait in s.
        limit_s: f64
    } = 170, "reference-read-late", Note, limits::REFERENCE_READ_MS.source;
    /// No bath of a calibration is that warm or cold.
    ReferenceImpossible {
        /// What was said, in °C.
        reference_c: f64,
        /// Coldest that can be meant.
        min_c: f64,
        /// Warmest that can be meant.
        max_c: f64
    } = 171, "reference-impossible", Note, BY_DEFINITION;
    /// A point does not fit the correction that all points together give.
    ThermometerResidualLarge {
        /// The point.
        point: u8,
        /// Residual in K.
        residual_k: f64,
        /// Largest residual, either sign.
        limit_k: f64
    } = 172, "thermometer-residual-large", Warning, limits::THERMOMETER_RESIDUAL.source;
}

#[cfg(test)]
#[path = "judgement_tests.rs"]
mod tests;
