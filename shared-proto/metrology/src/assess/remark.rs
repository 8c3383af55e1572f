//! What is to be said beside a value that its ± does not say.

use rillmark_proto::record::Quantity;

/// A remark on one reading. Each is about something that a symmetric uncertainty does not hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Remark {
    /// The pH lies far outside the buffers of its calibration.
    OutsideBuffers {
        /// How far beyond the outermost one, above or (negative) below.
        beyond_ph: f64,
        /// That buffer's pH.
        buffer_ph: f64,
    },
    /// The conductivity lies far outside the standards of its calibration.
    OutsideStandards {
        /// How many times the outermost one it is; below 1 when it is lower.
        times: f64,
        /// That standard's conductivity in µS/cm.
        standard_us_cm: f64,
    },
    /// Glass may read low: the true pH may be higher.
    AlkalineError {
        /// By how much at most, as the model has it; `None` where it knows no end.
        up_to_ph: Option<f64>,
        /// The sodium that was assumed, in mol/kg.
        sodium_mol_kg: f64,
    },
    /// Glass reads high: the true pH may be lower, nobody knows by how much.
    AcidError,
    /// The water's ionic strength is unlike the buffers'.
    UnlikeBuffers {
        /// Ionic strength in mol/kg.
        ionic_strength_mol_kg: f64,
    },
    /// The water is acid: hydrogen ions conduct otherwise than the compensation takes for granted, so that
    /// the specific conductance may be off by more than its uncertainty.
    AcidWater {
        /// By about how many percent it is too high (or, negative, too low).
        high_percent: f64,
    },
    /// The electrode had not come to rest behind its membrane: nobody knows how far off the pH is, and
    /// nothing is said of its uncertainty.
    NotSettled,
    /// The supply of the drive, or the cell, changed by a step while the cell was read: nobody knows how far off its
    /// conductivities are, and nothing is said of their uncertainty.
    CellChanged,
    /// The record of the calibration is not to be had: nothing can be said of the value.
    RecordMissing {
        /// Of which quantity.
        quantity: Quantity,
    },
    /// The newest verification of the calibration failed.
    VerificationFailed {
        /// Which one.
        quantity: Quantity,
    },
    /// The calibration is overdue.
    Overdue {
        /// Which one.
        quantity: Quantity,
        /// For how many days.
        days: f64,
    },
    /// The calibration was made after the reading, by the clocks: its age, and with it the drift, is not
    /// known.
    CalibratedLater {
        /// Which one.
        quantity: Quantity,
        /// How many days after.
        days: f64,
    },
    /// Nobody knows when the reading was taken: the age of its calibrations, and with it the drift, is not
    /// known.
    NoClock,
}

impl Remark {
    /// The name that machine-readable output gives it.
    #[must_use]
    pub const fn code(&self) -> &'static str {
        match self {
            Self::OutsideBuffers { .. } => "outside-buffers",
            Self::OutsideStandards { .. } => "outside-standards",
            Self::AlkalineError { .. } => "alkaline-error",
            Self::AcidError => "acid-error",
            Self::UnlikeBuffers { .. } => "unlike-buffers",
            Self::AcidWater { .. } => "acid-water",
            Self::NotSettled => "not-settled",
            Self::CellChanged => "cell-changed",
            Self::RecordMissing { .. } => "record-missing",
            Self::VerificationFailed { .. } => "verification-failed",
            Self::Overdue { .. } => "overdue",
            Self::CalibratedLater { .. } => "calibrated-later",
            Self::NoClock => "no-clock",
        }
    }

    /// Which quantity it is about; `None` when it is about all of them.
    #[must_use]
    pub const fn quantity(&self) -> Option<Quantity> {
        match self {
            Self::OutsideBuffers { .. }
            | Self::AlkalineError { .. }
            | Self::AcidError
            | Self::NotSettled
            | Self::UnlikeBuffers { .. } => Some(Quantity::Ph),
            Self::OutsideStandards { .. } | Self::AcidWater { .. } | Self::CellChanged => {
                Some(Quantity::Conductivity)
            }
            Self::Overdue { quantity, .. }
            | Self::CalibratedLater { quantity, .. }
            | Self::RecordMissing { quantity }
            | Self::VerificationFailed { quantity } => Some(*quantity),
            Self::NoClock => None,
        }
    }

    /// True when both say the same of the same quantity, with whatever numbers.
    #[must_use]
    pub fn is_like(&self, other: &Self) -> bool {
        self.code() == other.code() && self.quantity() == other.quantity()
    }

    /// How much is to be said: the larger of two alike is the worse one.
    pub(super) fn size(&self) -> f64 {
        match *self {
            Self::OutsideBuffers { beyond_ph, .. } => libm::fabs(beyond_ph),
            // A cell in air conducts less than nothing.
            Self::OutsideStandards { times, .. } if times <= 0.0 => f64::INFINITY,
            Self::OutsideStandards { times, .. } => libm::fabs(libm::log(times)),
            Self::AlkalineError { up_to_ph, .. } => up_to_ph.unwrap_or(f64::INFINITY),
            Self::UnlikeBuffers { ionic_strength_mol_kg } => ionic_strength_mol_kg,
            Self::Overdue { days, .. } | Self::CalibratedLater { days, .. } => days,
            Self::AcidWater { high_percent } => libm::fabs(high_percent),
            Self::AcidError
            | Self::NotSettled
            | Self::CellChanged
            | Self::NoClock
            | Self::RecordMissing { .. }
            | Self::VerificationFailed { .. } => 0.0,
        }
    }
}
