//! Warm and cold: gradients in the water, a board that is warmer, membranes in the cold.

use super::{Asked, Sample, Stated, THREE, Trial, against, at_rest, calibrated, one, row};
use crate::reality::specimen::Specimen;

pub(super) fn trials() -> Vec<Trial> {
    const TOPIC: &str = "Warm and cold";
    let mut trials = Vec::new();
    for (size, gradient_k) in [("within 0.1 K", 0.1), ("within 0.3 K", 0.3), ("within 1 K", 1.0)] {
        let asked = if gradient_k < 1.0 {
            Asked::Realistic
        } else {
            Asked::Beyond("nobody can: nothing shows a lasting kelvin between sensors")
        };
        let row = row("glass and cell unlike the thermometer", size, asked);
        trials.push(one(TOPIC, row, move |chance| {
            let mut kept = calibrated(Specimen::drawn(chance), &THREE, chance)?;
            kept.specimen.glass.gradient_k = gradient_k;
            kept.specimen.cell.gradient_k = gradient_k;
            let sample = Sample::ordinary(chance);
            let readings = at_rest(&kept, &sample.liquid(), chance);
            Ok(against(0, &kept, &readings, &sample, &[Stated::Ph, Stated::Specific]))
        }));
    }
    for (size, board_k) in [("5 K", 5.0), ("15 K", 15.0), ("30 K", 30.0)] {
        let row = row("board unlike at the calibration", size, Asked::Realistic);
        trials.push(one(TOPIC, row, move |chance| {
            let mut kept = calibrated(Specimen::drawn(chance), &THREE, chance)?;
            kept.specimen.board_k = chance.of(&[-board_k, board_k]);
            let sample = Sample::ordinary(chance);
            let readings = at_rest(&kept, &sample.liquid(), chance);
            let what = [Stated::Ph, Stated::Specific, Stated::Temperature];
            Ok(against(0, &kept, &readings, &sample, &what))
        }));
    }
    for (size, ohm) in [("50 MΩ", 50e6), ("200 MΩ", 200e6), ("500 MΩ", 500e6)] {
        let row = row("membrane at 25 °C, water at 1 to 5 °C", size, Asked::Realistic);
        trials.push(one(TOPIC, row, move |chance| {
            let mut specimen = Specimen::drawn(chance);
            specimen.glass.membrane_ohm = ohm;
            let kept = calibrated(specimen, &THREE, chance)?;
            let celsius = chance.between(1.0, 5.0);
            let sample = Sample { celsius, ..Sample::ordinary(chance) };
            let readings = at_rest(&kept, &sample.liquid(), chance);
            Ok(against(0, &kept, &readings, &sample, &[Stated::Ph]))
        }));
    }
    trials
}
