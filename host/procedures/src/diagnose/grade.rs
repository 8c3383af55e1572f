//! From evidence to graded signs.

use heapless::Vec;

use super::evidence::{CellEvidence, ColdSeen, ElectrodeEvidence, Evidence, Rest};
use super::limits::{self, Band};
use super::set::Member;
use super::sign::{Against, Grade, Observed, Sign};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Celsius;

/// As many as there are signs.
pub(super) const MAX_SIGNS: usize = Sign::ALL.len();

/// Every sign that the evidence can show, graded.
pub(super) type Signs = Vec<Observed, MAX_SIGNS>;

/// Grades everything.
pub(super) fn grade(evidence: &Evidence) -> Signs {
    let Evidence { electrode, cell, thermometer } = evidence;
    let mut signs = Signs::new();
    let mut see = |observed: Option<Observed>| {
        if let Some(observed) = observed {
            // There is room for each sign once.
            let _ = signs.push(observed);
        }
    };
    see(slope(electrode));
    see(offset(electrode));
    see(electrode.disagreement.map(|z| {
        let hides = moves(&electrode.rests) || hardly_answers(electrode);
        hidden_if(hides, against(Sign::BuffersDisagree, z, limits::BUFFERS))
    }));
    see(electrode.response_s.map(|s| against(Sign::Slow, s, limits::RESPONSE_S)));
    see(electrode.settling_s.map(|s| {
        hidden_if(hardly_answers(electrode), against(Sign::SettlesLate, s, limits::SETTLING_S))
    }));
    see(drifts_on(electrode));
    see(drift_turns(electrode));
    see(electrode.missing.map(|n| against(Sign::PotentialMissing, f64::from(n), limits::MISSING)));
    see(restless(electrode));
    see(restless_away(electrode));
    see(electrode.shake_mv.map(|shake| against(Sign::Shakes, shake, limits::SHAKE)));
    see(stirring(electrode));
    see(cold(electrode));
    let [low, high] = conductance(cell, thermometer.off_k);
    see(low);
    see(high);
    see(cell.jump_percent.map(|jump| against(Sign::ConductanceJumps, jump, limits::JUMP)));
    see(cell
        .standards_percent
        .map(|percent| against(Sign::StandardsDisagree, libm::fabs(percent), limits::STANDARDS)));
    see(thermometer
        .off_k
        .map(|off| against(Sign::ThermometerOff, libm::fabs(off), limits::THERMOMETER)));
    see(thermometer.drift_k_per_min.map(|k_per_min| {
        against(Sign::TemperatureDrifts, libm::fabs(k_per_min), limits::TEMPERATURE_DRIFT)
    }));
    if thermometer.readings.is_some() {
        let seen = |sign, count: u32| against(sign, f64::from(count), ANY_READING);
        see(Some(seen(Sign::ThermometerOpens, thermometer.open)));
        see(Some(seen(Sign::ThermometerShorts, thermometer.short)));
    }
    signs
}

/// One flagged reading is one too many.
const ANY_READING: Band =
    Band { source: "a healthy thermometer is never open or short", ..limits::practice(0.5, 0.5) };

fn graded(sign: Sign, value: f64, band: Band, compared: Against) -> Observed {
    let grade = if value >= band.present {
        Grade::Present
    } else if value < band.absent {
        Grade::Absent
    } else if value <= band.usual {
        Grade::Hidden
    } else {
        Grade::Vague
    };
    Observed { sign, value, limit: band.present, against: compared, grade, source: band.source }
}

fn against(sign: Sign, value: f64, band: Band) -> Observed {
    graded(sign, value, band, Against::Limit)
}

/// Where something hides a sign it is not known to be absent.
fn hidden_if(hides: bool, seen: Observed) -> Observed {
    let least = if hides { Grade::Hidden } else { Grade::Absent };
    Observed { grade: seen.grade.max(least), ..seen }
}

/// True when potentials move so much that a bottle that is off does not stand out.
fn moves(rests: &[Rest]) -> bool {
    rests.iter().any(|rest| {
        rest.scatter_mv > limits::HIDING_MV
            || libm::fabs(rest.drift_mv_per_min) > limits::DRIFT.present
    })
}

/// True when so little is left of the slope that neither time nor straightness can be told from it.
fn hardly_answers(electrode: &ElectrodeEvidence) -> bool {
    electrode.line.is_some_and(|line| line.slope_percent < limits::HARDLY_PERCENT)
}

/// The clearer of two.
fn clearer(one: Observed, other: Option<Observed>) -> Observed {
    match other {
        Some(other) if other.grade > one.grade => other,
        _ => one,
    }
}

/// A slope that is low by itself, or has fallen. What the points leave uncertain is not counted as
/// missing.
fn slope(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let line = electrode.line?;
    let sure = line.slope_percent + line.slope_uncertainty_percent;
    let by_itself = Observed {
        value: 100.0 - line.slope_percent,
        ..against(Sign::SlopeLow, 100.0 - sure, limits::SLOPE_MISSING)
    };
    let fallen = electrode.earlier.first().map(|earlier| Observed {
        value: 100.0 - line.slope_percent,
        limit: 100.0 - earlier.slope_percent + limits::SLOPE_FALL.present,
        ..graded(Sign::SlopeLow, earlier.slope_percent - sure, limits::SLOPE_FALL, Against::Earlier)
    });
    let seen = clearer(by_itself, fallen);
    // A slope that is hardly known is not known to be good.
    Some(hidden_if(line.slope_uncertainty_percent > limits::SLOPE_KNOWN_PERCENT, seen))
}

/// An offset that has changed; where none is known, one that is large. Without an earlier one a
/// shift is never called absent: it may hide in the electrode's own offset.
fn offset(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let line = electrode.line?;
    if let Some(earlier) = electrode.earlier.first() {
        let change = libm::fabs(line.offset_mv - earlier.offset_mv);
        let passed_ms = electrode
            .line_utc_ms
            .zip(earlier.utc_ms)
            .and_then(|(now_ms, was_ms)| now_ms.checked_sub(was_ms));
        let band = match passed_ms {
            Some(0..=limits::SAME_DAY_MS) => limits::OFFSET_CHANGE_SAME_DAY,
            _ => limits::OFFSET_CHANGE,
        };
        return Some(graded(Sign::OffsetShifted, change, band, Against::Earlier));
    }
    let alone = against(Sign::OffsetShifted, libm::fabs(line.offset_mv), limits::OFFSET);
    Some(hidden_if(true, alone))
}

/// The largest drift of all beakers.
fn drifts_on(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let drifts = electrode.rests.iter().map(|rest| libm::fabs(rest.drift_mv_per_min));
    Some(against(Sign::DriftsOn, drifts.reduce(libm::fmax)?, limits::DRIFT))
}

/// How far the drift goes both ways: the smaller of the largest one up and the largest one down. `None`
/// for a single beaker.
fn drift_turns(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let drifts = || electrode.rests.iter().map(|rest| rest.drift_mv_per_min);
    let up = drifts().fold(0.0, libm::fmax);
    let down = drifts().map(|drift| -drift).fold(0.0, libm::fmax);
    let both = libm::fmin(up, down);
    (drifts().count() > 1).then(|| against(Sign::DriftTurns, both, limits::DRIFT_TURNS))
}

/// Root mean square of the scatters of the rests whose distance from 0 mV a condition lets through.
fn scatter(rests: &[Rest], within: impl Fn(f64) -> bool) -> Option<f64> {
    let (squares, count) = rests
        .iter()
        .filter(|rest| within(libm::fabs(rest.potential_mv)))
        .fold((0.0, 0), |(sum, n), rest| (sum + rest.scatter_mv * rest.scatter_mv, n + 1));
    (count > 0).then(|| libm::sqrt(squares / f64::from(count)))
}

fn farthest_mv(rests: &[Rest]) -> f64 {
    rests.iter().map(|rest| libm::fabs(rest.potential_mv)).fold(0.0, libm::fmax)
}

/// How the scatter goes with the distance from 0 mV.
#[derive(Clone, Copy, PartialEq)]
enum Scatter {
    /// In proportion: the same part of every potential.
    Grows,
    /// The same everywhere.
    Alike,
    /// Neither is clearly the better description.
    Unclear,
}

/// Compares the two descriptions by how well each makes all beakers alike, in logarithms.
fn scatter_goes(rests: &[Rest]) -> Scatter {
    let spread = |of: &dyn Fn(&Rest) -> f64| {
        let count = rests.len() as f64;
        let mean = rests.iter().map(of).sum::<f64>() / count;
        rests.iter().map(|rest| (of(rest) - mean) * (of(rest) - mean)).sum::<f64>() / count
    };
    let floor = |value: f64, least: f64| libm::log(libm::fmax(libm::fabs(value), least));
    let same = spread(&|rest| floor(rest.scatter_mv, LEAST_SCATTER_MV));
    let in_proportion = spread(&|rest| {
        floor(rest.scatter_mv, LEAST_SCATTER_MV) - floor(rest.potential_mv, LEAST_POTENTIAL_MV)
    });
    if in_proportion < limits::CLEARLY_BETTER * same {
        Scatter::Grows
    } else if same < limits::CLEARLY_BETTER * in_proportion {
        Scatter::Alike
    } else {
        Scatter::Unclear
    }
}

/// Below this scatter there is nothing but noise, in mV.
const LEAST_SCATTER_MV: f64 = 0.01;
/// Below this potential there is nothing to be in proportion to, in mV.
const LEAST_POTENTIAL_MV: f64 = 2.0;

/// Restlessness near 0 mV beyond what a leak would show there too, in proportion to the potential; or
/// wherever the electrode stood when it was never near.
fn restless(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let rests = &electrode.rests;
    let farthest = farthest_mv(rests);
    let is_near = |mv: f64| mv < farthest / limits::FAR_RATIO;
    let near = scatter(rests, is_near).or_else(|| scatter(rests, |_| true))?;
    let goes = scatter_goes(rests);
    let own = match goes {
        Scatter::Grows => 0.0,
        Scatter::Alike | Scatter::Unclear => near,
    };
    let seen = against(Sign::Restless, own, limits::SCATTER);
    // A little of its own may hide under what grows.
    let seen = hidden_if(own < near, seen);
    let grade = seen.grade.min(against(Sign::Restless, near, limits::SCATTER).grade);
    // Nor is what may be a part of what grows known to be its own.
    let far = scatter(rests, |mv| mv > farthest / 2.0).unwrap_or(0.0);
    let may_grow = goes == Scatter::Unclear && far > limits::FAR_RATIO * near;
    Some(Observed { grade: if may_grow { grade.min(Grade::Hidden) } else { grade }, ..seen })
}

/// Restlessness far from 0 mV that near it is not as large. A leak divides the potential, so its
/// restlessness grows with the potential. `None` where all potentials are much alike.
fn restless_away(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let rests = &electrode.rests;
    let farthest = farthest_mv(rests);
    let near = scatter(rests, |mv| mv < farthest / limits::FAR_RATIO);
    if farthest < limits::FAR_MV || near.is_none() {
        return None;
    }
    let far = scatter(rests, |mv| mv > farthest / 2.0)?;
    let seen = against(Sign::RestlessAway, far, limits::SCATTER);
    // What is restless everywhere hides what grows.
    let grade = match scatter_goes(rests) {
        Scatter::Grows => seen.grade,
        Scatter::Alike | Scatter::Unclear => seen.grade.min(Grade::Vague),
    };
    Some(Observed { grade, ..seen })
}

/// The difference between stirred and still water, as far as it stands out from the electrode's own
/// restlessness.
fn stirring(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let (mv, rests) = (electrode.stir_mv?, &electrode.rests);
    let whole = nernst::millivolts_per_ph(Celsius::new(25.0));
    let Band { absent, usual, present, source } = limits::STIR_PH;
    let band =
        Band { absent: absent * whole, usual: usual * whole, present: present * whole, source };
    let seen = against(Sign::StirShows, libm::fabs(mv), band);
    let near_mv = farthest_mv(rests) / limits::FAR_RATIO;
    let restless = scatter(rests, |mv| mv < near_mv).unwrap_or(0.0);
    let stands_out_mv = match electrode.stir_deviation_mv {
        Some(deviation_mv) => limits::STIR_DEVIATIONS * deviation_mv,
        None => limits::STIR_SCATTERS * restless,
    };
    let least_mv = limits::STIR_LEAST_SCATTERS * restless;
    let grade = match libm::fabs(mv) {
        mv if mv < least_mv && restless > limits::SCATTER.present => Grade::Absent,
        mv if mv < stands_out_mv => Grade::Hidden,
        _ => seen.grade,
    };
    Some(Observed { grade, ..seen })
}

/// The fall of the slope in colder buffers, as far as the points' own uncertainties do not explain
/// it. Where hardly any slope is left nothing can be told.
fn cold(electrode: &ElectrodeEvidence) -> Option<Observed> {
    let ColdSeen { warm, cold } = electrode.cold?;
    if warm.slope_percent < limits::LEAST_SLOPE_PERCENT {
        return None;
    }
    let percent = |slope: f64| 100.0 * slope / warm.slope_percent;
    let fall = percent(warm.slope_percent - cold.slope_percent);
    let uncertain =
        percent(libm::hypot(warm.slope_uncertainty_percent, cold.slope_uncertainty_percent));
    let seen = against(Sign::SlopeLowerCold, fall, limits::COLD_FALL);
    let grade = match seen.grade {
        Grade::Present if fall < 2.5 * uncertain => Grade::Vague,
        Grade::Absent if fall + 2.5 * uncertain > limits::COLD_FALL.present => Grade::Hidden,
        grade => grade,
    };
    Some(Observed { grade, ..seen })
}

/// A cell constant that has moved: a larger one means that the cell conducts less than it did. What
/// a thermometer known to be off makes of it is taken out first.
fn conductance(cell: &CellEvidence, off_k: Option<f64>) -> [Option<Observed>; 2] {
    let compared = cell
        .earlier_per_cm
        .map(|earlier| (earlier, limits::CELL_CHANGE, Against::Earlier))
        .or(cell.nominal_per_cm.map(|nominal| (nominal, limits::CELL_NOMINAL, Against::Limit)));
    let (Some(now), Some((before, band, compared))) = (cell.constant_per_cm, compared) else {
        return [None, None];
    };
    // A thermometer that reads high takes the standard for a better conductor than it is.
    let expected = limits::PERCENT_PER_KELVIN * off_k.unwrap_or(0.0);
    let rise = 100.0 * (now / before - 1.0) - expected;
    // What is missing of the conductance, in percent of what it was.
    let missing = 100.0 * rise / (100.0 + rise);
    // Cells differ from what their maker states: within that, a little of a change may hide.
    let hides = compared == Against::Limit;
    let seen = |sign, percent| {
        Some(hidden_if(hides, graded(sign, libm::fmax(percent, 0.0), band, compared)))
    };
    [seen(Sign::ConductanceLow, missing), seen(Sign::ConductanceHigh, -missing)]
}
