//! Fresh, at rest, between the standards: what should be good.

use super::{Asked, Sample, Stated, THREE, TWO, Trial, against, at_rest, calibrated, one, row};
use crate::reality::specimen::Specimen;

const WATERS: [(&str, f64, f64); 3] = [
    ("dilute water", 10.0, 90.0),
    ("ordinary water", 120.0, 2_000.0),
    ("salty water", 25_000.0, 50_000.0),
];

pub(super) fn trials() -> Vec<Trial> {
    let calibrations: [(&str, &'static [&'static str]); 2] =
        [("two buffers", &TWO), ("three buffers", &THREE)];
    let mut trials = Vec::new();
    for (name, buffers) in calibrations {
        for (water, low, high) in WATERS {
            let asked = if water == "ordinary water" { Asked::Good } else { Asked::Realistic };
            let row = row(format!("{name}, {water}"), "usual", asked);
            trials.push(one("Fresh and at rest", row, move |chance| {
                let kept = calibrated(Specimen::drawn(chance), buffers, chance)?;
                let at_25 = chance.in_ratio(low, high);
                let mut sample = Sample::drawn(at_25, chance);
                if buffers.len() == 2 {
                    // Beside buffers of 4 and 7.
                    sample.ph = chance.between(4.5, 7.5);
                }
                let readings = at_rest(&kept, &sample.liquid(), chance);
                let what = [Stated::Ph, Stated::Specific, Stated::Temperature];
                // Salty water lies an octave and more beyond the only standard: another topic.
                let what = if low > 2_000.0 { &what[..1] } else { &what[..] };
                Ok(against(0, &kept, &readings, &sample, what))
            }));
        }
    }
    trials
}
