//! How a sensor drifts from calibration to calibration.

use serde::{Deserialize, Serialize};

/// How one coefficient drifts: a rate that is the sensor's own, and a walk about it.
///
/// Without a check for `d` days the coefficient is off by a standard uncertainty whose square is
/// `walk_per_day · d + (rate_per_day² + rate_uncertainty²) · d²`: a reading is not corrected for the
/// rate, so all of it is doubt.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Drift {
    /// Rate in the coefficient's unit per day.
    pub rate_per_day: f32,
    /// Standard uncertainty of that rate.
    pub rate_uncertainty: f32,
    /// What the walk adds to the coefficient's variance in a day, in the square of its unit.
    pub walk_per_day: f32,
    /// How many differences of successive calibrations this rests on; 0 is the default of its kind.
    pub differences: u16,
}

/// How the coefficients of one sensor drift.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum SensorDrift {
    /// An electrode.
    Electrode {
        /// Its offset, in mV.
        offset_mv: Drift,
        /// Its slope fraction.
        slope: Drift,
    },
    /// A cell: the logarithm of its constant, that is its relative change.
    Cell {
        /// Relative (1 = 100 %).
        relative: Drift,
    },
    /// A thermometer: its offset.
    Thermometer {
        /// In K.
        offset_k: Drift,
    },
}

const fn usual(rate_uncertainty: f32, walk_per_day: f32) -> Drift {
    Drift { rate_per_day: 0.0, rate_uncertainty, walk_per_day, differences: 0 }
}

impl SensorDrift {
    /// An electrode of which nothing is known.
    pub const ELECTRODE: Self =
        Self::Electrode { offset_mv: usual(0.2, 0.25), slope: usual(2e-4, 1e-6) };
    /// A cell of which nothing is known.
    pub const CELL: Self = Self::Cell { relative: usual(5e-5, 1e-6) };
    /// A thermometer of which nothing is known.
    pub const THERMOMETER: Self = Self::Thermometer { offset_k: usual(5e-5, 1e-7) };

    /// The drift of each coefficient.
    pub fn each(&self) -> impl Iterator<Item = &Drift> {
        let (first, second) = match self {
            Self::Electrode { offset_mv, slope } => (offset_mv, Some(slope)),
            Self::Cell { relative: only } | Self::Thermometer { offset_k: only } => (only, None),
        };
        core::iter::once(first).chain(second)
    }
}
