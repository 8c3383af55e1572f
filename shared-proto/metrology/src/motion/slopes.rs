//! What the slopes of successive stretches say: how much may still be to come, and whether the water
//! itself goes on.

use crate::least_squares::two_sided_95;

use super::past::Line;

/// A slope differs from another by more than noise from so many deviations on.
const SURE: f64 = 3.0;
/// The slowest time constant that a reading's own curve lengthens to, in min: what goes on for longer is
/// told as a change of the water.
const LONGEST_MIN: f64 = 15.0;
/// Coverage factor of a 95 % interval whose deviation is known beforehand (normal distribution).
const NORMAL_95: f64 = 1.96;

/// What may be still hidden, in the signal's unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Bound {
    /// Still to come on water that stands still.
    pub to_come: f64,
    /// The same, and what the sensor lags a water that changes.
    pub hidden: f64,
    /// Slope that this rests on, per minute.
    pub rate: f64,
}

impl Bound {
    /// The smaller one of both.
    pub(super) fn or(self, other: Self) -> Self {
        let to_come = f64::min(self.to_come, other.to_come);
        let tighter = if other.hidden < self.hidden { other } else { self };
        Self { to_come, ..tighter }
    }
}

/// Stretches of one length, one after the other.
#[derive(Clone, Copy, Debug)]
pub(super) struct Slopes {
    new: Line,
    old: Line,
    /// The one before both.
    oldest: Option<Line>,
    whole: Line,
    /// Variance of a reading about its line.
    variance: f64,
    /// Standard deviation of the slopes of either stretch, and of both together, …
    u: f64,
    u_whole: f64,
    /// … and the factors of their 95 % intervals.
    student: f64,
    student_whole: f64,
    /// Minutes from the older stretch's middle to the newer one's, and from there to now.
    apart_min: f64,
    since_min: f64,
}

fn student(degrees: f64) -> f64 {
    two_sided_95(degrees as usize).unwrap_or(f64::INFINITY)
}

impl Slopes {
    /// Weighs stretches with `whole` that is `old` and `new` together; a reading has at least `noise`.
    pub(super) fn of(
        new: Line,
        old: Line,
        whole: Line,
        oldest: Option<Line>,
        now: f64,
        noise: f64,
    ) -> Self {
        let (degrees, degrees_whole) = (new.n + old.n - 4.0, whole.n - 2.0);
        let variance = f64::max((new.squares + old.squares) / degrees, noise * noise);
        let variance_whole = f64::max(whole.squares / degrees_whole, noise * noise);
        Self {
            // Hardly unequal: the larger one stands for both.
            u: libm::sqrt(variance / f64::min(new.spread, old.spread)),
            u_whole: libm::sqrt(variance_whole / whole.spread),
            student: student(degrees),
            student_whole: student(degrees_whole),
            apart_min: new.mean - old.mean,
            since_min: now - new.mean,
            variance,
            new,
            old,
            whole,
            oldest,
        }
    }

    /// The time constant in min of the curve that three stretches show, when no sum of exponentials up to
    /// `slowest_min` on water that changes steadily falls as slowly.
    pub(super) fn own_curve_min(&self, slowest_min: f64) -> Option<f64> {
        let oldest = self.oldest?;
        let (before, after) = (oldest.slope - self.old.slope, self.old.slope - self.new.slope);
        let ratio = after / before;
        // What noise alone makes is seen from the last difference alone.
        if !(ratio > 0.0 && ratio < 1.0 && after.abs() > SURE * self.u) {
            return None;
        }
        let left = libm::exp(-self.apart_min / slowest_min);
        let variance = self.variance
            * (1.0 / self.new.spread
                + (1.0 + left) * (1.0 + left) / self.old.spread
                + left * left / oldest.spread);
        let beyond = after.abs() - left * before.abs();
        let sure = beyond > 0.0 && beyond * beyond > SURE * SURE * variance;
        sure.then(|| f64::min(-self.apart_min / libm::log(ratio), LONGEST_MIN))
    }

    /// A tail on water that changes steadily: what its slope lost from stretch to stretch tells how much
    /// of it there was in the newer one, and it has gone on falling since that one's middle.
    pub(super) fn on_changing_water(&self, slowest_min: f64, lag_min: f64) -> Bound {
        let left = libm::exp(-self.apart_min / slowest_min);
        let since = libm::exp(-self.since_min / slowest_min);
        let half = self.student * core::f64::consts::SQRT_2 * self.u;
        let lost = (self.old.slope - self.new.slope).abs() + half;
        let to_come = slowest_min * since * left / (1.0 - left) * lost;
        let lag = self.new.slope.abs() * lag_min;
        Bound { to_come, hidden: to_come + lag, rate: self.new.slope }
    }

    /// A tail alone. Where the water changes the same way this holds too, as no sensor lags by more than
    /// its slowest time constant.
    pub(super) fn on_still_water(&self, slowest_min: f64) -> Bound {
        let (new, old, whole) = (self.new.slope, self.old.slope, self.whole.slope);
        let larger = f64::max(new.abs(), old.abs());
        let mut top = f64::max(whole.abs(), larger - self.student * self.u);
        if new * old < 0.0 {
            // The signal turns: a tail one way over a water that goes the other.
            top = f64::max(top, 0.5 * (new - old).abs());
        }
        let to_come = slowest_min * (top + self.student_whole * self.u_whole);
        Bound { to_come, hidden: to_come, rate: whole }
    }

    /// The least rate of the water per minute, whatever tail of up to [`LONGEST_MIN`] lies over it, and no
    /// more than either stretch has; below 0 when it may be none.
    pub(super) fn of_water(&self) -> f64 {
        let reach = SURE * self.student / NORMAL_95 * self.u;
        let sign = libm::copysign(1.0, self.new.slope);
        let (new, old) = (sign * self.new.slope, sign * self.old.slope);
        let each = f64::min(new, old) - reach;
        if each <= 0.0 {
            return each;
        }
        let left = libm::exp(-self.apart_min / LONGEST_MIN);
        // √(1 + left²) of both together is no more than this.
        let both = 1.0 + 0.5 * left * left;
        let rest = (new - left * old - both * reach) / (1.0 - left);
        f64::min(rest, each)
    }
}
