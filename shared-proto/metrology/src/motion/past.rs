//! The past of a signal, small enough to keep and quick to sum up.
//!
//! Readings of the same five seconds share a cell, once the past is a minute long, which holds the sums that a line needs, so nothing of a
//! line is lost but where a stretch may begin. Sums run on from an origin that moves along, so that any
//! stretch of cells is one difference.

use alloc::collections::VecDeque;

/// Readings within so many ms of a cell's first one share it …
const CELL_MS: u64 = 5_000;
/// … but for the first so many ms, when every reading tells something, …
const ALONE_MS: u64 = 60_000;
/// … or for so many readings.
const MOST_ALONE: usize = 256;
/// A past is young for so many ms.
const YOUNG_MS: u64 = 180_000;
const MS_PER_MIN: f64 = 60_000.0;

/// Sums over readings, times in minutes and values from an origin.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Sums {
    /// How many.
    pub n: f64,
    t: f64,
    y: f64,
    tt: f64,
    ty: f64,
    yy: f64,
}

impl Sums {
    const NONE: Self = Self { n: 0.0, t: 0.0, y: 0.0, tt: 0.0, ty: 0.0, yy: 0.0 };

    fn with(&self, t: f64, y: f64) -> Self {
        Self {
            n: self.n + 1.0,
            t: self.t + t,
            y: self.y + y,
            tt: self.tt + t * t,
            ty: self.ty + t * y,
            yy: self.yy + y * y,
        }
    }

    /// What was added since `before`.
    pub(super) fn since(&self, before: &Self) -> Self {
        Self {
            n: self.n - before.n,
            t: self.t - before.t,
            y: self.y - before.y,
            tt: self.tt - before.tt,
            ty: self.ty - before.ty,
            yy: self.yy - before.yy,
        }
    }

    /// The same from an origin that lies `t` later and `y` higher.
    fn from(&self, t: f64, y: f64) -> Self {
        let Self { n, .. } = *self;
        Self {
            n,
            t: self.t - n * t,
            y: self.y - n * y,
            tt: self.tt - 2.0 * t * self.t + n * t * t,
            ty: self.ty - t * self.y - y * self.t + n * t * y,
            yy: self.yy - 2.0 * y * self.y + n * y * y,
        }
    }

    /// Mean time in minutes after the origin, and mean value above the origin's.
    pub(super) fn mean(&self) -> Option<(f64, f64)> {
        (self.n > 0.0).then(|| (self.t / self.n, self.y / self.n))
    }

    /// The line through the readings; `None` when they are of one time.
    pub(super) fn line(&self) -> Option<Line> {
        let Self { n, t, y, tt, ty, yy } = *self;
        let mean = t / n;
        let spread = tt - mean * t;
        let together = ty - mean * y;
        let slope = together / spread;
        let squares = yy - y * y / n - slope * together;
        let usable = spread > 0.0 && squares.is_finite();
        usable.then(|| Line { n, mean, slope, squares: squares.max(0.0), spread })
    }
}

/// A line through a stretch.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Line {
    /// Readings.
    pub n: f64,
    /// Mean time in minutes after the origin.
    pub mean: f64,
    /// Per minute.
    pub slope: f64,
    /// Sum of squares about it.
    pub squares: f64,
    /// Sum of squares of the times about their mean, in min².
    pub spread: f64,
}

#[derive(Clone, Debug)]
struct Cell {
    first_ms: u64,
    last_ms: u64,
    /// Of all readings before it.
    before: Sums,
}

/// The past, oldest first.
#[derive(Clone, Debug)]
pub(super) struct Past {
    /// Time and value from which the sums count.
    origin: (u64, f64),
    cells: VecDeque<Cell>,
    all: Sums,
    first_ms: u64,
    last_ms: u64,
    /// Cells dropped since the origin was moved.
    dropped: usize,
}

impl Past {
    pub(super) const fn new() -> Self {
        Self {
            origin: (0, 0.0),
            cells: VecDeque::new(),
            all: Sums::NONE,
            first_ms: 0,
            last_ms: 0,
            dropped: 0,
        }
    }

    pub(super) fn clear(&mut self) {
        self.cells.clear();
        (self.all, self.dropped) = (Sums::NONE, 0);
    }

    /// Takes a reading that is later than all others; true when it began a cell.
    pub(super) fn push(&mut self, ms: u64, value: f64) -> bool {
        if self.cells.is_empty() {
            self.origin = (ms, value);
            self.first_ms = ms;
        }
        let share = ms - self.first_ms >= ALONE_MS || self.cells.len() >= MOST_ALONE;
        let before = self.all;
        self.all = before.with(self.after_origin(ms), value - self.origin.1);
        self.last_ms = ms;
        match self.cells.back_mut() {
            Some(cell) if share && ms - cell.first_ms < CELL_MS => {
                cell.last_ms = ms;
                false
            }
            _ => {
                self.cells.push_back(Cell { first_ms: ms, last_ms: ms, before });
                true
            }
        }
    }

    /// Forgets so many of the oldest cells.
    pub(super) fn drop_oldest(&mut self, count: usize) {
        self.cells.drain(..count);
        self.dropped += count;
        if self.dropped >= self.cells.len() {
            self.move_origin();
        }
    }

    /// Counts from the oldest readings on: once for as many cells dropped as there are, so that a cell sees
    /// it twice at most and rounding does not add up.
    fn move_origin(&mut self) {
        let Some(front) = self.cells.front() else { return };
        let (first_ms, before) = (front.first_ms, front.before);
        let first = self.end(0).since(&before).mean().map_or(0.0, |mean| mean.1);
        let (t, y) = (self.after_origin(first_ms), first);
        for sums in self.cells.iter_mut().map(|cell| &mut cell.before).chain([&mut self.all]) {
            *sums = sums.since(&before).from(t, y);
        }
        self.origin = (first_ms, self.origin.1 + y);
        self.dropped = 0;
    }

    fn after_origin(&self, ms: u64) -> f64 {
        (ms - self.origin.0) as f64 / MS_PER_MIN
    }

    /// True while what began it may still show in every stretch.
    pub(super) fn is_young(&self) -> bool {
        self.last_ms - self.first_ms < YOUNG_MS
    }

    /// How many cells there are.
    pub(super) fn cells(&self) -> usize {
        self.cells.len()
    }

    /// When the last reading was.
    pub(super) const fn last_ms(&self) -> u64 {
        self.last_ms
    }

    /// Minutes from the origin to the last reading.
    pub(super) fn now(&self) -> f64 {
        self.after_origin(self.last_ms)
    }

    /// Sums of what stands before a cell; of everything for the one after the last.
    pub(super) fn before(&self, cell: usize) -> &Sums {
        self.cells.get(cell).map_or(&self.all, |cell| &cell.before)
    }

    /// Sums of everything up to the end of a cell.
    fn end(&self, cell: usize) -> &Sums {
        self.before(cell + 1)
    }

    /// How many ms a stretch up to now takes that begins with a cell: from the reading before it on,
    /// or, where there is none, from where it would stand.
    pub(super) fn reaches_ms(&self, cell: usize) -> u64 {
        if let Some(before) = cell.checked_sub(1).and_then(|before| self.cells.get(before)) {
            return self.last_ms - before.last_ms;
        }
        let span = self.cells.front().map_or(0, |front| self.last_ms - front.first_ms);
        let steps = (self.all.n - 1.0) as u64;
        span.saturating_add(span.checked_div(steps).unwrap_or(0))
    }
}

#[cfg(test)]
mod tests {
    use std::vec::Vec;

    use crate::least_squares::{Observation, fit};

    use super::{MS_PER_MIN, Past};

    /// Day after day at some 1e5 above 0, the last minutes give the line that a fit of them alone gives.
    #[test]
    fn sums_stay_exact_however_long_they_run() {
        let mut past = Past::new();
        let value =
            |n: u64| 1e5 + 300.0 * (n as f64 * 1e-4).sin() + (n * 7_919 % 101) as f64 * 1e-3;
        let mut readings = Vec::new();
        for n in 0..200_000_u64 {
            let ms = 1_000 * n + n % 7;
            past.push(ms, value(n));
            readings.push((ms, value(n)));
            if past.cells() > 300 {
                past.drop_oldest(10);
            }
        }
        let cells = past.cells();
        assert!(cells <= 300);
        let from = cells - 24;
        let count = (past.before(cells).n - past.before(from).n) as usize;
        let line = past.before(cells).since(past.before(from)).line().unwrap();
        let last = &readings[readings.len() - count..];
        let at = |ms: u64| (ms as f64 - last[0].0 as f64) / MS_PER_MIN;
        let want = fit(last.iter().map(|(ms, value)| Observation::new(at(*ms), *value))).unwrap();
        assert!((line.slope / want.slope - 1.0).abs() < 1e-7, "{line:?} {want:?}");
        assert!((line.squares / want.sum_of_squares - 1.0).abs() < 1e-7, "{line:?} {want:?}");
    }
}
