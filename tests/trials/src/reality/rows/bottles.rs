//! Standards that are not what they say, plausibly: air, water, labels.

use super::{
    Asked, Chance, Finding, Sample, Stated, Stopped, TWO, Trial, against, at_rest, bottles,
    calibrated_in, one, row,
};
use crate::reality::nature::bottle::Bottle;
use crate::reality::operator::{FIRST_DAY, Papers, planned};
use crate::reality::specimen::Specimen;
use rillmark_procedures::routine::standard::{Made, Stated as Said};
use rillmark_proto::record::{Dissolved, Quantity, Vessel, Water};

const AIR: &str = "Air in the bottle";
const WATER: &str = "Sachets and labels";

/// Calibrates in these and reads an ordinary water.
fn life(
    standards: &[Bottle],
    buffers: &[Bottle],
    what: &[Stated],
    chance: &mut Chance,
) -> Result<Vec<Finding>, Stopped> {
    let kept = calibrated_in(Specimen::drawn(chance), Papers::new(), standards, buffers, chance)?;
    let sample = Sample::ordinary(chance);
    let readings = at_rest(&kept, &sample.liquid(), chance);
    Ok(against(0, &kept, &readings, &sample, what))
}

pub(super) fn trials() -> Vec<Trial> {
    let mut trials = Vec::new();
    trials.extend(air());
    trials.extend(sachets());
    trials.extend(labels());
    trials
}

fn air() -> Vec<Trial> {
    let mut trials = Vec::new();
    // An open beaker costs less than 0.01 pH in an hour, 1 mmol/L of CO2 0.05, equilibrium with air 0.24
    // to 0.29 (computed, REFERENCES 26).
    for (size, up_to, days) in
        [("to 0.01 pH", 0.01, 1), ("to 0.03 pH", 0.03, 14), ("to 0.1 pH", 0.1, 29)]
    {
        for alkaline in ["technical-10.01", "borax"] {
            let row = row(format!("CO₂ in {alkaline}, open {days} d"), size, Asked::Realistic);
            trials.push(one(AIR, row, move |chance| {
                let mut buffers = bottles(&TWO, chance);
                let mut third = bottles(&[alkaline], chance).remove(0);
                third.off = chance.within(0.01) - chance.between(0.0, up_to);
                third.planned.opened_days = Some((FIRST_DAY - days) as i32);
                buffers.push(third);
                let standards = bottles(&["1413"], chance);
                life(&standards, &buffers, &[Stated::Ph], chance)
            }));
        }
    }
    // Water in equilibrium with air adds 0.94 µS/cm outdoors, 1.5 in a closed room (computed,
    // REFERENCES 26).
    for (name, weak) in [("84 µS/cm", "84"), ("147 µS/cm", "146.9"), ("1413 µS/cm", "1413")] {
        for (size, added) in [("to 0.3 µS/cm", 0.3), ("to 0.95 µS/cm", 0.95), ("to 1.5 µS/cm", 1.5)]
        {
            let row = row(format!("CO₂ in the {name} standard"), size, Asked::Realistic);
            trials.push(one(AIR, row, move |chance| {
                let mut standards = bottles(&[weak], chance);
                standards[0].planned.opened_days = Some((FIRST_DAY - 10) as i32);
                standards[0].added_us_cm = chance.between(0.0, added);
                life(&standards, &[], &[Stated::Conductivity, Stated::Specific], chance)
            }));
        }
    }
    trials
}

fn sachets() -> Vec<Trial> {
    let mut trials = Vec::new();
    for (by, vessel) in
        [("flask", Vessel::Flask), ("cylinder", Vessel::Cylinder), ("by eye", Vessel::ByEye)]
    {
        for (size, factor) in [("half", 0.5), ("as said", 1.0), ("twice", 2.0)] {
            // One width is stated for a vessel, whoever fills it.
            let asked = match size {
                "half" => Asked::Part,
                "twice" => Asked::Beyond("nobody can: the water was twice as far off as is said"),
                _ => Asked::Realistic,
            };
            let salt = row(format!("KCl sachet, {by}"), size, asked);
            trials.push(one(WATER, salt, move |chance| {
                let mut bottle = sachet("kcl-0.01-mol-per-kg", vessel);
                bottle.off = factor * too_little(vessel, chance);
                bottle.added_us_cm = chance.between(0.3, 1.5);
                life(&[bottle], &[], &[Stated::Conductivity, Stated::Specific], chance)
            }));
            let salts = row(format!("buffer sachets, {by}"), size, Asked::Realistic);
            trials.push(one(WATER, salts, move |chance| {
                // ΔpH at half the strength: phthalate 0.052, phosphate 0.080, borax 0.01 (Bates,
                // recalled); by the logarithm of the strength. The salts are a secondary standard's.
                let dilution =
                    [("phosphate-1-1", 0.080), ("phthalate-1977", 0.052), ("borax", 0.01)];
                let water = factor * too_little(vessel, chance);
                let buffers = dilution.map(|(name, half)| {
                    let mut bottle = sachet(name, vessel);
                    bottle.off = -half * libm::log2(1.0 + water) + chance.within(0.015);
                    bottle
                });
                let standards = bottles(&["1413"], chance);
                life(&standards, &buffers, &[Stated::Ph], chance)
            }));
        }
    }
    trials
}

/// How much too strong a solution gets, as a part: a flask within 0.2 %, a cylinder within 1 %; an eye keeps to
/// no limit and scatters by 5 % (common practice).
fn too_little(vessel: Vessel, chance: &mut Chance) -> f64 {
    match vessel {
        Vessel::Flask => chance.within(0.002),
        Vessel::Cylinder => chance.within(0.01),
        Vessel::ByEye => libm::fmax(chance.normal(0.05), -0.5),
    }
}

/// A sachet that was dissolved today in deionised water, as the operator says.
fn sachet(name: &str, vessel: Vessel) -> Bottle {
    let mut bottle = Bottle::right(planned(name));
    let (water, days) = (Water::Deionised, FIRST_DAY as i32);
    bottle.planned.made = Made::Sachet(Dissolved { water, vessel, days });
    bottle
}

fn labels() -> Vec<Trial> {
    let mut trials = Vec::new();
    for (size, part) in [("a third of it", 0.33), ("half of it", 0.5), ("all of it", 1.0)] {
        let ph = row("labels ±0.02 pH, off within", size, Asked::Realistic);
        trials.push(one(WATER, ph, move |chance| {
            let buffers = super::THREE.map(|name| labelled(name, 0.02, part, chance));
            let standards = bottles(&["1413"], chance);
            life(&standards, &buffers, &[Stated::Ph], chance)
        }));
        let cell = row("label ±1 %, off within", size, Asked::Realistic);
        trials.push(one(WATER, cell, move |chance| {
            let standards = [labelled("1413", 0.01, part, chance)];
            life(&standards, &[], &[Stated::Conductivity, Stated::Specific], chance)
        }));
    }
    trials
}

/// A bottle with a label that states ± a limit, of which it is off by a part.
fn labelled(name: &str, limit: f64, part: f64, chance: &mut Chance) -> Bottle {
    let mut bottle = Bottle::right(planned(name));
    bottle.off = chance.within(limit * part);
    // A rectangle of this half width, as the bottle file takes a label's ±.
    let u = limit / libm::sqrt(3.0);
    let of_ph = bottle.planned.source.quantity() == Quantity::Ph;
    bottle.planned.stated = Some(if of_ph { Said::Absolute(u) } else { Said::Relative(u) });
    bottle.planned.opened_days = Some(FIRST_DAY as i32);
    bottle
}
