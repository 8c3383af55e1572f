//! The junction in waters unlike the buffers, and an isopotential pH that nobody measured.

use super::{Asked, Sample, Stated, THREE, Trial, against, at_rest, calibrated, one, row};
use crate::reality::specimen::Specimen;

pub(super) fn trials() -> Vec<Trial> {
    let mut trials = Vec::new();
    // Standard deviation of what the junction adds in this water beside the usual.
    for (size, extra) in [("0.01 pH", 0.01), ("0.03 pH", 0.03), ("0.06 pH", 0.06)] {
        for (water, low, high) in [
            ("dilute water", 10.0, 90.0),
            ("ordinary water", 120.0, 2_000.0),
            ("salty water", 25_000.0, 50_000.0),
        ] {
            let asked = if water == "ordinary water" && extra > 0.05 {
                Asked::Beyond(
                    "nobody can: a worn junction shows in a stir check or another electrode",
                )
            } else {
                Asked::Realistic
            };
            let row = row(format!("junction, {water}"), size, asked);
            trials.push(one("Junction", row, move |chance| {
                let kept = calibrated(Specimen::drawn(chance), &THREE, chance)?;
                let at_25 = chance.in_ratio(low, high);
                let mut sample = Sample::drawn(at_25, chance);
                sample.junction_ph += chance.normal(extra);
                let readings = at_rest(&kept, &sample.liquid(), chance);
                Ok(against(0, &kept, &readings, &sample, &[Stated::Ph]))
            }));
        }
    }
    // Stirring depresses the pH of a dilute water, by more than 0.2 with some electrodes (Davison and
    // Gardner 1986, seen in its abstract): one-sided.
    for (size, depressed) in [("to 0.05 pH", 0.05), ("to 0.1 pH", 0.1), ("to 0.2 pH", 0.2)] {
        let asked = if depressed > 0.15 {
            Asked::Beyond("nobody can: only a stir check shows it")
        } else {
            Asked::Realistic
        };
        let row = row("stirred dilute water", size, asked);
        trials.push(one("Junction", row, move |chance| {
            let kept = calibrated(Specimen::drawn(chance), &THREE, chance)?;
            let at_25 = chance.in_ratio(10.0, 90.0);
            let mut sample = Sample::drawn(at_25, chance);
            sample.junction_ph -= chance.between(0.0, depressed);
            let readings = at_rest(&kept, &sample.liquid(), chance);
            Ok(against(0, &kept, &readings, &sample, &[Stated::Ph]))
        }));
    }
    for (size, spread) in [("0.3", 0.3), ("0.6", 0.6), ("0.9", 0.9)] {
        for apart in [5.0, 15.0] {
            let name = format!("isopotential pH of spread {size}, {apart} K from the calibration");
            let row = row(name, size, Asked::Realistic);
            trials.push(one("Isopotential pH", row, move |chance| {
                let mut specimen = Specimen::drawn(chance);
                specimen.glass.isopotential_ph = 7.0 + chance.normal(spread);
                let kept = calibrated(specimen, &THREE, chance)?;
                let at_c = kept.papers.in_force.ph.map_or(20.0, |ph| ph.at_c);
                let celsius = libm::fmax(at_c + chance.of(&[-apart, apart]), 2.0);
                let sample = Sample { celsius, ..Sample::ordinary(chance) };
                let readings = at_rest(&kept, &sample.liquid(), chance);
                Ok(against(0, &kept, &readings, &sample, &[Stated::Ph]))
            }));
        }
    }
    trials
}
