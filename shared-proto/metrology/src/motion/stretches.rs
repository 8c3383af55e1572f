//! Where the stretches of the past begin whose slopes are compared, and what the best of them say.

use alloc::collections::VecDeque;

use super::kinetics::Kinetics;
use super::past::Past;
use super::slopes::{Bound, Slopes};

/// Stretches of all lengths, before the first reading.
const LENGTHS: [Length; 7] = [
    Length::of(30_000),
    Length::of(60_000),
    Length::of(120_000),
    Length::of(180_000),
    Length::of(300_000),
    Length::of(480_000),
    Length::of(720_000),
];
/// The longest of which three are compared in ms: the past takes no more than two of the longest.
const LONGEST_OF_THREE_MS: u64 = 480_000;
/// The fewest readings in a stretch.
const LEAST: f64 = 4.0;
/// A length is weighed anew when such a part of it has gone by: what is to come only falls, so that a bound
/// holds on.
const ANEW: u64 = 4;
/// A tail and a water that goes against it cancel for a moment: for so many ms a signal has to stand still
/// before that counts.
const HOLD_MS: u64 = 60_000;
/// Half width of what lies between two readings, in deviations of one (95 %, normal distribution).
const STEP: f64 = 2.8;

/// What the past says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Said {
    /// How much may be hidden.
    pub bound: Bound,
    /// Least rate of the water per minute, below 0 when it may be none; or, with too few readings for two
    /// stretches, how far the signal went within them all.
    pub water: Result<f64, f64>,
}

/// The stretches of one length.
#[derive(Clone, Copy, Debug)]
struct Length {
    ms: u64,
    /// Where they begin, as cells: the newest one, the one before it, and the third.
    begins: [usize; 3],
    /// When to weigh them anew.
    due_ms: u64,
    slopes: Option<Slopes>,
    weighed: Option<Weighed>,
}

/// What one length says.
#[derive(Clone, Copy, Debug)]
struct Weighed {
    changing: Bound,
    still: Bound,
    water: f64,
}

/// The stretches of all lengths.
#[derive(Clone, Debug)]
pub(super) struct Stretches {
    lengths: [Length; LENGTHS.len()],
    /// The slowest time constant that was allowed for, in min.
    slowest_min: f64,
    /// Bounds on still water of the last minute, and when.
    held: VecDeque<(u64, f64)>,
}

impl Stretches {
    pub(super) const fn new() -> Self {
        Self { lengths: LENGTHS, slowest_min: 0.0, held: VecDeque::new() }
    }

    /// What the past says with its newest reading; `None` of a single one.
    pub(super) fn say(&mut self, past: &mut Past, kinetics: &Kinetics) -> Option<Said> {
        let now_ms = past.last_ms();
        let mut before = None;
        for length in &mut self.lengths {
            if length.due_ms <= now_ms {
                length.due_ms = now_ms.saturating_add(length.ms / ANEW);
                length.slopes = length.follow(past, before, kinetics.noise);
                length.weighed = None;
            }
            before = Some(length.begins);
        }
        self.drop_unneeded(past);

        let slowest_min = self
            .lengths
            .iter()
            .filter_map(|length| length.slopes.as_ref()?.own_curve_min(kinetics.slowest_s / 60.0))
            .fold(kinetics.slowest_s / 60.0, f64::max);
        let mut best: Option<Weighed> = None;
        for length in &mut self.lengths {
            let Some(slopes) = &length.slopes else { continue };
            if slowest_min != self.slowest_min {
                length.weighed = None;
            }
            let weighed = *length.weighed.get_or_insert_with(|| Weighed {
                changing: slopes.on_changing_water(slowest_min, kinetics.lag_s / 60.0),
                still: slopes.on_still_water(slowest_min),
                water: slopes.of_water(),
            });
            best = Some(best.map_or(weighed, |best| Weighed {
                changing: best.changing.or(weighed.changing),
                still: best.still.or(weighed.still),
                water: best.water.max(weighed.water),
            }));
        }
        self.slowest_min = slowest_min;
        let few = (best.is_none() || past.is_young())
            .then(|| of_few(past, slowest_min, kinetics.noise))
            .flatten();
        let Some(Weighed { changing, still, water }) = best else {
            return few.map(|(bound, went)| Said { bound, water: Err(went) });
        };
        let mut bound = changing.or(self.hold(now_ms, still));
        if let Some((few, _)) = few {
            // Too little for *steady*, but the first stretches have the whole move in them.
            bound = Bound { to_come: bound.to_come, ..bound.or(few) };
        }
        bound.hidden.is_finite().then_some(Said { bound, water: Ok(water) })
    }

    /// Drops cells before all stretches but one: the reading before a stretch tells where it begins.
    fn drop_unneeded(&mut self, past: &mut Past) {
        let oldest = self.lengths.iter().map(|length| length.begins[2]).min();
        let spare = oldest.unwrap_or(0).saturating_sub(1);
        if spare > 0 {
            past.drop_oldest(spare);
            for begin in self.lengths.iter_mut().flat_map(|length| &mut length.begins) {
                *begin -= spare;
            }
        }
    }

    /// The largest bound of the last minute.
    fn hold(&mut self, ms: u64, still: Bound) -> Bound {
        while self.held.front().is_some_and(|(then, _)| ms - then >= HOLD_MS) {
            self.held.pop_front();
        }
        self.held.push_back((ms, still.to_come));
        let to_come = self.held.iter().fold(0.0, |most, (_, to_come)| to_come.max(most));
        Bound { to_come, hidden: to_come, ..still }
    }

    #[cfg(test)]
    pub(super) fn held(&self) -> usize {
        self.held.len()
    }
}

impl Length {
    const fn of(ms: u64) -> Self {
        Self { ms, begins: [0; 3], due_ms: 0, slopes: None, weighed: None }
    }

    /// Moves the beginnings up; the slopes when there are two stretches, and other ones than those of the
    /// next shorter length: where readings are rare, several have the same few.
    fn follow(&mut self, past: &Past, shorter: Option<[usize; 3]>, noise: f64) -> Option<Slopes> {
        let wanted = if self.ms <= LONGEST_OF_THREE_MS { 3 } else { 2 };
        let mut end = past.cells();
        let mut sums = [None; 3];
        for (index, reach_ms) in [self.ms, 2 * self.ms, 3 * self.ms][..wanted].iter().enumerate() {
            let all = past.before(end);
            let is_one = |begin: usize| {
                all.n - past.before(begin).n >= LEAST && past.reaches_ms(begin) >= *reach_ms
            };
            let begin = &mut self.begins[index];
            while is_one(*begin + 1) {
                *begin += 1;
            }
            if *begin > 0 || is_one(0) {
                sums[index] = Some(all.since(past.before(*begin)));
            }
            end = *begin;
        }
        self.begins[wanted..].fill(end);
        if shorter == Some(self.begins) {
            return None;
        }
        let [Some(new), Some(old), oldest] = sums else { return None };
        let whole = past.before(past.cells()).since(past.before(self.begins[1]));
        let oldest = oldest.and_then(|sums| sums.line());
        Some(Slopes::of(new.line()?, old.line()?, whole.line()?, oldest, past.now(), noise))
    }
}

/// Fewer readings than two stretches have: of an exponential that went by so much since some reading,
/// this is to come. The nearest says most, but for noise, so all distances are tried, each twice the last.
fn of_few(past: &Past, slowest_min: f64, noise: f64) -> Option<(Bound, f64)> {
    let mean = |cell: usize| past.before(cell + 1).since(past.before(cell)).mean();
    let end = past.cells().checked_sub(1)?;
    let last = mean(end)?;
    let mut best: Option<Bound> = None;
    let mut back = 1;
    while let Some(then) = end.checked_sub(back).and_then(mean) {
        let (minutes, went) = (last.0 - then.0, last.1 - then.1);
        let to_come = (went.abs() + STEP * noise) / libm::expm1(minutes / slowest_min);
        if minutes > 0.0 && to_come.is_finite() {
            let found = Bound { to_come, hidden: to_come, rate: went / minutes };
            best = Some(best.map_or(found, |best| best.or(found)));
        }
        back *= 2;
    }
    Some((best?, last.1 - mean(0)?.1))
}
