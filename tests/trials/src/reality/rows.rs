//! The rows of the table, topic by topic.

mod aged;
mod bench;
mod bottles;
mod fresh;
mod heat;
mod junction;
mod moving;
mod outside;
mod waters;

use super::nature::Chance;
use super::nature::bottle::{Bottle, Liquid};
use super::nature::ions::{Conducts, Water};
use super::operator::{Papers, Stopped, planned};
use super::row::{Asked, Finding, Row, Stated, Trial};
use super::specimen::{AtBench, Specimen};
use super::statement::{assessed, stated};
use rillmark_proto::reading::Reading;
use rillmark_proto::record::Quantity;

/// Every trial.
pub fn all() -> Vec<Trial> {
    [
        fresh::trials(),
        moving::trials(),
        aged::trials(),
        outside::trials(),
        bottles::trials(),
        junction::trials(),
        waters::trials(),
        heat::trials(),
        bench::trials(),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// The three sizes of an effect, by name.
const SIZES: [&str; 3] = ["small", "usual", "large"];

fn row(name: impl Into<String>, size: impl Into<String>, asked: Asked) -> Row {
    Row { name: name.into(), size: size.into(), asked }
}

/// A trial of a single row.
fn one(
    topic: &'static str,
    row: Row,
    life: impl Fn(&mut Chance) -> Result<Vec<Finding>, Stopped> + Sync + 'static,
) -> Trial {
    Trial { topic, rows: vec![row], cost: 1, life: Box::new(life) }
}

/// Two technical buffers, or three.
const TWO: [&str; 2] = ["technical-7.00", "technical-4.01"];
const THREE: [&str; 3] = ["technical-7.00", "technical-4.01", "technical-10.01"];

/// Bottles as they come, of which nothing is stated: technical buffers within 0.02 pH of their label, conductivity
/// standards within 1 % (common practice). They were opened up to a month ago, as the operator says, and
/// breathed since.
fn bottles(names: &[&str], chance: &mut Chance) -> Vec<Bottle> {
    bottles_on(0.0, names, chance)
}

/// The same on a later day.
fn bottles_on(today: f64, names: &[&str], chance: &mut Chance) -> Vec<Bottle> {
    let of = |name: &&str| {
        let mut bottle = Bottle::right(planned(name));
        bottle.off = match bottle.planned.source.quantity() {
            Quantity::Ph => chance.within(0.02),
            _ => chance.within(0.01),
        };
        bottle.breathe(chance.between(0.0, 30.0), today, chance);
        bottle
    };
    names.iter().map(of).collect()
}

/// A water as it is met: what is in it, how warm it is, what the junction makes of it.
#[derive(Clone, Copy)]
struct Sample {
    ph: f64,
    conducts: Conducts,
    celsius: f64,
    junction_ph: f64,
}

impl Sample {
    /// Of this specific conductance in µS/cm, pH 6 to 9 and 5 to 30 °C (chosen), with what is left of a
    /// junction's potential in any water: so much in an ordinary one that all errors together scatter by
    /// 0.02 pH as field measurements at their best do (USGS NFQA 1979-89, seen in its abstract), 0.04 in a
    /// dilute one (laboratories scatter by 0.05 in poorly buffered water: Davison and Gardner 1986, seen in
    /// its abstract), 0.03 in a salty one (chosen).
    fn drawn(at_25: f64, chance: &mut Chance) -> Self {
        let (water, junction) = match at_25 {
            dilute if dilute < 100.0 => (Water::Natural, 0.04),
            salty if salty > 20_000.0 => (Water::Chloride, 0.03),
            _ => (Water::Natural, 0.016),
        };
        Self {
            ph: chance.between(6.0, 9.0),
            conducts: Conducts::drawn(water, at_25, chance),
            celsius: chance.between(5.0, 30.0),
            junction_ph: chance.tailed(junction),
        }
    }

    /// An ordinary water, of 120 to 2000 µS/cm.
    fn ordinary(chance: &mut Chance) -> Self {
        let at_25 = chance.in_ratio(120.0, 2_000.0);
        Self::drawn(at_25, chance)
    }

    fn liquid(&self) -> Liquid {
        let Self { ph, celsius, junction_ph, .. } = *self;
        Liquid { ph, us_cm: self.conducts.us_cm(celsius), celsius, junction_ph }
    }

    fn truth(&self, what: Stated) -> f64 {
        match what {
            Stated::Ph => self.ph,
            Stated::Conductivity => self.conducts.us_cm(self.celsius),
            Stated::Specific => self.conducts.us_cm(25.0),
            Stated::Temperature => self.celsius,
        }
    }
}

/// A probe with its papers.
struct Kept {
    specimen: Specimen,
    papers: Papers,
}

/// A probe whose cell was calibrated in the 1413 standard and whose electrode in these buffers, the
/// same day.
fn calibrated(specimen: Specimen, buffers: &[&str], chance: &mut Chance) -> Result<Kept, Stopped> {
    let buffers = bottles(buffers, chance);
    let standards = bottles(&["1413"], chance);
    calibrated_in(specimen, Papers::new(), &standards, &buffers, chance)
}

fn calibrated_in(
    specimen: Specimen,
    papers: Papers,
    standards: &[Bottle],
    buffers: &[Bottle],
    chance: &mut Chance,
) -> Result<Kept, Stopped> {
    let room_c = chance.between(16.0, 27.0);
    let mut kept = Kept { specimen, papers };
    for bottles in [standards, buffers] {
        kept.papers.calibrate(&mut AtBench::new(&kept.specimen), bottles, room_c, chance)?;
    }
    // The board is somewhere else now.
    kept.specimen.board_k = chance.within(5.0);
    Ok(kept)
}

/// Readings of a probe that has long come to rest in a water: ten minutes of them, every 10 s.
fn at_rest(kept: &Kept, liquid: &Liquid, chance: &mut Chance) -> Vec<Reading> {
    let visit = kept.specimen.dip(liquid, chance);
    (0..60).map(|i| visit.reading(i, 1_000_000 + 10_000 * u64::from(i), chance)).collect()
}

/// What the last of these readings states, against the sample's truth.
fn against(
    row: usize,
    kept: &Kept,
    readings: &[Reading],
    sample: &Sample,
    what: &[Stated],
) -> Vec<Finding> {
    let assessment = assessed(&kept.papers, readings);
    let of = |what: &Stated| {
        let (found, truth) = (stated(assessment.as_ref()?, *what)?, sample.truth(*what));
        let unit = match what {
            Stated::Conductivity | Stated::Specific => 100.0 / truth,
            Stated::Ph | Stated::Temperature => 1.0,
        };
        Some(Finding {
            row,
            stated: *what,
            off: unit * (found.value - truth),
            u: unit * found.u,
            flagged: found.flagged,
        })
    };
    what.iter().filter_map(of).collect()
}
