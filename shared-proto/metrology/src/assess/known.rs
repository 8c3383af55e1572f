//! What the records say, and what follows from them for one reading.

use alloc::vec::Vec;

use rillmark_proto::calibration::drift::{Check, Drift, SensorDrift};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::reading::uncertainty::Circumstances;
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
    /// What was found since, in order of time.
    checks: Vec<Check>,
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
            checks: checks::of_left_unadjusted(record).into_iter().collect(),
        }
    }

    /// Takes a verification of it; one that was made before it, by the clocks, says nothing.
    pub(super) fn check(&mut self, verification: &VerificationRecord) {
        let since_ms = verification.utc_ms.saturating_sub(self.utc_ms);
        if since_ms >= 0 {
            let days = since_ms as f64 / DAY_MS;
            self.checks.push(checks::of_verification(
                verification,
                &self.result,
                &self.drift,
                days,
            ));
            self.checks.sort_by(|one, other| one.days.total_cmp(&other.days));
        }
    }

    /// Standard uncertainty that drift has made of a coefficient.
    fn drifted(&self, drift: &Drift, days: f64) -> f64 {
        libm::sqrt(drift.variance_after(days, &self.checks))
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
    pub(super) fn at(&self, utc_ms: Option<i64>) -> (Ages, Circumstances, Vec<Remark>) {
        let mut remarks = Vec::new();
        let each = [&self.ph, &self.conductivity, &self.temperature];
        if utc_ms.is_none() && each.iter().any(|known| known.is_some()) {
            remarks.push(Remark::NoClock);
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
        (ages, self.drifted(&ages), remarks)
    }

    fn drifted(&self, ages: &Ages) -> Circumstances {
        let mut circumstances = Circumstances::default();
        if let (Some(known), Some(days)) = (&self.ph, ages.ph)
            && let SensorDrift::Electrode { offset_mv, slope } = &known.drift
        {
            circumstances.offset_drift_mv = known.drifted(offset_mv, days);
            // Nothing that was found since is taken as being about the slope.
            circumstances.slope_drift = libm::sqrt(slope.growth(days));
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
