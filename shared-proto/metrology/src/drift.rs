//! How a sensor drifts from calibration to calibration, and what that makes uncertain.
//!
//! Every coefficient has a rate of its own and walks about it. Both are estimated from the differences
//! of successive calibrations by a Kalman filter whose whole state is kept in a [`Drift`], so that the
//! next one follows from the last record alone. A coefficient is never corrected for its rate.

use rillmark_proto::calibration::drift::Drift;

/// Differences that the default of a kind counts for when a sensor's own walk is worked out. Own choice.
const PSEUDO_DIFFERENCES: f64 = 2.0;
/// The most that one difference counts for in the walk, as its square in standard uncertainties. Own
/// choice: three of them.
const MOST_SQUARED: f64 = 9.0;
/// A difference of more standard uncertainties than this is a step, which tells nothing about the rate.
/// Own choice.
const STEP: f64 = 4.0;
/// Calibrations closer together than this many days show how they repeat, not how the sensor drifts. Own
/// choice.
const LEAST_DAYS: f64 = 1.0;
/// After so many days a sensor's rate may be any that its kind has. Own choice.
const RATE_KEPT_DAYS: f64 = 600.0;

/// How far a coefficient was found from the one in force, so many days after that was found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Check {
    /// Days between the two, in use.
    pub days: f64,
    /// Found minus in force, in the coefficient's unit.
    pub difference: f64,
    /// Standard uncertainty of that difference, from all that is not drift. In
    /// [`Drift::variance_after`] without what the calibration itself has wrong.
    pub standard_uncertainty: f64,
}

/// What a drift makes uncertain, and what is known of it after one more calibration.
pub trait Drifting: Sized {
    /// The variance that a coefficient gains in so many days without a check, in the square of its unit:
    /// walk · d + (rate² + u_rate²) · d². Days below 0 count as 0.
    #[must_use]
    fn growth(&self, days: f64) -> f64;

    /// The mean square error that drift has made of a coefficient `days` after its calibration, in the
    /// square of its unit: add it to the variance that the calibration itself states.
    ///
    /// `calibration_u` is the standard uncertainty that the calibration states of the coefficient: what checks
    /// find may have been wrong from the beginning, and that is known to them as well. It is no part of the
    /// answer, which is what to add to it, and never below nothing.
    ///
    /// `left` is what the calibration found, if it left the coefficients as they were: how far off they were
    /// before is not known, so it is believed whole.
    ///
    /// `checks` are what was found in between, each with its day since the calibration, in order of time;
    /// those after `days` do not count. The doubt grows as [`Self::growth`]; a check tells of the drift and
    /// of its rate as a Kalman filter has it, whose state is both. A reading is not corrected for the mean m
    /// that remains, so m² is doubt too. A check more than four standard uncertainties off is a step: it is
    /// believed whole and tells nothing about the rate.
    #[must_use]
    fn variance_after(
        &self,
        days: f64,
        calibration_u: f64,
        left: Option<&Check>,
        checks: &[Check],
    ) -> f64;

    /// The drift of a sum of coefficients, each with its factor, whose drifts know nothing of each other.
    #[must_use]
    fn of_sum(parts: &[(f64, Self)]) -> Self;

    /// What is known after one more calibration, which differs from the one before by this much.
    ///
    /// `kind` is the default of the kind of sensor. The rate is updated as by a Kalman filter whose state
    /// after a calibration is an error of zero and the rate, which is forgotten within 600 days. The walk of the
    /// kind counts for two differences; each of the sensor's own scales it by how far it is from what was
    /// expected, squared in standard uncertainties and for nine at the most, as far as the walk has a part
    /// in what was expected. A difference of more than four is a step and
    /// leaves the rate as it is; calibrations less than a day apart change nothing.
    #[must_use]
    fn after(&self, check: &Check, kind: &Self) -> Self;

    /// What is known after the sensor was cleaned or filled again: its rate may be another one now, so a
    /// quarter of the kind's variance is added to that of the rate, up to all of it.
    #[must_use]
    fn renewed(&self, kind: &Self) -> Self;
}

impl Drifting for Drift {
    fn growth(&self, days: f64) -> f64 {
        let days = libm::fmax(days, 0.0);
        let (rate, u) = (f64::from(self.rate_per_day), f64::from(self.rate_uncertainty));
        f64::from(self.walk_per_day) * days + (rate * rate + u * u) * days * days
    }

    fn variance_after(
        &self,
        days: f64,
        calibration_u: f64,
        left: Option<&Check>,
        checks: &[Check],
    ) -> f64 {
        let (mut state, mut since) = (Drifted::new(self), 0.0);
        let mut stated = 0.0;
        match left {
            Some(left) => state.believe(left),
            None => stated = calibration_u * calibration_u,
        }
        state.variance += stated;
        for check in checks.iter().filter(|check| check.days <= days) {
            state.go_on(check.days - since, self.walk_per_day.into());
            state.take(check);
            since = libm::fmax(check.days, 0.0);
        }
        state.go_on(days - since, self.walk_per_day.into());
        libm::fmax(state.drift * state.drift + state.variance - stated, 0.0)
    }

    fn of_sum(parts: &[(f64, Self)]) -> Self {
        let sum = |part: fn(f64, &Self) -> f64| {
            parts.iter().map(|(factor, drift)| part(*factor, drift)).sum::<f64>()
        };
        let rate = sum(|factor, drift| factor * f64::from(drift.rate_per_day));
        let variance = sum(|factor, drift| {
            let u = factor * f64::from(drift.rate_uncertainty);
            u * u
        });
        let walk = sum(|factor, drift| factor * factor * f64::from(drift.walk_per_day));
        Self {
            rate_per_day: rate as f32,
            rate_uncertainty: libm::sqrt(variance) as f32,
            walk_per_day: walk as f32,
            differences: parts.iter().map(|(_, drift)| drift.differences).min().unwrap_or(0),
        }
    }

    fn after(&self, check: &Check, kind: &Self) -> Self {
        let days = check.days;
        if days < LEAST_DAYS {
            return *self;
        }
        let (rate, u) = (f64::from(self.rate_per_day), f64::from(self.rate_uncertainty));
        let walk = f64::from(self.walk_per_day);
        let own = check.standard_uncertainty * check.standard_uncertainty;
        let of_kind = f64::from(kind.rate_uncertainty) * f64::from(kind.rate_uncertainty);
        let of_rate = libm::fmin(u * u + of_kind * days / RATE_KEPT_DAYS, of_kind);
        let surprise = check.difference - rate * days;
        let expected = own + walk * days + of_rate * days * days;
        if expected.is_nan() || expected <= 0.0 {
            return *self;
        }
        let squared = surprise * surprise / expected;
        let gain = if squared > STEP * STEP { 0.0 } else { of_rate * days / expected };
        // What a surprise says of the walk, as far as the walk is what it is measured by.
        let weight = PSEUDO_DIFFERENCES + f64::from(self.differences) + 1.0;
        let of_walk = walk * days / expected;
        let more = of_walk * (libm::fmin(squared, MOST_SQUARED) - 1.0) / weight;
        Self {
            rate_per_day: (rate + gain * surprise) as f32,
            rate_uncertainty: libm::sqrt(of_rate * (1.0 - gain * days)) as f32,
            walk_per_day: (walk * (1.0 + more)) as f32,
            differences: self.differences.saturating_add(1),
        }
    }

    fn renewed(&self, kind: &Self) -> Self {
        let (own, of_kind) = (f64::from(self.rate_uncertainty), f64::from(kind.rate_uncertainty));
        let widened = libm::sqrt(own * own + 0.25 * of_kind * of_kind);
        Self { rate_uncertainty: libm::fmin(widened, of_kind) as f32, ..*self }
    }
}

/// What is known of a coefficient since its calibration: how far it has drifted and how fast it does.
struct Drifted {
    drift: f64,
    rate: f64,
    /// Of the drift.
    variance: f64,
    covariance: f64,
    rate_variance: f64,
}

impl Drifted {
    fn new(of: &Drift) -> Self {
        let u = f64::from(of.rate_uncertainty);
        let rate = f64::from(of.rate_per_day);
        Self { drift: 0.0, rate, variance: 0.0, covariance: 0.0, rate_variance: u * u }
    }

    /// So many days later; days below 0 count as 0.
    fn go_on(&mut self, days: f64, walk_per_day: f64) {
        let days = libm::fmax(days, 0.0);
        self.drift += self.rate * days;
        self.variance += (walk_per_day + 2.0 * self.covariance + self.rate_variance * days) * days;
        self.covariance += self.rate_variance * days;
    }

    fn believe(&mut self, check: &Check) {
        let own = check.standard_uncertainty * check.standard_uncertainty;
        (self.drift, self.variance, self.covariance) = (check.difference, own, 0.0);
    }

    fn take(&mut self, check: &Check) {
        let own = check.standard_uncertainty * check.standard_uncertainty;
        let expected = self.variance + own;
        let surprise = check.difference - self.drift;
        if surprise * surprise > STEP * STEP * expected {
            self.believe(check);
        } else if expected > 0.0 {
            let (of_drift, of_rate) = (self.variance / expected, self.covariance / expected);
            self.drift += of_drift * surprise;
            self.rate += of_rate * surprise;
            self.rate_variance -= of_rate * self.covariance;
            self.covariance -= of_drift * self.covariance;
            self.variance -= of_drift * self.variance;
        }
    }
}

#[cfg(test)]
#[path = "drift_tests.rs"]
mod tests;
