//! On the way: a probe that was moved into another water a moment ago.

use super::{
    Asked, Chance, Finding, Sample, Stated, Stopped, THREE, Trial, against, calibrated, row,
};
use crate::reality::nature::bottle::Liquid;
use crate::reality::specimen::Specimen;
use rillmark_proto::reading::Reading;

/// Times after the immersion, in s, from and to.
const WHEN: [(&str, f64, f64); 4] = [
    ("first minute", 0.0, 60.0),
    ("second and third minute", 60.0, 180.0),
    ("minutes 4 to 10", 180.0, 600.0),
    ("minutes 10 to 30", 600.0, 1_800.0),
];

/// Of the slower exponential of the glass, in s (chosen; the faster one 15 s).
const SLOWEST_S: [(&str, f64); 3] = [("60 s", 60.0), ("150 s", 150.0), ("300 s", 300.0)];

pub(super) fn trials() -> Vec<Trial> {
    let mut trials = Vec::new();
    for interval_s in [1_u32, 10, 60] {
        for (size, slow_s) in SLOWEST_S {
            let name = |when| format!("every {interval_s} s, {when}");
            let rows = WHEN.map(|(when, ..)| row(name(when), size, Asked::Realistic)).into();
            let life = move |chance: &mut Chance| immersed(interval_s, slow_s, chance);
            let topic = "After immersion";
            trials.push(Trial { topic, rows, cost: 4, life: Box::new(life) });
        }
    }
    trials
}

fn immersed(interval_s: u32, slow_s: f64, chance: &mut Chance) -> Result<Vec<Finding>, Stopped> {
    let kept = calibrated(Specimen::drawn(chance), &THREE, chance)?;
    let sample = Sample::ordinary(chance);
    let before = Liquid {
        ph: chance.between(4.0, 10.0),
        us_cm: chance.in_ratio(50.0, 10_000.0),
        celsius: chance.between(15.0, 25.0),
        junction_ph: 0.0,
    };
    let from = kept.specimen.dip(&before, chance);
    let to = kept.specimen.dip(&sample.liquid(), chance);
    let fast_part = chance.between(0.6, 0.95);
    let (filling_s, warms_s) = (chance.between(2.0, 10.0), chance.between(8.0, 40.0));
    let way = |s: f64| {
        let left = |tau: f64| libm::exp(-s / tau);
        [
            1.0 - fast_part * left(15.0) - (1.0 - fast_part) * left(slow_s),
            1.0 - left(filling_s),
            1.0 - left(warms_s),
        ]
    };
    let count = 1_800 / interval_s;
    let readings: Vec<Reading> = (1..=count)
        .map(|i| {
            let s = f64::from(i * interval_s);
            from.toward(&to, way(s)).reading(i, 1_000 * u64::from(i * interval_s), chance)
        })
        .collect();
    let mut found = Vec::new();
    for (index, (_, begins, ends)) in WHEN.iter().enumerate() {
        let at = (chance.between(*begins, *ends) / f64::from(interval_s)) as usize;
        let until = &readings[..=at.min(readings.len() - 1)];
        let what = [Stated::Ph, Stated::Conductivity, Stated::Temperature];
        found.extend(against(index, &kept, until, &sample, &what));
    }
    Ok(found)
}
