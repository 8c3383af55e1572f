//! From buffers with their potentials to the electrode's evidence, through the real fit.

use heapless::Vec;
use rillmark_metrology::fit;

use super::evidence::{ColdSeen, Earlier, LineSeen, MAX_BEAKERS, Rest};
use super::limits;
use rillmark_metrology::fit::ph::{DEFAULT_BUFFER_UNCERTAINTY, PhPoint};
use rillmark_metrology::least_squares;
use rillmark_metrology::least_squares::Observation;
use rillmark_metrology::uncertainty::ph::DEFAULT_POTENTIAL_UNCERTAINTY;
use rillmark_proto::calibration::ph;
use rillmark_proto::reference::nernst;
use rillmark_proto::units::Millivolts;

/// Minutes for which a drift that differs from beaker to beaker may have gone on.
const DRIFT_MIN: f64 = 2.5;
/// The part of a common drift over unequal waits that stays uncertain after it is taken out.
const WAIT_PART: f64 = 0.4;
/// The same buffer at another temperature is this near, in pH.
const SAME_BUFFER_PH: f64 = 0.4;

/// A buffer with how the electrode rested in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stand {
    /// The point.
    pub point: PhPoint,
    /// How it rested.
    pub rest: Option<Rest>,
    /// How long it had stood there when the potential was taken, in s.
    pub waited_s: f64,
}

/// What the electrode's restlessness leaves uncertain of each potential, as a variance in mV²: its
/// scatter, how much its drifts differ, and a part of what its common drift makes of unequal waits
/// (see [`common_drift`]). One minute tells a wandering badly, all beakers together do better.
fn restless_mv2(stands: &[Stand]) -> f64 {
    let rests = || stands.iter().filter_map(|stand| Some((stand.rest?, stand.waited_s / 60.0)));
    let count = rests().count() as f64;
    if count < 2.0 {
        return rests().map(|(rest, _)| rest.scatter_mv * rest.scatter_mv).sum();
    }
    let (drift, waited) = common_drift(stands);
    let (mut scatter, mut moved) = (0.0, 0.0);
    for (rest, min) in rests() {
        let drifts = DRIFT_MIN * (rest.drift_mv_per_min - drift);
        let waits = WAIT_PART * drift * (min - waited);
        scatter += rest.scatter_mv * rest.scatter_mv;
        moved += drifts * drifts + waits * waits;
    }
    scatter / count + moved / (count - 1.0)
}

/// Mean drift in mV/min and mean wait in min.
fn common_drift(stands: &[Stand]) -> (f64, f64) {
    let rests = || stands.iter().filter_map(|stand| Some((stand.rest?, stand.waited_s / 60.0)));
    let count = libm::fmax(rests().count() as f64, 1.0);
    let drift = rests().map(|(rest, _)| rest.drift_mv_per_min).sum::<f64>() / count;
    (drift, rests().map(|(_, min)| min).sum::<f64>() / count)
}

impl Stand {
    /// The potential as it would have been after the common wait.
    fn after_common_wait_mv(&self, (drift, min): (f64, f64)) -> f64 {
        self.point.potential.get() - drift * (self.waited_s / 60.0 - min)
    }

    /// k(T)·(pH − 7) in mV.
    fn abscissa_mv(&self) -> f64 {
        let k = nernst::millivolts_per_ph(self.point.temperature);
        k * (self.point.buffer.get() - ph::OFFSET_PH)
    }
}

/// The line through buffers, through the real fit; `None` when there is none. To the uncertainty of
/// the slope comes what the electrode's restlessness adds.
pub fn line(stands: &[Stand]) -> Option<LineSeen> {
    let calibration = fit::ph::fit(&points(stands)).ok()?.calibration;
    let count = stands.len() as f64;
    let middle = stands.iter().map(Stand::abscissa_mv).sum::<f64>() / count;
    let from_middle = stands.iter().map(|stand| stand.abscissa_mv() - middle);
    let spread = from_middle.map(|mv| mv * mv).sum::<f64>();
    let variance = calibration.covariance.slope + restless_mv2(stands) / spread;
    Some(LineSeen {
        slope_percent: 100.0 * calibration.slope_fraction,
        slope_uncertainty_percent: 100.0 * libm::sqrt(variance),
        offset_mv: calibration.offset_mv,
    })
}

/// The buffers that were warm, and those at least [`limits::COLD_K`] colder than the warmest.
pub fn warm_and_cold(stands: &[Stand]) -> (Vec<Stand, MAX_BEAKERS>, Vec<Stand, MAX_BEAKERS>) {
    let warmest =
        stands.iter().map(|stand| stand.point.temperature.get()).fold(f64::MIN, libm::fmax);
    let is_cold = |stand: &&Stand| stand.point.temperature.get() < warmest - limits::COLD_K;
    let cold = stands.iter().filter(is_cold).copied().collect();
    let warm = stands.iter().filter(|stand| !is_cold(stand)).copied().collect();
    (warm, cold)
}

/// Slopes of the buffers that stood there both warm and cold: a bottle that is off is off in both.
pub fn cold(warm: &[Stand], cold: &[Stand]) -> Option<ColdSeen> {
    let same = |one: &Stand, other: &Stand| {
        libm::fabs(one.point.buffer.get() - other.point.buffer.get()) < SAME_BUFFER_PH
    };
    let also_cold = |stand: &&Stand| cold.iter().any(|cold| same(stand, cold));
    let warm: Vec<Stand, MAX_BEAKERS> = warm.iter().filter(also_cold).copied().collect();
    let line = |stands: &[Stand]| {
        let common = common_drift(stands);
        let even = stands.iter().map(|stand| {
            let potential = Millivolts::new(stand.after_common_wait_mv(common));
            Stand { point: PhPoint { potential, ..stand.point }, ..*stand }
        });
        line(&even.take(MAX_BEAKERS).collect::<Vec<_, MAX_BEAKERS>>())
    };
    Some(ColdSeen { warm: line(&warm)?, cold: line(cold)? })
}

/// How far at least three buffers are from one line, in standard uncertainties: the buffers' own,
/// the potentials', and what the electrode's restlessness adds to them. `None` for fewer.
pub fn disagreement(stands: &[Stand]) -> Option<f64> {
    if stands.len() < 3 {
        return None;
    }
    let slope = line(stands)?.slope_percent / 100.0;
    let restless = restless_mv2(stands);
    let common = common_drift(stands);
    let line = least_squares::fit(stands.iter().map(|stand| {
        let k = nernst::millivolts_per_ph(stand.point.temperature);
        let buffer = stand.point.buffer_uncertainty.unwrap_or(DEFAULT_BUFFER_UNCERTAINTY.value);
        let parts = [DEFAULT_POTENTIAL_UNCERTAINTY.value, slope * k * buffer];
        let variance: f64 = parts.iter().map(|part| part * part).sum();
        let weight = 1.0 / (variance + restless);
        Observation { x: stand.abscissa_mv(), y: stand.after_common_wait_mv(common), weight }
    }))
    .ok()?;
    // With one buffer more than the line needs this is its distance; each further one adds 1 to
    // the expectation.
    let surplus = line.degrees_of_freedom() as f64 - 1.0;
    Some(libm::sqrt(libm::fmax(line.sum_of_squares - surplus, 0.0)))
}

/// Stirred minus still.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stirred {
    /// The mean over all spells, in mV.
    pub mv: f64,
    /// Standard deviation of that mean, in mV; `None` for one spell.
    pub deviation_mv: Option<f64>,
}

/// Stirred minus still in mV from the means of still and stirred spells in turn, the first one still:
/// every stirred one against its two neighbours, so that a drift drops out. `None` for fewer than
/// three.
pub fn stirred(means: &[f64]) -> Option<Stirred> {
    mean_of_spells(means.windows(3).step_by(2).map(|s| s[1] - 0.5 * (s[0] + s[2])))
}

/// The mean of spells' differences in mV, with its deviation; `None` without any.
pub fn mean_of_spells(spells: impl Iterator<Item = f64>) -> Option<Stirred> {
    let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for mv in spells {
        (n, sum, squares) = (n + 1.0, sum + mv, squares + mv * mv);
    }
    let mv = sum / n;
    let deviation = || libm::sqrt(libm::fmax(squares - n * mv * mv, 0.0) / (n * (n - 1.0)));
    mv.is_finite().then(|| Stirred { mv, deviation_mv: (n > 1.0).then(deviation) })
}

/// The buffer, counted from 1, that lies far from where an earlier slope puts it while the others
/// agree among themselves; `None` when no single one does.
pub fn odd_buffer(stands: &[Stand], earlier: &Earlier) -> Option<u8> {
    if stands.len() < 3 {
        return None;
    }
    let offset = |stand: &Stand| {
        stand.point.potential.get() + 0.01 * earlier.slope_percent * stand.abscissa_mv()
    };
    let mut offsets: Vec<f64, MAX_BEAKERS> = stands.iter().map(offset).collect();
    let by_buffer = offsets.clone();
    offsets.sort_unstable_by(f64::total_cmp);
    let middle = offsets[offsets.len() / 2];
    let off = |mv: &&f64| libm::fabs(**mv - middle) > ODD_MV;
    let mut odd = by_buffer.iter().enumerate().filter(|(_, mv)| off(mv));
    match (odd.next(), odd.next()) {
        (Some((index, _)), None) => u8::try_from(index + 1).ok(),
        _ => None,
    }
}

/// A buffer is odd when it is this far from the others, in mV: 0.1 pH.
const ODD_MV: f64 = 6.0;

fn points(stands: &[Stand]) -> Vec<PhPoint, MAX_BEAKERS> {
    stands.iter().take(MAX_BEAKERS).map(|stand| stand.point).collect()
}
