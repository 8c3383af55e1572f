//! Whether a reading follows from those before it, or the sensor was moved.

/// Through so many readings the line is laid.
const READINGS: usize = 5;
/// A reading so many deviations off the line does not follow from it.
const OFF: f64 = 6.0;
/// Second differences whose median square says how much readings scatter.
const DIFFERENCES: usize = 20;
/// The root of the median square to the deviation, for a normal distribution (computed).
const OF_MEDIAN: f64 = 1.4826;
/// A pause is so many times as long as the longest of the last gaps …
const PAUSE: u64 = 5;
/// … and longer than this in ms, so that a sampler may do something else in between.
const SHORTEST_PAUSE_MS: u64 = 10_000;
/// What slows down is an approach: it may fall back as far as this times what the line foretells.
const SLOWER: f64 = 1.2;

/// The last few of something.
#[derive(Clone, Copy, Debug)]
struct Last<T, const N: usize> {
    items: [T; N],
    count: usize,
    next: usize,
}

impl<T: Copy, const N: usize> Last<T, N> {
    const fn new(nothing: T) -> Self {
        Self { items: [nothing; N], count: 0, next: 0 }
    }

    fn push(&mut self, item: T) {
        self.items[self.next] = item;
        self.next = (self.next + 1) % N;
        self.count = (self.count + 1).min(N);
    }

    /// In no order.
    fn items(&self) -> &[T] {
        &self.items[..self.count]
    }

    /// The newest is 0 back.
    fn back(&self, back: usize) -> Option<T> {
        (back < self.count).then(|| self.items[(self.next + N - 1 - back) % N])
    }
}

/// What a reading is to those before it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Follows {
    /// It goes on from them.
    On,
    /// It does not, and the next one has to bear it out.
    Waits,
    /// Neither did the one before, which is given here: they begin anew.
    Anew(u64, f64),
}

/// The newest readings that follow from each other.
#[derive(Clone, Copy, Debug)]
pub(super) struct Newest {
    readings: Last<(u64, f64), READINGS>,
    differences: Last<f64, DIFFERENCES>,
    gaps_ms: Last<u64, READINGS>,
    /// The last gap was a pause, and how long it was.
    paused_ms: Option<u64>,
    waiting: Option<(u64, f64)>,
}

impl Newest {
    pub(super) const fn new() -> Self {
        Self {
            readings: Last::new((0, 0.0)),
            differences: Last::new(0.0),
            gaps_ms: Last::new(0),
            paused_ms: None,
            waiting: None,
        }
    }

    /// True when a reading after such a gap comes after a pause. Two in a row are no pauses: readings come at
    /// another interval now.
    pub(super) fn pauses(&mut self, gap_ms: u64) -> bool {
        let longest = self.gaps_ms.items().iter().max().copied();
        let pauses =
            gap_ms > SHORTEST_PAUSE_MS && longest.is_some_and(|longest| gap_ms / PAUSE > longest);
        match self.paused_ms.take() {
            _ if !pauses => self.gaps_ms.push(gap_ms),
            Some(paused_ms) => self.gaps_ms.push(gap_ms.min(paused_ms)),
            None => self.paused_ms = Some(gap_ms),
        }
        pauses
    }

    /// Forgets the readings; how they scatter and how often they come is the sensor's and stays.
    pub(super) fn begin_anew(&mut self) {
        self.readings = Last::new((0, 0.0));
        self.waiting = None;
    }

    /// Takes a reading later than all others, of a sensor with at least this noise.
    pub(super) fn take(&mut self, ms: u64, value: f64, noise: f64) -> Follows {
        if self.is_off(ms, value, noise) {
            let Some((then, other)) = self.waiting.replace((ms, value)) else {
                return Follows::Waits;
            };
            self.begin_anew();
            self.accept(then, other);
            self.accept(ms, value);
            return Follows::Anew(then, other);
        }
        self.waiting = None;
        self.accept(ms, value);
        Follows::On
    }

    fn accept(&mut self, ms: u64, value: f64) {
        if let (Some(b), Some(a)) = (self.readings.back(0), self.readings.back(1)) {
            // The middle one against the line through its neighbours, however they are spaced.
            let part = (b.0 - a.0) as f64 / (ms - a.0) as f64;
            let off = b.1 - a.1 - part * (value - a.1);
            let variances = 1.0 + part * part + (1.0 - part) * (1.0 - part);
            self.differences.push(off * off / variances);
        }
        self.readings.push((ms, value));
    }

    fn is_off(&self, ms: u64, value: f64, noise: f64) -> bool {
        if self.readings.count < READINGS {
            return false;
        }
        // Times before this reading in s, values from it: small numbers.
        let (mut t, mut y) = (0.0, 0.0);
        let ago = |then: u64| -((ms - then) as f64 / 1_000.0);
        for (then, other) in self.readings.items() {
            t += ago(*then);
            y += other - value;
        }
        let n = READINGS as f64;
        let (mean_t, mean_y) = (t / n, y / n);
        let (mut tt, mut ty) = (0.0, 0.0);
        for (then, other) in self.readings.items() {
            let from = ago(*then) - mean_t;
            tt += from * from;
            ty += from * (other - value);
        }
        let slope = ty / tt;
        let off = slope * mean_t - mean_y;
        let reach = OFF * OFF * (1.0 + 1.0 / n + mean_t * mean_t / tt);
        // The median is worked out where it matters alone.
        let is_beyond = |variance: f64| off * off > reach * variance;
        if !is_beyond(noise * noise) || !is_beyond(self.variance()) {
            return false;
        }
        let foretold = slope * mean_t;
        let slows = off * slope < 0.0 && off.abs() < SLOWER * foretold.abs();
        // One that waits has been weighed for that: the next one only bears it out.
        self.waiting.is_some() || !slows
    }

    /// Variance of a reading, from the median square.
    fn variance(&self) -> f64 {
        let mut squares = self.differences.items;
        let squares = &mut squares[..self.differences.count];
        if squares.is_empty() {
            return 0.0;
        }
        let middle = squares.len() / 2;
        let (_, median, _) = squares.select_nth_unstable_by(middle, f64::total_cmp);
        OF_MEDIAN * OF_MEDIAN * *median
    }
}
