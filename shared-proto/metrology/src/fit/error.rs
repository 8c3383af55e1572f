//! Why points gave no coefficients.

use rillmark_proto::reference::OutOfRange;

/// Why points gave no coefficients. Points are counted from 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FitError {
    /// There are fewer points than coefficients to find.
    TooFewPoints {
        /// Points given.
        got: usize,
        /// Fewest points.
        need: usize,
    },
    /// A number of a point is infinite or not a number.
    NotFinite {
        /// The point.
        point: usize,
        /// Which quantity, with its unit.
        what: &'static str,
    },
    /// A number of a point is outside what can be meant.
    OutOfRange {
        /// The point.
        point: usize,
        /// Which quantity, the number, and the valid range.
        range: OutOfRange,
    },
    /// The same pH everywhere: any slope fits.
    SamePh {
        /// The lowest pH.
        lowest: f64,
        /// The highest pH.
        highest: f64,
    },
    /// The points scatter as far as they extend: no line comes to rest among them.
    Scattered,
    /// The points do not tell the isopotential pH better than it is known without them.
    IsopotentialUnknown {
        /// The standard uncertainty in pH that they would leave; infinite when they say nothing.
        standard_uncertainty: f64,
    },
    /// The temperature coefficient of the compensation is outside its valid range.
    Compensation(OutOfRange),
}

impl core::fmt::Display for FitError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::TooFewPoints { got, need } => write!(f, "{got} points given, {need} needed"),
            Self::NotFinite { point, what } => write!(f, "point {point}: {what} is not finite"),
            Self::OutOfRange { point, range } => write!(f, "point {point}: {range}"),
            Self::SamePh { lowest, highest } => {
                write!(f, "pH reaches only from {lowest} to {highest}")
            }
            Self::Scattered => f.write_str("the points scatter as far as they extend"),
            Self::IsopotentialUnknown { standard_uncertainty } => {
                write!(f, "the isopotential pH would be uncertain by {standard_uncertainty}")
            }
            Self::Compensation(range) => write!(f, "{range}"),
        }
    }
}

impl core::error::Error for FitError {}

/// Lets a number of a point through when it is finite and from `min` to `max`, both included.
pub(super) fn check(
    point: usize,
    what: &'static str,
    got: f64,
    (min, max): (f64, f64),
) -> Result<f64, FitError> {
    if !got.is_finite() {
        return Err(FitError::NotFinite { point, what });
    }
    if rillmark_proto::calibration::within(got, (min, max)) {
        Ok(got)
    } else {
        Err(FitError::OutOfRange { point, range: OutOfRange { what, got, min, max } })
    }
}
