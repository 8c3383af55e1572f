//! Outside the standards: strong alkali and acid, and conductivities far from the only standard.

use super::{
    Asked, Sample, Stated, THREE, Trial, against, at_rest, bottles, calibrated, calibrated_in, one,
    row,
};
use crate::reality::operator::Papers;
use crate::reality::specimen::Specimen;

const TOPIC: &str = "Outside the standards";

pub(super) fn trials() -> Vec<Trial> {
    let mut trials = Vec::new();
    // K of Nikolsky times a sodium activity of 0.1 mol/L. General glass 1e-12 to 1e-13, low-sodium glass
    // 1e-14 to 1e-15 (recalled, low confidence, REFERENCES 20).
    for (size, k) in [("K 1e-14", 1e-14), ("K 1e-13", 1e-13), ("K 1e-12", 1e-12)] {
        for ph in [11.0, 12.5] {
            let row = row(format!("pH {ph}, 0.1 mol/L sodium"), size, Asked::Realistic);
            trials.push(one(TOPIC, row, move |chance| {
                let mut specimen = Specimen::drawn(chance);
                specimen.glass.sodium = 0.1 * k;
                let kept = calibrated(specimen, &THREE, chance)?;
                let ordinary = Sample::drawn(5_000.0, chance);
                let sample = Sample { ph: ph + chance.within(0.2), ..ordinary };
                let readings = at_rest(&kept, &sample.liquid(), chance);
                Ok(against(0, &kept, &readings, &sample, &[Stated::Ph]))
            }));
        }
    }
    // An acid reads high below about pH 1 (direction recalled, sizes chosen).
    for (size, acid) in [("0.05 pH/pH", 0.05), ("0.1 pH/pH", 0.1), ("0.3 pH/pH", 0.3)] {
        let row = row("pH 0.2 to 0.8", size, Asked::Realistic);
        trials.push(one(TOPIC, row, move |chance| {
            let mut specimen = Specimen::drawn(chance);
            specimen.glass.acid = acid;
            let kept = calibrated(specimen, &THREE, chance)?;
            let ph = chance.between(0.2, 0.8);
            let sample = Sample { ph, ..Sample::drawn(15_000.0, chance) };
            let readings = at_rest(&kept, &sample.liquid(), chance);
            Ok(against(0, &kept, &readings, &sample, &[Stated::Ph]))
        }));
    }
    // What polarisation leaves: a black cell little, a bright one much (chosen); leads beside it.
    let cells = [
        ("black cell", 0.05, 0.5),
        ("bright cell", 0.6, 0.5),
        ("bright cell, thin leads", 0.6, 3.0),
    ];
    let waters = [
        ("10 to 60 µS/cm, standard 1413", 10.0, 60.0),
        ("2 to 10 mS/cm, standard 1413", 2e3, 10e3),
        ("12 to 50 mS/cm, standard 1413", 12e3, 50e3),
    ];
    for (size, polarised, leads) in cells {
        for (water, low, high) in waters {
            let asked = if leads > 1.0 && low > 1e3 {
                Asked::Beyond(
                    "nobody can: a second, stronger standard stops five in six of such calibrations",
                )
            } else {
                Asked::Realistic
            };
            let row = row(water, size, asked);
            trials.push(one(TOPIC, row, move |chance| {
                let mut specimen = Specimen::drawn(chance);
                specimen.cell.polarised_ohm = polarised * chance.between(0.5, 1.5);
                specimen.cell.series_ohm = leads * chance.between(0.5, 1.5);
                let kept = calibrated(specimen, &[], chance)?;
                let at_25 = chance.in_ratio(low, high);
                let sample = Sample::drawn(at_25, chance);
                let readings = at_rest(&kept, &sample.liquid(), chance);
                Ok(against(0, &kept, &readings, &sample, &[Stated::Conductivity]))
            }));
        }
    }
    let beyond = Asked::Beyond("of those that the second standard did not stop");
    let row = row("2 to 50 mS/cm, standards 1413 and 12880", cells[2].0, beyond);
    trials.push(one(TOPIC, row, move |chance| {
        let mut specimen = Specimen::drawn(chance);
        specimen.cell.polarised_ohm = cells[2].1 * chance.between(0.5, 1.5);
        specimen.cell.series_ohm = cells[2].2 * chance.between(0.5, 1.5);
        let standards = bottles(&["1413", "12880"], chance);
        let kept = calibrated_in(specimen, Papers::new(), &standards, &[], chance)?;
        let at_25 = chance.in_ratio(2e3, 50e3);
        let sample = Sample::drawn(at_25, chance);
        let readings = at_rest(&kept, &sample.liquid(), chance);
        Ok(against(0, &kept, &readings, &sample, &[Stated::Conductivity]))
    }));
    trials
}
