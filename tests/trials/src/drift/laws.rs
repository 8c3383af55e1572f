//! Laws of drift. None is the rule's own (one rate and one walk of a size that the kind has); their sizes
//! are what coefficients are said to change by in a week, not what the rule takes.

use super::super::coverage::Chance;

/// How a coefficient drifts.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Law {
    /// A random walk, of a size that differs from sensor to sensor.
    Walk,
    /// A rate that wanders by 40 % within two months.
    WanderingRate,
    /// Fast at first, then less and less.
    Saturating,
    /// Four steps a year on a slow rate.
    Steps,
    /// A sine of a year, with weather on it.
    Season,
    /// A little of everything.
    Mix,
}

impl Law {
    /// All of them.
    pub const ALL: [Self; 6] =
        [Self::Walk, Self::WanderingRate, Self::Saturating, Self::Steps, Self::Season, Self::Mix];

    /// What to call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Walk => "random walk",
            Self::WanderingRate => "wandering rate",
            Self::Saturating => "saturating",
            Self::Steps => "steps",
            Self::Season => "season",
            Self::Mix => "mix",
        }
    }

    /// The coefficient of one sensor day by day.
    pub(super) fn course(
        self,
        (slow, fast): (f64, f64),
        days: usize,
        chance: &mut Chance,
    ) -> Vec<f64> {
        let middle = libm::sqrt(slow * fast);
        let spread = 0.5 * libm::log(fast / slow);
        let a_week = middle * libm::exp(chance.normal(spread));
        let mut drawn = Drawn { a_week, middle, days, course: vec![0.0; days], chance };
        match self {
            Self::Walk => drawn.walk(1.0),
            Self::WanderingRate => {
                drawn.rate(1.0);
                drawn.walk(0.25);
            }
            Self::Saturating => {
                drawn.saturating(2.0);
                drawn.walk(0.35);
            }
            Self::Steps => {
                drawn.steps(4.0, 1.0);
                drawn.rate(0.5);
                drawn.walk(0.25);
            }
            Self::Season => {
                drawn.season(0.7);
                drawn.rate(0.5);
                drawn.walk(0.25);
            }
            Self::Mix => {
                drawn.walk(0.6);
                drawn.rate(0.6);
                drawn.saturating(0.6);
                drawn.steps(2.0, 0.8);
                drawn.season(0.3);
            }
        }
        drawn.course
    }
}

/// A course that is being drawn; sizes are in terms of the sensor's change in a week.
struct Drawn<'a> {
    a_week: f64,
    /// That of an ordinary sensor of the kind.
    middle: f64,
    days: usize,
    course: Vec<f64>,
    chance: &'a mut Chance,
}

impl Drawn<'_> {
    fn add(&mut self, mut each: impl FnMut(usize, &mut Chance) -> f64) {
        for day in 0..self.days {
            self.course[day] += each(day, self.chance);
        }
    }

    fn walk(&mut self, size: f64) {
        let a_day = size * self.a_week / libm::sqrt(7.0);
        let mut at = 0.0;
        self.add(|_, chance| {
            at += chance.normal(a_day);
            at
        });
    }

    /// Most sensors go down.
    fn sign(&mut self) -> f64 {
        if self.chance.between(0.0, 1.0) < 0.7 { -1.0 } else { 1.0 }
    }

    fn rate(&mut self, size: f64) {
        let a_day = self.sign() * size * self.a_week / 7.0;
        let kept = libm::exp(-1.0 / 60.0);
        let (mut at, mut wander) = (0.0, self.chance.normal(0.4));
        self.add(|_, chance| {
            wander = kept * wander + chance.normal(0.4 * libm::sqrt(1.0 - kept * kept));
            at += a_day * (1.0 + wander);
            at
        });
    }

    fn saturating(&mut self, size: f64) {
        let at_first = self.sign() * size * self.a_week / 7.0;
        let (tau, age) = (self.chance.between(20.0, 120.0), self.chance.between(0.0, 20.0));
        self.add(|day, _| -at_first * tau * libm::exp(-(day as f64 + age) / tau));
    }

    fn steps(&mut self, a_year: f64, size: f64) {
        // Three weeks' worth of an ordinary sensor.
        let step = size * 3.0 * self.middle;
        let mut at = 0.0;
        self.add(|_, chance| {
            if chance.between(0.0, 1.0) < a_year / 365.0 {
                at += chance.normal(step);
            }
            at
        });
    }

    fn season(&mut self, size: f64) {
        let amplitude = size * self.a_week / 7.0 * 365.0 / core::f64::consts::TAU;
        let phase = self.chance.between(0.0, 1.0);
        let kept = libm::exp(-1.0 / 5.0);
        let weather = 0.5 * size * self.a_week;
        let mut at = self.chance.normal(weather);
        self.add(|day, chance| {
            at = kept * at + chance.normal(weather * libm::sqrt(1.0 - kept * kept));
            at + amplitude * libm::sin(core::f64::consts::TAU * (day as f64 / 365.0 + phase))
        });
    }
}
