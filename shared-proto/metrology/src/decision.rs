//! Whether a measured value conforms: pass, fail, or cannot tell.
//!
//! After JCGM 106:2012, *The role of measurement uncertainty in conformity assessment* (REFERENCES 21;
//! recalled, not checked). The value passes when it lies inside the tolerance by at least its expanded
//! uncertainty (guarded acceptance, clause 8.3.2), fails when it lies outside by more than that
//! (guarded rejection, clause 8.3.3), and in between its uncertainty straddles a limit: nobody can
//! tell. The guard band is w = U with k = 2, so at one limit a pass or a fail is wrong with a
//! probability of at most 2.3 % (computed).

use rillmark_proto::record::verification::{Limit, Verdict};

/// Coverage factor of the expanded uncertainty and so of the guard band: about 95 % (JCGM 100:2008,
/// 6.3.3; recalled, not checked).
pub const COVERAGE_FACTOR: f64 = 2.0;

/// What a measured value is allowed to be, in the unit of that value.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    lower: Option<f64>,
    upper: Option<f64>,
}

/// Why there is no decision.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DecisionError {
    /// The lower limit is not below the upper, or one of them is not a finite number.
    UnusableTolerance {
        /// Lower limit.
        lower: f64,
        /// Upper limit.
        upper: f64,
    },
    /// The measured value is not a finite number.
    UnusableValue {
        /// What was given.
        got: f64,
    },
    /// A standard uncertainty is a finite number and not below 0.
    UnusableUncertainty {
        /// What was given.
        got: f64,
    },
}

impl core::fmt::Display for DecisionError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match self {
            Self::UnusableTolerance { lower, upper } => {
                write!(f, "{lower} to {upper} is no tolerance interval")
            }
            Self::UnusableValue { got } => write!(f, "{got} is no measured value"),
            Self::UnusableUncertainty { got } => write!(f, "{got} is no standard uncertainty"),
        }
    }
}

impl core::error::Error for DecisionError {}

impl Tolerance {
    /// What a verification's difference may be.
    ///
    /// # Errors
    /// [`DecisionError::UnusableTolerance`] when the limits are not finite numbers in rising order.
    pub fn of(limit: &Limit) -> Result<Self, DecisionError> {
        Self::between(limit.lower, limit.upper)
    }

    /// Not below a limit.
    ///
    /// # Errors
    /// [`DecisionError::UnusableTolerance`] with a limit that is not a finite number.
    pub fn at_least(lower: f64) -> Result<Self, DecisionError> {
        Self::checked(Some(lower), None)
    }

    /// Not above a limit.
    ///
    /// # Errors
    /// As [`Self::at_least`].
    pub fn at_most(upper: f64) -> Result<Self, DecisionError> {
        Self::checked(None, Some(upper))
    }

    /// From a limit to another; both conform.
    ///
    /// # Errors
    /// [`DecisionError::UnusableTolerance`] when the limits are not finite numbers in rising order.
    pub fn between(lower: f64, upper: f64) -> Result<Self, DecisionError> {
        Self::checked(Some(lower), Some(upper))
    }

    fn checked(lower: Option<f64>, upper: Option<f64>) -> Result<Self, DecisionError> {
        let (low, high) = (lower.unwrap_or(f64::MIN), upper.unwrap_or(f64::MAX));
        if low.is_finite() && high.is_finite() && low < high {
            Ok(Self { lower, upper })
        } else {
            Err(DecisionError::UnusableTolerance { lower: low, upper: high })
        }
    }

    /// The smallest conforming value, where there is one.
    pub const fn lower(&self) -> Option<f64> {
        self.lower
    }

    /// The largest conforming value, where there is one.
    pub const fn upper(&self) -> Option<f64> {
        self.upper
    }

    /// How far inside the nearer limit a value lies; below 0 when it lies outside.
    fn inside_by(&self, value: f64) -> f64 {
        let from_lower = self.lower.map_or(f64::INFINITY, |limit| value - limit);
        let from_upper = self.upper.map_or(f64::INFINITY, |limit| limit - value);
        libm::fmin(from_lower, from_upper)
    }

    /// True when no value of this standard uncertainty could pass, because the guard bands meet: a
    /// better measurement is needed before the question makes sense.
    pub fn is_narrower_than_guard_bands(&self, standard_uncertainty: f64) -> bool {
        match (self.lower, self.upper) {
            (Some(lower), Some(upper)) => {
                upper - lower < 2.0 * COVERAGE_FACTOR * standard_uncertainty
            }
            _ => false,
        }
    }
}

/// A verdict with the numbers behind it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Decision {
    /// What can be said.
    pub verdict: Verdict,
    /// Probability that the true value conforms, 0 to 1, when what is known about it is a normal
    /// distribution about the measured value.
    pub conformance_probability: f64,
    /// The expanded uncertainty, k = 2, in the unit of the value.
    pub expanded_uncertainty: f64,
}

/// Decides whether a measured value conforms.
///
/// A standard uncertainty of 0 means that the value is exact; then there is always a pass or a fail.
///
/// # Errors
/// [`DecisionError`] when the value is not a finite number, or the uncertainty is not one or is
/// negative.
pub fn decide(
    measured: f64,
    standard_uncertainty: f64,
    tolerance: &Tolerance,
) -> Result<Decision, DecisionError> {
    let conformance_probability =
        conformance_probability(measured, standard_uncertainty, tolerance)?;
    let expanded_uncertainty = COVERAGE_FACTOR * standard_uncertainty;
    let inside_by = tolerance.inside_by(measured);
    let verdict = if inside_by >= expanded_uncertainty {
        Verdict::Pass
    } else if inside_by < -expanded_uncertainty {
        Verdict::Fail
    } else {
        Verdict::CannotTell
    };
    Ok(Decision { verdict, conformance_probability, expanded_uncertainty })
}

/// The probability that the true value conforms, 0 to 1 (JCGM 106:2012, 7.3 and 7.4).
///
/// Tails are computed as tails, so even 1e-300 keeps its digits; absolute error below 1e-15.
///
/// # Errors
/// As [`decide`].
pub fn conformance_probability(
    measured: f64,
    standard_uncertainty: f64,
    tolerance: &Tolerance,
) -> Result<f64, DecisionError> {
    if !measured.is_finite() {
        return Err(DecisionError::UnusableValue { got: measured });
    }
    if !(standard_uncertainty.is_finite() && standard_uncertainty >= 0.0) {
        return Err(DecisionError::UnusableUncertainty { got: standard_uncertainty });
    }
    if standard_uncertainty == 0.0 {
        return Ok(if tolerance.inside_by(measured) >= 0.0 { 1.0 } else { 0.0 });
    }
    let from = tolerance.lower.map_or(f64::NEG_INFINITY, |t| (t - measured) / standard_uncertainty);
    let to = tolerance.upper.map_or(f64::INFINITY, |t| (t - measured) / standard_uncertainty);
    Ok(normal_between(from, to))
}

/// The part of the standard normal distribution from `from` to `to`, `from` ≤ `to`.
///
/// On one side of 0 it is the difference of the two small tails there, not of two numbers near 1.
fn normal_between(from: f64, to: f64) -> f64 {
    if from > 0.0 {
        normal_below(-from) - normal_below(-to)
    } else if to < 0.0 {
        normal_below(to) - normal_below(from)
    } else {
        1.0 - normal_below(from) - normal_below(-to)
    }
}

/// The part of the standard normal distribution below `z`, Φ(z) = erfc(−z/√2)/2.
fn normal_below(z: f64) -> f64 {
    0.5 * libm::erfc(-z * core::f64::consts::FRAC_1_SQRT_2)
}

#[cfg(test)]
mod tests;
