//! What a verification record says, as numbers to decide with.

use rillmark_proto::reading::RawConductance;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationResult, Signal};
use rillmark_proto::units::{Celsius, Microsiemens, Millivolts};

use crate::decision::COVERAGE_FACTOR;
use crate::uncertainty::conductivity::ConductivityUncertainty;
use crate::uncertainty::ph::PhUncertainty;
use crate::uncertainty::{conductivity, ph};

/// How well a verification shows a probe's error.
pub trait Verified {
    /// Expanded uncertainty (k = 2) with which [`VerificationRecord::difference`] shows the probe's error.
    ///
    /// The standard's own uncertainty counts in full, also in the bottle of the calibration: there the
    /// bottle's error is in the probe's too, and no difference shows it.
    #[must_use]
    fn expanded_uncertainty(&self) -> f64;

    /// Standard uncertainty of what the calibration that was verified makes wrong in this reading, in the unit
    /// of [`VerificationRecord::difference`]: what its points leave, and gain, isopotential pH, zero or an uncalibrated
    /// range.
    ///
    /// It is no part of [`VerificationRecord::found_uncertainty`], and belongs beside it where the difference is to tell
    /// what has changed since that calibration. `None` for a calibration of another quantity, or under which
    /// the reading has no value.
    #[must_use]
    fn calibration_uncertainty(&self, verified: &CalibrationResult) -> Option<f64>;
}

impl Verified for VerificationRecord {
    fn expanded_uncertainty(&self) -> f64 {
        COVERAGE_FACTOR * libm::hypot(self.found_uncertainty, self.point.value_uncertainty)
    }

    fn calibration_uncertainty(&self, verified: &CalibrationResult) -> Option<f64> {
        let at = Celsius::new(self.point.temperature_c);
        match (verified, self.point.signal) {
            (CalibrationResult::Ph(electrode), Signal::PotentialNv(nv)) => {
                use ph::Cause::{Calibration, Gain, Isopotential};
                let potential = Millivolts::new(f64::from(nv) / 1e6);
                let conditions = ph::Conditions::new(potential, 0.0, None);
                let budget = electrode.budget(potential, at, &conditions)?;
                let parts = [Calibration, Gain, Isopotential].map(|cause| budget.of(cause).u_ph);
                Some(root_of_squares(parts))
            }
            (CalibrationResult::Conductivity(cell), Signal::Conductance(raw)) => {
                use conductivity::Cause::{Calibration, Range, Zero};
                let RawConductance { conductance_ps, range } = raw;
                let conductance = Microsiemens::new(conductance_ps as f64 / 1e6);
                let conditions = conductivity::Conditions::new(conductance, range, 0.0);
                let budget = cell.budget(conductance, range, &conditions)?;
                let parts = [Calibration, Zero, Range].map(|cause| budget.of(cause).relative);
                Some(libm::fabs(budget.value.get()) * root_of_squares(parts))
            }
            (CalibrationResult::Temperature(thermometer), Signal::ThermometerMilliohm(_)) => {
                Some(thermometer.standard_uncertainty(at))
            }
            _ => None,
        }
    }
}

fn root_of_squares(parts: [f64; 3]) -> f64 {
    libm::sqrt(parts.iter().map(|part| part * part).sum())
}

#[cfg(test)]
mod tests {
    use rillmark_proto::identity::{BoardId, ShortId};
    use rillmark_proto::record::fitted::Fitted;
    use rillmark_proto::record::verification::{Independence, Limit, Verdict};
    use rillmark_proto::record::{Point, Settling};

    use super::*;
    use crate::decision::Tolerance;

    fn record() -> VerificationRecord {
        let settling = Settling {
            settled: true,
            drift_per_min: 0.0,
            scatter: 0.0,
            waited_ms: 0,
            time_constant_s: None,
        };
        let limit = Limit {
            lower: -0.25,
            upper: 0.25,
            profile: Default::default(),
            source: Default::default(),
        };
        let point = Point {
            standard: Default::default(),
            lot: Default::default(),
            expiry_days: None,
            opened_days: None,
            single_use: false,
            dissolved: None,
            certificate: Default::default(),
            basis: None,
            value: 7.421875,
            value_uncertainty: 0.0078125,
            value_per_kelvin: 0.0,
            temperature_c: 25.0,
            signal: Signal::PotentialNv(-26_000_000),
            as_found: None,
            settling,
        };
        VerificationRecord {
            board: BoardId([0; 8]),
            fitted: Fitted::default(),
            utc_ms: 0,
            operator: Default::default(),
            calibration: ShortId([0; 4]),
            point,
            found: 7.4375,
            found_uncertainty: 0.015625,
            limit,
            verdict: Verdict::Pass,
            independence: Independence::Independent,
            overrides: Default::default(),
        }
    }

    /// By hand: 2·√(0.015625² + 0.0078125²).
    #[test]
    fn a_verification_gives_its_expanded_uncertainty_and_tolerance() {
        let record = record();
        assert!(libm::fabs(record.expanded_uncertainty() - 0.034_938_56) < 1e-8);
        let tolerance = Tolerance::of(&record.limit).map(|t| (t.lower(), t.upper()));
        assert_eq!(tolerance, Ok((Some(-0.25), Some(0.25))));
    }
}
