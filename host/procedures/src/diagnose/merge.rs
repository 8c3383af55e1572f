//! Evidence put together: of several sessions, and of sessions with what records hold.

use core::cmp::Ordering;

use heapless::Vec;

use super::evidence::{
    CellEvidence, ColdSeen, Earlier, ElectrodeEvidence, Evidence, LineSeen, MAX_BEAKERS, Rest,
    ThermometerEvidence,
};

impl Evidence {
    /// What two sessions with the same probe show together, whichever comes first: counts are summed,
    /// rests kept side by side, and of everything else that counts which speaks louder of a fault.
    /// `before` is what the records hold, which slope, offset and cell constant are compared with.
    #[must_use]
    pub fn with(self, other: Self, before: &Self) -> Self {
        Self {
            electrode: electrode(self.electrode, other.electrode, &before.electrode),
            cell: cell(&self.cell, &other.cell, &before.cell),
            thermometer: thermometer(&self.thermometer, &other.thermometer),
        }
    }

    /// What sessions show, before what the records hold: a calibration in these is then the earlier one.
    #[must_use]
    pub fn after(mut self, records: Self) -> Self {
        let (was, now) = (records.electrode, &mut self.electrode);
        match (now.line, was.line) {
            (Some(_), Some(line)) => {
                let latest = [Earlier::of(line, was.line_utc_ms)].into_iter();
                now.earlier = latest.chain(was.earlier).take(now.earlier.capacity()).collect();
            }
            (Some(_), None) => now.earlier = was.earlier,
            (None, _) => {
                now.line = was.line;
                now.line_utc_ms = was.line_utc_ms;
                now.disagreement = was.disagreement;
                now.odd_buffer = was.odd_buffer;
                now.earlier = was.earlier;
                now.cold = was.cold;
            }
        }
        now.settling_s = now.settling_s.or(was.settling_s);
        let (was, now) = (records.cell, &mut self.cell);
        match now.constant_per_cm {
            Some(_) => now.earlier_per_cm = was.constant_per_cm.or(was.earlier_per_cm),
            None => {
                now.constant_per_cm = was.constant_per_cm;
                now.earlier_per_cm = was.earlier_per_cm;
            }
        }
        now.nominal_per_cm = now.nominal_per_cm.or(was.nominal_per_cm);
        now.standards_percent = now.standards_percent.or(was.standards_percent);
        self
    }
}

impl Earlier {
    /// A line that was made at that time.
    pub(super) const fn of(line: LineSeen, utc_ms: Option<i64>) -> Self {
        Self { slope_percent: line.slope_percent, offset_mv: line.offset_mv, utc_ms }
    }
}

/// The one whose numbers are larger, the first number first: so that no order of the two matters.
fn worse<T, const N: usize>(
    one: Option<T>,
    other: Option<T>,
    numbers: impl Fn(&T) -> [f64; N],
) -> Option<T> {
    match (one, other) {
        (Some(one), Some(other)) => Some(match order(&numbers(&one), &numbers(&other)) {
            Ordering::Less => other,
            Ordering::Equal | Ordering::Greater => one,
        }),
        (one, other) => one.or(other),
    }
}

fn order(one: &[f64], other: &[f64]) -> Ordering {
    let each = one.iter().zip(other).map(|(one, other)| one.total_cmp(other));
    each.fold(Ordering::Equal, Ordering::then)
}

fn larger(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    worse(one, other, |value| [*value])
}

/// The one farther from 0.
fn farther(one: Option<f64>, other: Option<f64>) -> Option<f64> {
    worse(one, other, |value| [libm::fabs(*value), *value])
}

fn sum(one: Option<u32>, other: Option<u32>) -> Option<u32> {
    match (one, other) {
        (Some(one), Some(other)) => Some(one.saturating_add(other)),
        (one, other) => one.or(other),
    }
}

fn electrode(
    one: ElectrodeEvidence,
    other: ElectrodeEvidence,
    before: &ElectrodeEvidence,
) -> ElectrodeEvidence {
    let mut rests: Vec<Rest, { 2 * MAX_BEAKERS }> = Vec::new();
    // Twice as much as each has room for has room for both.
    rests.extend(one.rests.iter().chain(&other.rests).copied());
    rests.sort_unstable_by(|one, other| order(&unrest(other), &unrest(one)));
    let surplus = u32::try_from(rests.len().saturating_sub(MAX_BEAKERS)).unwrap_or(u32::MAX);
    let left_out = one.rests_left_out.saturating_add(other.rests_left_out);

    let with_odd = |seen: &ElectrodeEvidence| Some((seen.disagreement?, seen.odd_buffer));
    let disagreement =
        worse(with_odd(&one), with_odd(&other), |(far, odd)| [*far, odd.map_or(0.0, f64::from)]);
    let with_deviation = |seen: &ElectrodeEvidence| Some((seen.stir_mv?, seen.stir_deviation_mv));
    let stirred = worse(with_deviation(&one), with_deviation(&other), |(mv, deviation)| {
        [libm::fabs(*mv), *mv, deviation.unwrap_or(f64::INFINITY)]
    });
    let fall = |seen: &ColdSeen| {
        let ColdSeen { warm, cold } = seen;
        [1.0 - cold.slope_percent / warm.slope_percent, warm.slope_percent, warm.offset_mv]
    };
    ElectrodeEvidence {
        line: line(one.line, other.line, before.line.map_or(0.0, |line| line.offset_mv)),
        // The later one: no more is expected of the electrode than of the time since then.
        line_utc_ms: one.line_utc_ms.max(other.line_utc_ms),
        disagreement: disagreement.map(|(far, _)| far),
        odd_buffer: disagreement.and_then(|(_, odd)| odd),
        // A session knows no earlier calibration; `after` tells it.
        earlier: if one.earlier.is_empty() { other.earlier } else { one.earlier },
        response_s: larger(one.response_s, other.response_s),
        settling_s: larger(one.settling_s, other.settling_s),
        rests: rests.into_iter().take(MAX_BEAKERS).collect(),
        rests_left_out: left_out.saturating_add(surplus),
        missing: sum(one.missing, other.missing),
        shake_mv: larger(one.shake_mv, other.shake_mv),
        stir_mv: stirred.map(|(mv, _)| mv),
        stir_deviation_mv: stirred.and_then(|(_, deviation)| deviation),
        cold: worse(one.cold, other.cold, fall),
    }
}

/// How restless, to sort by: scatter, drift, and the rest for a firm order.
fn unrest(rest: &Rest) -> [f64; 4] {
    let Rest { potential_mv, drift_mv_per_min, scatter_mv } = *rest;
    [scatter_mv, libm::fabs(drift_mv_per_min), drift_mv_per_min, potential_mv]
}

/// The lowest slope, as far as it is sure, and the offset that is farthest from what it was.
fn line(one: Option<LineSeen>, other: Option<LineSeen>, was_mv: f64) -> Option<LineSeen> {
    let low = worse(one, other, |line| {
        let missing = -(line.slope_percent + line.slope_uncertainty_percent);
        [missing, -line.slope_percent]
    })?;
    let moved = worse(one, other, |line| {
        let by_mv = line.offset_mv - was_mv;
        [libm::fabs(by_mv), by_mv]
    })?;
    Some(LineSeen { offset_mv: moved.offset_mv, ..low })
}

fn cell(one: &CellEvidence, other: &CellEvidence, before: &CellEvidence) -> CellEvidence {
    let was = before.constant_per_cm.or(before.earlier_per_cm).or(before.nominal_per_cm);
    let changed = |constant: &f64| {
        let times = libm::log(constant / was.unwrap_or(1.0));
        // Without anything to compare with, the one that conducts less.
        [if was.is_some() { libm::fabs(times) } else { times }, times]
    };
    CellEvidence {
        constant_per_cm: worse(one.constant_per_cm, other.constant_per_cm, changed),
        earlier_per_cm: larger(one.earlier_per_cm, other.earlier_per_cm),
        nominal_per_cm: larger(one.nominal_per_cm, other.nominal_per_cm),
        jump_percent: larger(one.jump_percent, other.jump_percent),
        standards_percent: farther(one.standards_percent, other.standards_percent),
    }
}

fn thermometer(one: &ThermometerEvidence, other: &ThermometerEvidence) -> ThermometerEvidence {
    ThermometerEvidence {
        off_k: farther(one.off_k, other.off_k),
        drift_k_per_min: farther(one.drift_k_per_min, other.drift_k_per_min),
        readings: sum(one.readings, other.readings),
        open: one.open.saturating_add(other.open),
        short: one.short.saturating_add(other.short),
    }
}

#[cfg(test)]
#[path = "merge_tests.rs"]
mod tests;
