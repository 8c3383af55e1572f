//! Waters of different ions, referred to 25 °C.

use super::{
    Asked, Conducts, Sample, Stated, Trial, Water, against, at_rest, bottles, calibrated_in, one,
    row,
};
use crate::reality::operator::Papers;
use crate::reality::specimen::Specimen;
use rillmark_proto::calibration::conductivity::Compensation;
use rillmark_proto::reference::compensation::{DEFAULT_EXPONENT, DEFAULT_PER_KELVIN};

/// Which waters: any, those of Hayashi, or those of some ions.
const WATERS: [(&str, Option<Water>); 7] = [
    ("any natural water", None),
    ("of it: Hayashi's", None),
    ("of it: mixed ions", Some(Water::Natural)),
    ("of it: chloride", Some(Water::Chloride)),
    ("of it: hydrogencarbonate", Some(Water::Hydrogencarbonate)),
    ("of it: sulphate", Some(Water::Sulphate)),
    ("of it: nitrate", Some(Water::Nitrate)),
];

pub(super) fn trials() -> Vec<Trial> {
    let mut trials = Vec::new();
    let by = [
        ("natural-water", Compensation::NaturalWater { exponent: DEFAULT_EXPONENT }),
        ("linear", Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN }),
    ];
    // How far from 25 °C is the size of the effect.
    let sizes = [("18 to 30 °C", 18.0, 30.0), ("8 to 18 °C", 8.0, 18.0), ("2 to 8 °C", 2.0, 8.0)];
    for (name, compensation) in by {
        for (size, low, high) in sizes {
            for (index, (waters, ions)) in WATERS.into_iter().enumerate() {
                let asked = if index == 0 { Asked::Realistic } else { Asked::Part };
                let row = row(format!("{name}, {waters}"), size, asked);
                trials.push(one("Referred to 25 °C", row, move |chance| {
                    let papers = Papers { compensation, ..Papers::new() };
                    let standards = bottles(&["1413"], chance);
                    let specimen = Specimen::drawn(chance);
                    let kept = calibrated_in(specimen, papers, &standards, &[], chance)?;
                    let at_25 = chance.in_ratio(100.0, 2_000.0);
                    let pure = [Water::Chloride, Water::Hydrogencarbonate, Water::Sulphate];
                    let conducts = match (index, ions) {
                        // One in five is nearly one salt (chosen).
                        (0, _) if chance.happens(0.2) => {
                            Conducts::ions(chance.of(&pure), at_25, chance)
                        }
                        (0, _) => Conducts::drawn(Water::Natural, at_25, chance),
                        (_, Some(water)) => Conducts::ions(water, at_25, chance),
                        (_, None) => Conducts::hayashi(at_25, chance),
                    };
                    let celsius = chance.between(low, high);
                    let sample = Sample { conducts, celsius, ..Sample::drawn(at_25, chance) };
                    let readings = at_rest(&kept, &sample.liquid(), chance);
                    Ok(against(0, &kept, &readings, &sample, &[Stated::Specific]))
                }));
            }
        }
    }
    trials
}
