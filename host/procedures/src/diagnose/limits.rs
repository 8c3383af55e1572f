//! Every limit that a sign is graded by: below the first number it is absent, above the last it is
//! present, and between them it says neither; beyond the middle one that is told.

use crate::routine::limits::{
    COMMON_PRACTICE, RESIDUAL_PERCENT, RESIDUAL_PH, SLOPE_BAND_PERCENT, STIR_PH as STIR_LIMIT,
};
use rillmark_proto::reference::sourced;

/// The numbers with the source of the last.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Below this no probe with a cause of the sign comes.
    pub absent: f64,
    /// Up to here healthy probes come: 99 % of the simulated ones at least.
    pub usual: f64,
    /// From here on no healthy probe comes.
    pub present: f64,
    /// Where the last number comes from.
    pub source: &'static str,
}

pub(super) const fn practice(absent: f64, present: f64) -> Band {
    Band { absent, usual: absent, present, source: COMMON_PRACTICE }
}

/// Missing slope in percent of Nernst: 95 % and more need no attention.
pub const SLOPE_MISSING: Band =
    Band { absent: 3.5, usual: 4.2, present: 5.0, source: SLOPE_BAND_PERCENT.source };
/// A slope with a larger standard uncertainty in percent of Nernst is not known to be good.
pub const SLOPE_KNOWN_PERCENT: f64 = 2.0;
/// Coefficients in use may be this far in pH from those that their points give. Twice what a calibration that
/// leaves them as they were allows.
pub const PARTED_PH: f64 = 2.0 * RESIDUAL_PH.value;
/// The same in percent of a conductivity.
pub const PARTED_PERCENT: f64 = 2.0 * RESIDUAL_PERCENT.value;
/// Fall of the slope in percent of Nernst since the last calibration.
pub const SLOPE_FALL: Band = practice(2.5, 5.0);
/// Offset in mV from 0, where no earlier one is known.
pub const OFFSET: Band = practice(18.0, 30.0);
/// Change of the offset in mV since the last calibration.
pub const OFFSET_CHANGE: Band = Band { usual: 7.0, ..practice(4.0, 15.0) };
/// The same within [`SAME_DAY_MS`]: what two calibrations' bottles, temperatures and rests differ by, and
/// hardly any drift. Simulated ones differ by 1.5 mV.
pub const OFFSET_CHANGE_SAME_DAY: Band = practice(4.0, 15.0);
/// A day in ms.
pub const SAME_DAY_MS: i64 = 86_400_000;
/// Distance of the buffers from one line, in standard uncertainties.
pub const BUFFERS: Band = practice(2.5, 3.5);
/// Seconds to 95 % of a step.
pub const RESPONSE_S: Band = Band {
    absent: 8.0,
    usual: 15.0,
    present: 30.0,
    source: "95 % of a buffer's step within 30 to 60 s: common practice, no source",
};
/// Seconds until the settling rule is met in a buffer.
pub const SETTLING_S: Band = Band {
    absent: 40.0,
    usual: 115.0,
    present: 120.0,
    source: sourced!(Seen, "stable within 2 min below pH 5: Covington and Davison, CRC Handbook"),
};
/// Drift in mV/min at rest.
pub const DRIFT: Band = practice(0.2, 0.5);
/// The same up in one beaker and down in another.
pub const DRIFT_TURNS: Band = practice(0.2, 0.5);
/// Readings without a potential in the last minutes of stays: one may be a knock on the cable.
pub const MISSING: Band = practice(1.0, 3.0);
/// Scatter in mV about that drift.
pub const SCATTER: Band = practice(0.1, 0.3);
/// Scatter in mV from one reading to the next.
pub const SHAKE: Band = practice(0.015, 0.04);
/// Between stirred and still water, in pH of a whole slope.
pub const STIR_PH: Band =
    Band { absent: 0.01, usual: 0.01, present: 0.02, source: STIR_LIMIT.source };
/// Fall of the slope in percent of itself in buffers that are colder.
pub const COLD_FALL: Band = Band { usual: 2.0, ..practice(1.5, 3.0) };
/// Change of the cell constant in percent.
pub const CELL_CHANGE: Band = Band { usual: 3.2, ..practice(2.0, 5.0) };
/// The same against a maker's figure.
pub const CELL_NOMINAL: Band = practice(10.0, 20.0);
/// Largest step of the conductance in percent.
pub const JUMP: Band = Band { usual: 0.5, ..practice(0.4, 1.0) };
/// Difference of two standards in percent.
pub const STANDARDS: Band =
    Band { absent: 1.8, usual: 2.2, present: 3.0, source: RESIDUAL_PERCENT.source };
/// Difference from a reference thermometer in K.
pub const THERMOMETER: Band = Band { usual: 0.58, ..practice(0.5, 0.6) };
/// Change of the temperature in K/min two minutes after the probe was placed. A beaker from a refrigerator
/// warms by some 0.3 K/min.
pub const TEMPERATURE_DRIFT: Band = practice(0.4, 0.8);

/// One description of the scatter is better than the other when what it leaves unexplained is below
/// this part of what the other one leaves; one minute of wandering is known to some 40 % only.
pub const CLEARLY_BETTER: f64 = 0.5;
/// Far from 0 mV is this far at least, in mV: a tenth of it, which a leak's restlessness is, has to
/// show …
pub const FAR_MV: f64 = 6.0;
/// … and this many times as far as near.
pub const FAR_RATIO: f64 = 3.0;
/// Scatter in mV beside which a bottle that is off by 0.15 pH does not stand out.
pub const HIDING_MV: f64 = 0.5;
/// Below this slope in percent of Nernst neither time nor straightness can be told from what is left.
pub const HARDLY_PERCENT: f64 = 50.0;
/// A step can be timed to 95 % when scatter at rest and drift in a minute are below these parts of it.
pub const STEP_MOVES: (f64, f64) = (0.006, 0.0125);
/// A difference between stirred and still water stands out from this many times the deviation of its
/// repetitions …
pub const STIR_DEVIATIONS: f64 = 3.0;
/// … or, where it was not repeated, this many times the scatter.
pub const STIR_SCATTERS: f64 = 3.0;
/// A restless junction shows the water's motion more than this many times as large as its scatter.
pub const STIR_LEAST_SCATTERS: f64 = 1.8;
/// Below this slope in percent of Nernst nothing is left to compare in warm and cold buffers.
pub const LEAST_SLOPE_PERCENT: f64 = 10.0;
/// An offset that a clogged junction alone may shift, in mV.
pub const CLOGGED_MOST_MV: f64 = 25.0;
/// Slope in percent of Nernst that glass loses by age before it is dead.
pub const AGE_MOST_PERCENT: f64 = 25.0;
/// Slope in percent of Nernst that a film of moisture leaves at least: below it, inner and outer
/// solution are connected.
pub const FILM_LEAVES_PERCENT: f64 = 8.0;
/// Slope in percent of Nernst that one bottle, a junction or a thermometer may seem to take.
pub const SEEMING_MOST_PERCENT: (f64, f64, f64) = (20.0, 6.0, 5.0);
/// Difference of two standards in percent that a fouled cell's polarisation makes.
pub const FOULED_MOST_PERCENT: f64 = 6.0;
/// What a wrong thermometer makes of a conductance, in percent per kelvin.
pub const PERCENT_PER_KELVIN: f64 = 2.0;
/// No thermometer is believed to be further off than this without being noticed, in K.
pub const THERMOMETER_MOST_K: f64 = 7.0;
/// A step of the potential below this says nothing about the response, in mV.
pub const LEAST_STEP_MV: f64 = 20.0;
/// Two groups of buffers are compared as warm and cold when they are this far apart, in K.
pub const COLD_K: f64 = 7.0;
