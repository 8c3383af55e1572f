//! Which probes are moved from where to where.

use rillmark_metrology::reference::{buffers, conductivity_standards};

use super::Judged;
use rillmark_bench::random::Random;
use rillmark_bench::truth::Truth;
use rillmark_bench::water::{Beaker, Content};

/// Time constants in s with which the rules were tuned; others are drawn between the outermost.
const TUNED_S: [f64; 7] = [2.0, 4.0, 8.0, 15.0, 30.0, 60.0, 120.0];
/// The slowest thermometer, cell or bottle in s that is drawn.
const SLOWEST_LAG_S: f64 = 60.0;
/// Seeds that the rules were tuned with lie below.
const FIRST_UNSEEN: u64 = 1 << 32;

/// Buffers into which an electrode is moved.
const BUFFERS: [&str; 3] = ["technical-4.01", "technical-7.00", "technical-10.01"];

/// What approaches its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// An electrode with one time constant, of 2 to 120 s, in a buffer within 2 K.
    OneConstant,
    /// An electrode with two time constants of 2 to 120 s, the faster one with the larger part.
    TwoConstants,
    /// A cell that fills with a standard, with a time constant of 1 to 10 s.
    Filling,
    /// A cell whose standard takes the room's temperature, with 4 to 60 s, within 5 K.
    Warming,
    /// A thermometer alone, with a time constant of 2 to 60 s and a step of up to 15 K.
    Thermometer,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::OneConstant, Self::TwoConstants, Self::Filling, Self::Warming, Self::Thermometer];

    /// What to call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OneConstant => "electrode, one time constant",
            Self::TwoConstants => "electrode, two time constants",
            Self::Filling => "cell that fills",
            Self::Warming => "cell that takes the room's temperature",
            Self::Thermometer => "thermometer alone",
        }
    }

    /// What is judged in it.
    pub const fn judged(self) -> &'static [Judged] {
        match self {
            Self::OneConstant | Self::TwoConstants => &[Judged::Potential, Judged::Temperature],
            Self::Filling | Self::Warming => &[Judged::Conductance, Judged::Temperature],
            Self::Thermometer => &[Judged::Thermometer],
        }
    }

    /// True when the electrode is read.
    pub const fn is_ph(self) -> bool {
        matches!(self, Self::OneConstant | Self::TwoConstants)
    }
}

/// What became of one judgement in one course.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Seen {
    /// Size of the change still to come when it was accepted; `None` when it never was.
    pub left: Option<f64>,
    /// How long it had been within the limit then, in s.
    pub wasted_s: Option<f64>,
    /// Size of the change still to come when the patience had ended before.
    pub timed_out: Option<f64>,
    /// Readings with a bound, and how many of them held.
    pub bounds: usize,
    /// Of them those that held.
    pub bounds_held: usize,
    /// Readings with an estimate.
    pub estimates: usize,
    /// Of them those within a factor of two.
    pub estimates_near: usize,
}

/// A probe and the two solutions.
#[derive(Clone, Debug)]
pub struct Case {
    /// What approaches its end.
    pub kind: Kind,
    pub(super) seed: u64,
    pub(super) truth: Truth,
    pub(super) from: Beaker,
    pub(super) to: Beaker,
    /// How far the solution's temperature is from its end at first, in K, and its time constant in s.
    pub(super) warms: (f64, f64),
}

/// Draws time constants: of the tuned ones, or any other between them.
struct Lags {
    random: Random,
    tuned: bool,
}

impl Lags {
    fn between(&mut self, least: f64, most: f64) -> f64 {
        if !self.tuned {
            return libm::exp(self.random.between(libm::log(least), libm::log(most)));
        }
        let those: Vec<f64> =
            TUNED_S.into_iter().filter(|tau| (least..=most).contains(tau)).collect();
        those[(self.random.bits() % those.len() as u64) as usize]
    }
}

impl Case {
    /// The sensor's own time constants in s, the faster first, and how much of the approach is the faster
    /// one's, 0 to 1.
    pub fn time_constants_s(&self) -> (f64, f64, f64) {
        let truth = &self.truth;
        match self.kind {
            Kind::OneConstant | Kind::TwoConstants => {
                (truth.glass_fast_s, truth.glass_slow_s, truth.glass_fast_part)
            }
            Kind::Filling | Kind::Warming => (0.0, truth.cell_filling_s, 0.0),
            Kind::Thermometer => (0.0, truth.thermometer_s, 0.0),
        }
    }

    /// Case number `number` of a kind: of those that the rules were tuned with, or of the others,
    /// with other seeds and time constants.
    pub fn drawn(kind: Kind, number: u64, tuned: bool) -> Self {
        let seed = if tuned { number } else { FIRST_UNSEEN + number } * 8 + kind as u64;
        let mut lags = Lags { random: Random::new(seed, 6), tuned };
        let mut random = Random::new(seed, 7);
        let mut truth = Truth::seeded(seed);
        truth.thermometer_s = lags.between(2.0, SLOWEST_LAG_S / 2.0);
        let temperature_c = random.between(15.0, 30.0);
        let mut from = temperature_c + random.between(-2.0, 2.0);
        let mut warms = (0.0, 1.0);
        match kind {
            Kind::OneConstant => {
                truth.glass_slow_s = lags.between(2.0, 120.0);
                truth.glass_fast_part = 0.0;
            }
            Kind::TwoConstants => {
                truth.glass_fast_s = lags.between(2.0, 120.0);
                truth.glass_slow_s = lags.between(truth.glass_fast_s, 120.0);
                truth.glass_fast_part = random.between(0.5, 0.98);
            }
            Kind::Filling => truth.cell_filling_s = lags.between(1.0, 10.0),
            Kind::Warming => {
                truth.cell_filling_s = lags.between(1.0, 4.0);
                warms = (random.between(-5.0, 5.0), lags.between(4.0, SLOWEST_LAG_S));
            }
            Kind::Thermometer => {
                truth.thermometer_s = lags.between(2.0, SLOWEST_LAG_S);
                from = temperature_c + random.between(-15.0, 15.0);
            }
        }
        let sample = Content::Sample {
            ph: random.between(2.0, 12.0),
            specific_us_cm: libm::exp(random.between(libm::log(50.0), libm::log(5_000.0))),
            per_kelvin: 0.02,
        };
        let to = if kind.is_ph() {
            let name = BUFFERS[(random.bits() % BUFFERS.len() as u64) as usize];
            buffers::by_name(name).map(Content::Buffer)
        } else {
            conductivity_standards::by_name("1413").map(Content::Standard)
        };
        Self {
            kind,
            seed,
            truth,
            from: Beaker { content: sample, temperature_c: from },
            to: Beaker { content: to.unwrap_or(sample), temperature_c },
            warms,
        }
    }
}
