//! How sensors really drift: laws of which none is the rule's own.
//!
//! No public authority states a drift per day; sizes are chosen after common
//! practice: an electrode 1 to 3 mV a week, a clean cell 1 % a year, a platinum thermometer some mK a
//! year. One unit of a path is the usual size of its sensor.

use super::Chance;

/// A law.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Law {
    /// A random walk.
    Walk,
    /// A line whose rate wanders.
    Line,
    /// Knocks and a slow line.
    Knocks,
    /// A new sensor that comes to rest.
    New,
    /// The year's swing, and weather.
    Season,
    /// A little of everything.
    Mix,
}

impl Law {
    /// All of them.
    pub(crate) const ALL: [Self; 6] =
        [Self::Walk, Self::Line, Self::Knocks, Self::New, Self::Season, Self::Mix];

    /// What to call it.
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Walk => "random walk",
            Self::Line => "wandering line",
            Self::Knocks => "knocks",
            Self::New => "new sensor",
            Self::Season => "season",
            Self::Mix => "mix",
        }
    }

    /// Where a sensor is on each of so many days, in units of its usual drift over a week.
    pub(crate) fn path(self, days: usize, chance: &mut Chance) -> Vec<f64> {
        let parts = match self {
            // Walk a root of a day, line a day, knocks a year and their size, new, season, weather.
            Self::Walk => [0.35, 0.0, 0.0, 0.0, 0.0, 0.0],
            Self::Line => [0.07, 0.1, 0.0, 0.0, 0.0, 0.0],
            Self::Knocks => [0.07, 0.05, 4.0, 0.0, 0.0, 0.0],
            Self::New => [0.1, 0.0, 0.0, 1.0, 0.0, 0.0],
            Self::Season => [0.07, 0.06, 0.0, 0.0, 1.0, 0.3],
            Self::Mix => [0.17, 0.06, 2.0, 0.4, 0.5, 0.2],
        };
        let [walk, line, knocks, new, season, weather] = parts;
        let walk = walk * libm::exp(chance.normal(0.4));
        let rate = line * libm::exp(chance.normal(0.6)) * chance.of(&[-1.0, -1.0, 1.0]);
        let (rises, rests) = (new * chance.within(12.0), chance.between(30.0, 200.0));
        let (swing, phase) = (season * chance.between(0.7, 2.4), chance.between(0.0, 6.3));
        let (mut at, mut wanders, mut wet) = (0.0, 0.0, 0.0);
        let mut path = Vec::with_capacity(days);
        for day in 0..days {
            let t = day as f64;
            wanders += -wanders / 60.0 + chance.normal(0.4 * libm::sqrt(2.0 / 60.0));
            wet += -wet / 5.0 + chance.normal(weather * libm::sqrt(2.0 / 5.0));
            at += chance.normal(walk) + rate * (1.0 + wanders);
            if chance.happens(knocks / 365.0) {
                at += chance.normal(2.5);
            }
            let settles = rises * (1.0 - libm::exp(-t / rests));
            let year = swing * libm::sin(core::f64::consts::TAU * t / 365.0 + phase);
            path.push(at + settles + year + wet);
        }
        path
    }
}
