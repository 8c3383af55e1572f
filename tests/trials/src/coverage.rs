//! Whether stated uncertainties are consistent with their own statements: how often twice of one covers a
//! truth that is drawn from what it says itself. That the arithmetic is right follows from it, that the
//! statements are right does not: see [`reality`](super::reality).
//!
//! Each run is one probe: its truth and every error are drawn from what the statements say of them,
//! points are made of raw integers, the fits of the routine find the coefficients, and a sample is
//! read with the same thermometer and converter. Errors that are stated as a limit are drawn from a
//! rectangle, the others from a normal distribution.

mod cell;
mod electrode;
mod thermometer;

use rillmark_procedures::routine::standard::{Planned, Source, Value};
use rillmark_proto::units::Celsius;

use rillmark_bench::random::Random;

/// The day of all calibrations, counted from 1970-01-01.
const TODAY: i32 = 20_000;

/// A bottle as most people have it: bought, opened today, nothing stated but its name.
fn bottle(name: &str, source: Source) -> Planned {
    let name = name.try_into().expect("the name of a standard");
    Planned { opened_days: Some(TODAY), ..Planned::new(name, source) }
}

/// What a calibration takes its content for.
fn value(bottle: &Planned, at: Celsius) -> Value {
    bottle.value(at, i64::from(TODAY)).expect("a room's temperature is in the table")
}

/// What a statement is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stated {
    /// pH of a sample.
    Ph,
    /// Slope of an electrode, in percent of Nernst.
    Slope,
    /// Offset of an electrode, in mV.
    Offset,
    /// Cell constant, in percent of itself.
    CellConstant,
    /// Conductivity of a sample at its temperature, in percent of itself.
    Conductivity,
    /// Conductivity of a sample referred to 25 °C, in percent of itself.
    SpecificConductance,
    /// Temperature of a sample, in K.
    Temperature,
}

impl Stated {
    /// All of them.
    pub const ALL: [Self; 7] = [
        Self::Ph,
        Self::Slope,
        Self::Offset,
        Self::CellConstant,
        Self::Conductivity,
        Self::SpecificConductance,
        Self::Temperature,
    ];

    /// What to call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ph => "pH",
            Self::Slope => "slope",
            Self::Offset => "offset",
            Self::CellConstant => "cell constant",
            Self::Conductivity => "conductivity",
            Self::SpecificConductance => "specific conductance",
            Self::Temperature => "temperature",
        }
    }

    /// Unit of its uncertainty.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::Ph => "pH",
            Self::Slope | Self::CellConstant | Self::Conductivity | Self::SpecificConductance => {
                "%"
            }
            Self::Offset => "mV",
            Self::Temperature => "K",
        }
    }
}

/// How a probe is calibrated and what it then reads: where nothing else is said, an ordinary natural
/// water that is referred to 25 °C by the viscosity of water, with a thermometer at its maker's word.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Scene {
    /// A single buffer with the slope of a nominal electrode.
    OneBuffer,
    /// Two buffers.
    TwoBuffers,
    /// Three buffers.
    ThreeBuffers,
    /// Five buffers, of several kinds.
    FiveBuffers,
    /// Three buffers, with a thermometer that was calibrated in ice.
    ThermometerFromIce,
    /// Three buffers, with a thermometer that is calibrated beside a reference only then.
    ThermometerSince,
    /// Three buffers; a dilute water.
    DiluteWater,
    /// Three buffers and the first of them again, 10 K warmer; a salty water.
    SaltyWater,
    /// One standard.
    OneStandard,
    /// One standard; the water is referred to 25 °C along a straight line.
    StraightLine,
    /// Two standards, with a thermometer that was calibrated in ice.
    TwoStandards,
    /// Three standards, with a thermometer that was calibrated beside a reference.
    ThreeStandards,
    /// One standard, with a thermometer that is calibrated beside a reference only then.
    CellThermometerSince,
    /// A thermometer at its maker's word, in a front end that was just built.
    Maker,
    /// A thermometer that was calibrated in ice.
    Ice,
    /// A thermometer that was calibrated beside a reference at two temperatures.
    Reference,
}

impl Scene {
    /// All of them.
    pub const ALL: [Self; 16] = [
        Self::OneBuffer,
        Self::TwoBuffers,
        Self::ThreeBuffers,
        Self::FiveBuffers,
        Self::ThermometerFromIce,
        Self::ThermometerSince,
        Self::DiluteWater,
        Self::SaltyWater,
        Self::OneStandard,
        Self::StraightLine,
        Self::TwoStandards,
        Self::ThreeStandards,
        Self::CellThermometerSince,
        Self::Maker,
        Self::Ice,
        Self::Reference,
    ];

    /// What to call it.
    pub const fn name(self) -> &'static str {
        match self {
            Self::OneBuffer => "one buffer",
            Self::TwoBuffers => "two buffers",
            Self::ThreeBuffers => "three buffers",
            Self::FiveBuffers => "five buffers",
            Self::ThermometerFromIce => "three buffers, thermometer from ice",
            Self::ThermometerSince => "three buffers, thermometer calibrated since",
            Self::DiluteWater => "three buffers, dilute water",
            Self::SaltyWater => "four points, salty water",
            Self::OneStandard => "one standard",
            Self::StraightLine => "one standard, linear compensation",
            Self::TwoStandards => "two standards, thermometer from ice",
            Self::ThreeStandards => "three standards, thermometer beside reference",
            Self::CellThermometerSince => "one standard, thermometer calibrated since",
            Self::Maker => "thermometer at its maker's word",
            Self::Ice => "thermometer from ice",
            Self::Reference => "thermometer beside reference",
        }
    }
}

/// What was found in one run, against the truth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// What the statement is about.
    pub stated: Stated,
    /// How far from the truth.
    pub off: f64,
    /// The stated standard uncertainty, in the same unit.
    pub u: f64,
}

impl Found {
    /// True when twice the standard uncertainty covers the truth.
    pub fn is_covered(&self) -> bool {
        libm::fabs(self.off) <= 2.0 * self.u
    }
}

/// How well statements of one kind held.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Coverage {
    /// Statements.
    pub runs: usize,
    /// Part of them of which U (k = 2) covered the truth, 0 to 1.
    pub covered: f64,
    /// Median of U (k = 2), in the unit.
    pub median_u: f64,
    /// Root mean square of the errors in terms of their u: 1 when the statements are of the right
    /// size.
    pub scaled: f64,
}

impl Coverage {
    /// Sums up; `None` of nothing.
    pub fn of(found: &[Found]) -> Option<Self> {
        if found.is_empty() {
            return None;
        }
        let runs = found.len();
        let mut expanded: Vec<f64> = found.iter().map(|found| 2.0 * found.u).collect();
        expanded.sort_by(f64::total_cmp);
        let squares: f64 = found.iter().map(|found| (found.off / found.u).powi(2)).sum();
        Some(Self {
            runs,
            covered: found.iter().filter(|found| found.is_covered()).count() as f64 / runs as f64,
            median_u: expanded[runs / 2],
            scaled: (squares / runs as f64).sqrt(),
        })
    }
}

/// What one probe of a scene finds.
pub fn run(scene: Scene, number: u64) -> Vec<Found> {
    let mut chance = Chance(Random::new(number * 16 + scene as u64, 8));
    match scene {
        Scene::OneBuffer
        | Scene::TwoBuffers
        | Scene::ThreeBuffers
        | Scene::FiveBuffers
        | Scene::ThermometerFromIce
        | Scene::ThermometerSince
        | Scene::DiluteWater
        | Scene::SaltyWater => electrode::run(scene, &mut chance),
        Scene::OneStandard
        | Scene::StraightLine
        | Scene::TwoStandards
        | Scene::ThreeStandards
        | Scene::CellThermometerSince => cell::run(scene, &mut chance),
        Scene::Maker | Scene::Ice | Scene::Reference => thermometer::run(scene, &mut chance),
    }
}

/// Draws errors.
pub(super) struct Chance(Random);

impl Chance {
    /// Draws from these random numbers.
    pub(super) const fn new(random: Random) -> Self {
        Self(random)
    }

    /// Normal, of this standard deviation.
    pub(super) fn normal(&mut self, deviation: f64) -> f64 {
        deviation * self.0.normal()
    }

    /// From a rectangle of this standard deviation.
    fn rectangular(&mut self, deviation: f64) -> f64 {
        let half = deviation * libm::sqrt(3.0);
        self.0.between(-half, half)
    }

    /// Anything between two values alike.
    pub(super) fn between(&mut self, low: f64, high: f64) -> f64 {
        self.0.between(low, high)
    }

    /// Anything between two values alike by its logarithm.
    fn between_in_ratio(&mut self, low: f64, high: f64) -> f64 {
        libm::exp(self.0.between(libm::log(low), libm::log(high)))
    }
}
