//! What the records say, and what follows from them for one reading.

use crate::drift::Drifting;
use alloc::vec::Vec;

use crate::drift::Check;
use crate::uncertainty::reading::Circumstances;
use rillmark_proto::calibration::drift::{Drift, SensorDrift};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::record::fitted::Serial;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::record::verification::VerificationRecord;
use rillmark_proto::record::{CalibrationRecord, CalibrationResult, Quantity};

use super::remark::Remark;
use super::{Ages, Unresolved, checks};
use crate::span::Span;

const DAY_MS: f64 = 86_400_000.0;
/// Two clocks that disagree by less than an hour say nothing about an age.
pub(super) const HOUR_MS: u64 = 3_600_000;

/// What of a calibration record matters to readings.
#[derive(Clone, Debug)]
pub(super) struct Known {
    result: CalibrationResult,
    utc_ms: i64,
    due_utc_ms: Option<i64>,
    drift: SensorDrift,
    pub(super) span: Option<Span>,
    time_constants_s: Vec<f64>,
    /// The thermometer beside which the sensor was calibrated, as far as anybody named it.
    thermometer: Option<Serial>,
    /// What the calibration found, if it left the coefficients as they were.
    left: Option<Check>,
    slope_left: Option<Check>,
    /// What was found since, in order of time.
    checks: Vec<Check>,
    /// What the calibration states of the coefficient that checks are about; 0 without a check.
    calibration_u: f64,
    /// The newest verification: its day since the calibration, and whether it failed.
    newest: Option<(f64, bool)>,
}

impl Known {
    pub(super) fn new(record: &CalibrationRecord) -> Self {
        let settled = record.points.iter().map(|point| &point.settling);
        Self {
            result: record.result,
            utc_ms: record.utc_ms,
            due_utc_ms: record.due_utc_ms,
            drift: record.drift,
            span: Span::of(record),
            time_constants_s: settled
                .filter_map(|settling| settling.time_constant_s)
                .map(f64::from)
                .collect(),
            thermometer: record.fitted.thermometer.clone(),
            left: checks::of_left_unadjusted(record),
            slope_left: checks::of_slope_left(record),
            checks: Vec::new(),
            calibration_u: 0.0,
            newest: None,
        }
    }

    /// Takes a verification of it. It names the calibration that it is of, so it was made after that one,
    /// whatever the clocks say; what they tell within an hour they tell of the same moment.
    pub(super) fn check(&mut self, verification: &VerificationRecord) {
        let since_ms =
            verification.utc_ms.saturating_sub(self.utc_ms).saturating_sub(HOUR_MS as i64);
        let days = since_ms.max(0) as f64 / DAY_MS;
        let (check, calibration_u) =
            checks::of_verification(verification, &self.result, &self.drift, days);
        self.checks.push(check);
        self.calibration_u = libm::fmax(self.calibration_u, calibration_u);
        self.checks.sort_by(|one, other| one.days.total_cmp(&other.days));
        if self.newest.is_none_or(|(then, _)| then <= days) {
            self.newest = Some((days, verification.verdict == Verdict::Fail));
        }
    }

    /// Whether the newest verification up to an age of so many days failed.
    fn has_failed(&self, days: Option<f64>) -> bool {
        self.newest.is_some_and(|(then, failed)| failed && days.is_none_or(|days| then <= days))
    }

    /// Standard uncertainty that drift has made of the coefficient that checks are about.
    fn drifted(&self, drift: &Drift, days: f64) -> f64 {
        libm::sqrt(drift.variance_after(days, self.calibration_u, self.left.as_ref(), &self.checks))
    }

    /// Whether it was calibrated beside another thermometer than this one.
    fn is_beside_another(&self, thermometer: Option<&Serial>) -> bool {
        self.thermometer.as_ref().zip(thermometer).is_some_and(|(then, now)| then != now)
    }

    pub(super) const fn quantity(&self) -> Quantity {
        match self.result {
            CalibrationResult::Ph(_) => Quantity::Ph,
            CalibrationResult::Conductivity(_) => Quantity::Conductivity,
            CalibrationResult::Temperature(_) => Quantity::Temperature,
        }
    }
}

/// The time constants in s with which a sensor came to rest in its standards, as far as they are known.
pub(super) fn settled(known: &Option<Known>) -> impl Iterator<Item = f64> {
    known.iter().flat_map(|known| known.time_constants_s.iter().copied())
}

/// The calibrations of one reading: those that it names, and those that are applied in their place.
#[derive(Clone, Debug, Default)]
pub(super) struct Standing {
    /// The coefficients that the reading names.
    pub(super) own: Coefficients,
    /// Which of them are not to be had.
    pub(super) unresolved: Unresolved,
    /// The coefficients to compute with.
    pub(super) applied: Coefficients,
    pub(super) ph: Option<Known>,
    pub(super) conductivity: Option<Known>,
    pub(super) temperature: Option<Known>,
}

impl Standing {
    /// A calibration that the reading names.
    pub(super) fn put(&mut self, known: &Known) {
        known.result.put_into(&mut self.own);
        self.apply(known);
    }

    /// A calibration that is applied in its place.
    pub(super) fn apply(&mut self, known: &Known) {
        known.result.put_into(&mut self.applied);
        *match known.quantity() {
            Quantity::Ph => &mut self.ph,
            Quantity::Conductivity => &mut self.conductivity,
            Quantity::Temperature => &mut self.temperature,
        } = Some(known.clone());
    }

    /// A calibration that is named and not to be had.
    pub(super) const fn miss(&mut self, quantity: Quantity) {
        *match quantity {
            Quantity::Ph => &mut self.unresolved.ph,
            Quantity::Conductivity => &mut self.unresolved.conductivity,
            Quantity::Temperature => &mut self.unresolved.temperature,
        } = true;
    }

    /// The age of each calibration in days, what follows from it, and what is to be said about it. What
    /// was done less than an hour in the clock's future was done now.
    pub(super) fn at(
        &self,
        utc_ms: Option<i64>,
        thermometer: Option<&Serial>,
    ) -> (Ages, Circumstances, Vec<Remark>) {
        let mut remarks = Vec::new();
        let each = [&self.ph, &self.conductivity, &self.temperature];
        if utc_ms.is_none() && each.iter().any(|known| known.is_some()) {
            remarks.push(Remark::NoClock);
        }
        let Unresolved { ph, conductivity, temperature } = self.unresolved;
        for (is_missing, quantity) in [
            (ph, Quantity::Ph),
            (conductivity, Quantity::Conductivity),
            (temperature, Quantity::Temperature),
        ] {
            if is_missing {
                remarks.push(Remark::RecordMissing { quantity });
            }
        }
        let mut age = |quantity, known: &Option<Known>| {
            let (known, now) = (known.as_ref()?, utc_ms?);
            // A calendar's milliseconds fit f64's 53 bits.
            let since = |then: i64| now.saturating_sub(then);
            if let Some(due) = known.due_utc_ms.filter(|due| since(*due) > 0) {
                remarks.push(Remark::Overdue { quantity, days: since(due) as f64 / DAY_MS });
            }
            let age_ms = since(known.utc_ms);
            if age_ms < 0 && age_ms.unsigned_abs() > HOUR_MS {
                remarks.push(Remark::CalibratedLater { quantity, days: -(age_ms as f64) / DAY_MS });
                return None;
            }
            Some(age_ms.max(0) as f64 / DAY_MS)
        };
        let ages = Ages {
            ph: age(Quantity::Ph, &self.ph),
            conductivity: age(Quantity::Conductivity, &self.conductivity),
            temperature: age(Quantity::Temperature, &self.temperature),
        };
        for (known, days) in each.into_iter().zip([ages.ph, ages.conductivity, ages.temperature]) {
            if let Some(known) = known.as_ref().filter(|known| known.has_failed(days)) {
                remarks.push(Remark::VerificationFailed { quantity: known.quantity() });
            }
        }
        (ages, self.drifted(&ages, thermometer), remarks)
    }

    fn drifted(&self, ages: &Ages, thermometer: Option<&Serial>) -> Circumstances {
        let beside = |known: &Option<Known>| {
            known.as_ref().is_some_and(|known| known.is_beside_another(thermometer))
        };
        let mut circumstances = Circumstances {
            electrode_beside_another: beside(&self.ph),
            cell_beside_another: beside(&self.conductivity),
            ..Circumstances::default()
        };
        if let (Some(known), Some(days)) = (&self.ph, ages.ph)
            && let SensorDrift::Electrode { offset_mv, slope } = &known.drift
        {
            circumstances.offset_drift_mv = known.drifted(offset_mv, days);
            // Nothing that was found since is taken as being about the slope.
            let left = known.slope_left.as_ref();
            circumstances.slope_drift = libm::sqrt(slope.variance_after(days, 0.0, left, &[]));
        }
        if let (Some(known), Some(days)) = (&self.conductivity, ages.conductivity)
            && let SensorDrift::Cell { relative } = &known.drift
        {
            circumstances.cell_drift = known.drifted(relative, days);
        }
        if let (Some(known), Some(days)) = (&self.temperature, ages.temperature)
            && let SensorDrift::Thermometer { offset_k } = &known.drift
        {
            circumstances.thermometer_drift_k = known.drifted(offset_k, days);
        }
        circumstances
    }
}
