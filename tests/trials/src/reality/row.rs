//! A row of the reality table: what was tried, what came of it, and whether that will do.

use super::nature::Chance;
use super::operator::Stopped;

/// What a statement is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Stated {
    /// pH.
    Ph,
    /// Conductivity, in percent of itself.
    Conductivity,
    /// Specific conductance, in percent of itself.
    Specific,
    /// Temperature in K.
    Temperature,
}

impl Stated {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Ph, Self::Conductivity, Self::Specific, Self::Temperature];

    /// What to call it, with its unit.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Ph => "pH",
            Self::Conductivity => "conductivity, %",
            Self::Specific => "specific conductance, %",
            Self::Temperature => "temperature, K",
        }
    }
}

/// What is asked of a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Truly good readings: covered, no wider than twice what is needed, and not flagged.
    Good,
    /// Realistic: covered and no wider than twice what is needed, or flagged.
    Realistic,
    /// A part of another row, for all of which one width is stated: covered, or flagged.
    Part,
    /// Covered or flagged, and stated wider than it would need for this reason.
    Wide(&'static str),
    /// Nobody can cover it, for this reason.
    Beyond(&'static str),
}

/// One line of the table.
#[derive(Clone, Debug)]
pub struct Row {
    /// What is done.
    pub name: String,
    /// How large the effect is.
    pub size: String,
    /// What is asked of it.
    pub asked: Asked,
}

/// What one probe found, against the truth.
#[derive(Clone, Copy, Debug)]
pub struct Finding {
    /// Which row of its trial.
    pub row: usize,
    /// What about.
    pub stated: Stated,
    /// How far from the truth: pH, percent, or K.
    pub off: f64,
    /// Stated standard uncertainty in the same unit.
    pub u: f64,
    /// Whether the reading was flagged.
    pub flagged: bool,
}

/// Draws one life and says what was stated in it and what was true.
pub(super) type Life = dyn Fn(&mut Chance) -> Result<Vec<Finding>, Stopped> + Sync;

/// One simulated life of a probe, that gives findings for one or several rows.
pub struct Trial {
    /// Its heading.
    pub topic: &'static str,
    /// Its rows.
    pub rows: Vec<Row>,
    /// How much dearer than a single calibration and reading.
    pub cost: u64,
    /// One life.
    pub life: Box<Life>,
}

/// What a row came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outcome {
    /// Readings.
    pub readings: usize,
    /// Part covered by U = 2u, 0 to 1.
    pub covered: f64,
    /// Part flagged.
    pub flagged: f64,
    /// Part covered or flagged.
    pub told: f64,
    /// Part covered of those that are not flagged, as long as these are a tenth at least; else 1.
    pub covered_unflagged: f64,
    /// Median of U, of the readings that are not flagged as long as these are a tenth at least.
    pub median_u: f64,
    /// What 95 % of the errors of the same readings stay within.
    pub needed: f64,
    /// Lives that there were, whose readings do not depend on each other.
    pub lives: f64,
}

/// Least part that is covered or flagged.
pub const LEAST_TOLD: f64 = 0.90;
/// Greatest part of truly good readings that may be flagged.
pub const MOST_FLAGGED: f64 = 0.20;
/// Greatest ratio of the median U to what is needed.
pub const MOST_RATIO: f64 = 2.0;
/// What chance may do to a row, in standard errors of its number of lives.
pub const MOST_CHANCE: f64 = 3.0;

impl Outcome {
    /// Sums up so many lives, of which so many were stopped at a calibration and have no reading; `None` of
    /// nothing.
    pub fn of(found: &[Finding], lives: usize, stopped: usize) -> Option<Self> {
        if found.is_empty() {
            return None;
        }
        let count = |is: &dyn Fn(&Finding) -> bool| found.iter().filter(|one| is(one)).count();
        let is_covered = |one: &Finding| libm::fabs(one.off) <= 2.0 * one.u;
        let readings = found.len();
        let part = |count: usize| count as f64 / readings as f64;
        let flagged = part(count(&|one| one.flagged));
        // Whoever is told that something is wrong is not told how much.
        let judged = |one: &&Finding| !one.flagged || flagged >= LEAST_TOLD;
        let sorted = |of: &dyn Fn(&Finding) -> f64| {
            let mut all: Vec<f64> = found.iter().filter(judged).map(of).collect();
            all.sort_by(f64::total_cmp);
            all
        };
        let (errors, expanded) = (sorted(&|one| libm::fabs(one.off)), sorted(&|one| 2.0 * one.u));
        let told = count(&|one| one.flagged || is_covered(one));
        let unflagged = count(&|one| !one.flagged);
        let covered = count(&|one| !one.flagged && is_covered(one));
        let few = 1.0 - flagged < 1.0 - LEAST_TOLD;
        let covered_unflagged = if few { 1.0 } else { covered as f64 / unflagged as f64 };
        Some(Self {
            readings,
            covered: part(count(&is_covered)),
            flagged,
            told: part(told),
            covered_unflagged,
            median_u: expanded[expanded.len() / 2],
            needed: errors[(errors.len() * 95 / 100).min(errors.len() - 1)],
            lives: (lives - stopped) as f64,
        })
    }

    /// Median U against what is needed.
    pub fn ratio(&self) -> f64 {
        self.median_u / self.needed
    }

    /// Whether it will do, but for what chance does.
    pub fn keeps(&self, asked: Asked) -> bool {
        let tenths = libm::sqrt(LEAST_TOLD * (1.0 - LEAST_TOLD) / self.lives);
        let by_chance = MOST_CHANCE * tenths;
        // 95 % of n normal errors stay within a limit that is known to one part in the root of n.
        let judged = if self.flagged < LEAST_TOLD { 1.0 - self.flagged } else { 1.0 };
        let widest = MOST_RATIO * (1.0 + MOST_CHANCE / libm::sqrt(judged * self.lives));
        let narrow = self.ratio() <= widest;
        let told = self.told >= LEAST_TOLD - by_chance
            && self.covered_unflagged >= LEAST_TOLD - by_chance / libm::sqrt(judged);
        match asked {
            Asked::Good => {
                let alarms = MOST_FLAGGED + by_chance;
                self.covered >= LEAST_TOLD - by_chance && narrow && self.flagged <= alarms
            }
            Asked::Realistic => told && (narrow || self.flagged >= LEAST_TOLD),
            Asked::Part | Asked::Wide(_) => told,
            Asked::Beyond(_) => true,
        }
    }
}
