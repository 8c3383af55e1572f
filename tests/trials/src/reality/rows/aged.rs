//! Old calibrations: electrodes, cells and thermometers that drifted since by laws of their own.

use super::{
    Asked, Chance, Finding, Kept, SIZES, Sample, Stated, Stopped, THREE, Trial, against, at_rest,
    bottles_on, row,
};
use crate::reality::nature::bottle::Bottle;
use crate::reality::nature::drift::Law;
use crate::reality::operator::Papers;
use crate::reality::specimen::{AtBench, Specimen, Worn};
use rillmark_procedures::routine::standard::{Planned, Reference, Source};

/// Days since the calibration.
const AGES: [usize; 4] = [1, 7, 30, 90];
/// One unit of a path, a week's usual drift: 2 mV of an offset (1 to 3 mV once it is soaked: common practice,
/// recalled), 0.15 % of a cell constant (a clean cell keeps to 1 % a year, recalled; in use it fouls, and a record is
/// corrected from 3 % between visits on, recalled) and 0.5 mK of a thermometer (large ones then drift by some tens
/// of mK a year as thermistors do: seen in an abstract).
const UNIT: (f64, f64, f64) = (2.0, 0.001_5, 0.000_5);
/// What drifts.
const SENSORS: [&str; 2] = ["electrode", "cell, thermometer"];
/// A slope falls by 0.2 to 1 % a month (common practice, recalled).
const SLOPE_PER_DAY: (f64, f64) = (0.002 / 30.0, 0.01 / 30.0);
/// What the drift is of the usual one, by size.
const FACTORS: [f64; 3] = [1.0 / 3.0, 1.0, 3.0];

pub(super) fn trials() -> Vec<Trial> {
    let mut trials = Vec::new();
    for earlier in [0, 2, 6] {
        // Sensors of any law and any size, for which one width is stated as long as nothing is known.
        trials.push(trial("any law", earlier, "any", Asked::Realistic, move |chance| {
            (chance.of(&Law::ALL), chance.in_ratio(FACTORS[0], FACTORS[2]))
        }));
        for (size, factor) in SIZES.into_iter().zip(FACTORS) {
            let asked = match (earlier, size) {
                (0, "large") => Asked::Beyond("nobody can: never seen before, and worse than most"),
                (0, _) => Asked::Part,
                _ => Asked::Realistic,
            };
            let any = move |chance: &mut Chance| (chance.of(&Law::ALL), factor);
            trials.push(trial("any law", earlier, size, asked, any));
        }
        for law in Law::ALL {
            let asked = match (earlier, law) {
                (0, _) => Asked::Part,
                (_, Law::New) => Asked::Wide("wide: nobody can know that it has come to rest"),
                _ => Asked::Realistic,
            };
            trials.push(trial(law.name(), earlier, "usual", asked, move |_| (law, FACTORS[1])));
        }
        trials.push(checked(earlier));
    }
    trials
}

/// Verified on a day, and read on a later one.
const CHECKED: [(usize, usize); 3] = [(27, 30), (60, 90), (85, 90)];

/// A life whose calibration is verified in between.
fn checked(earlier: u64) -> Trial {
    let calibrated_before = match earlier {
        0 => "first calibration".to_owned(),
        n => format!("{n} earlier ones"),
    };
    let name = |sensor, (checked, age)| {
        format!("{sensor}, any law, {calibrated_before}, verified on day {checked}, day {age}")
    };
    let rows = SENSORS
        .into_iter()
        .flat_map(|sensor| CHECKED.map(|days| row(name(sensor, days), "any", Asked::Realistic)))
        .collect();
    let life = move |chance: &mut Chance| {
        let (law, factor) = (chance.of(&Law::ALL), chance.in_ratio(FACTORS[0], FACTORS[2]));
        let (wear, mut kept, calibrated) = calibrated(law, earlier, factor, chance)?;
        let mut found = Vec::new();
        for (index, (checked, age)) in CHECKED.into_iter().enumerate() {
            wear.to(calibrated + checked, &mut kept, chance);
            let bottles = bottles_on(kept.papers.day, &CHECKS, chance);
            for bottle in baths(chance)[1..].iter().chain(&bottles) {
                let room_c = chance.between(16.0, 27.0);
                let mut hands = AtBench::new(&kept.specimen);
                kept.papers.verify(&mut hands, bottle, room_c, chance)?;
            }
            wear.to(calibrated + age, &mut kept, chance);
            found.extend(read([index, index + CHECKED.len()], &kept, chance));
        }
        Ok(found)
    };
    Trial { topic: "Aged", rows, cost: 2 + earlier / 3, life: Box::new(life) }
}

/// What nobody calibrated in: a buffer of another kind, and another solution of potassium chloride.
const CHECKS: [&str; 2] = ["phosphate-1-1", "kcl-0.01-mol-per-kg"];

/// A life whose readings are taken at each of the ages.
fn trial(
    name: &str,
    earlier: u64,
    size: &str,
    asked: Asked,
    drawn: impl Fn(&mut Chance) -> (Law, f64) + Sync + 'static,
) -> Trial {
    let calibrated = match earlier {
        0 => "first calibration".to_owned(),
        n => format!("{n} earlier ones"),
    };
    // How a cell or thermometer drifts is less than what bottles and baths scatter by: nothing of it is learnt in
    // some calibrations, and one width is stated for them all.
    let of_all =
        if size == "any" || matches!(asked, Asked::Beyond(_)) { asked } else { Asked::Part };
    let rows = SENSORS
        .into_iter()
        .zip([asked, of_all])
        .flat_map(|(sensor, asked)| {
            let name = |age| format!("{sensor}, {name}, {calibrated}, day {age}");
            AGES.map(|age| row(name(age), size, asked))
        })
        .collect();
    let life = move |chance: &mut Chance| {
        let (law, factor) = drawn(chance);
        aged(law, earlier, factor, chance)
    };
    Trial { topic: "Aged", rows, cost: 2 + earlier / 3, life: Box::new(life) }
}

/// A reference thermometer of U = 0.04 K in a bath of 25 °C.
const GOOD: Reference =
    Reference::Thermometer { celsius: Some(25.0), standard_uncertainty_k: Some(0.02) };

/// Melting ice, which tap water makes colder and the bottom of a vessel warmer by up to 0.1 K, and the good
/// thermometer a hand's breadth away in a bucket that is stirred now and then, within 0.1 K (chosen).
fn baths(chance: &mut Chance) -> [Bottle; 2] {
    let ice = Reference::Ice { standard_uncertainty_k: None };
    let offs = [chance.between(-0.02, 0.1), chance.within(0.1)];
    let of = |(reference, off)| {
        let name = "bath".try_into().unwrap_or_default();
        Bottle { off, ..Bottle::right(Planned::new(name, Source::Reference(reference))) }
    };
    [(ice, offs[0]), (GOOD, offs[1])].map(of)
}

/// How a specimen wears.
struct Wear {
    paths: [Vec<f64>; 3],
    slope_per_day: f64,
    factor: f64,
}

impl Wear {
    fn on(&self, day: usize) -> Worn {
        let at = |which: usize, unit: f64| self.factor * unit * self.paths[which][day];
        Worn {
            offset_mv: at(0, UNIT.0),
            slope: -self.factor * self.slope_per_day * day as f64,
            cell: at(1, UNIT.1),
            thermometer_k: at(2, UNIT.2),
        }
    }

    /// Takes a specimen to a day of its life, on which the board is as warm as it happens to be.
    fn to(&self, day: usize, kept: &mut Kept, chance: &mut Chance) {
        (kept.papers.day, kept.specimen.worn) = (day as f64, self.on(day));
        kept.specimen.board_k = chance.within(5.0);
    }
}

/// A specimen on the day of its last calibration, and which day that is.
fn calibrated(
    law: Law,
    earlier: u64,
    factor: f64,
    chance: &mut Chance,
) -> Result<(Wear, Kept, usize), Stopped> {
    let days = 45 * earlier as usize + AGES[AGES.len() - 1] + 2;
    let paths = [0; 3].map(|_| law.path(days, chance));
    let slope_per_day = chance.between(SLOPE_PER_DAY.0, SLOPE_PER_DAY.1);
    let wear = Wear { paths, slope_per_day, factor };
    let mut kept = Kept { specimen: Specimen::drawn(chance), papers: Papers::new() };
    let mut day = 0;
    for number in 0..=earlier {
        if number > 0 {
            day += chance.between(20.0, 45.0) as usize;
        }
        wear.to(day, &mut kept, chance);
        let room_c = chance.between(16.0, 27.0);
        let standards = bottles_on(kept.papers.day, &["1413"], chance);
        let buffers = bottles_on(kept.papers.day, &THREE, chance);
        for bottles in [&baths(chance)[..], &standards, &buffers] {
            kept.papers.calibrate(&mut AtBench::new(&kept.specimen), bottles, room_c, chance)?;
        }
    }
    Ok((wear, kept, day))
}

/// What a reading in an ordinary water finds, for the row of the electrode and that of the others.
fn read([of_electrode, of_others]: [usize; 2], kept: &Kept, chance: &mut Chance) -> Vec<Finding> {
    let sample = Sample::ordinary(chance);
    let readings = at_rest(kept, &sample.liquid(), chance);
    let others = [Stated::Conductivity, Stated::Temperature];
    let mut found = against(of_electrode, kept, &readings, &sample, &[Stated::Ph]);
    found.extend(against(of_others, kept, &readings, &sample, &others));
    found
}

fn aged(law: Law, earlier: u64, factor: f64, chance: &mut Chance) -> Result<Vec<Finding>, Stopped> {
    let (wear, mut kept, day) = calibrated(law, earlier, factor, chance)?;
    let mut found = Vec::new();
    for (index, age) in AGES.iter().enumerate() {
        wear.to(day + age, &mut kept, chance);
        found.extend(read([index, index + AGES.len()], &kept, chance));
    }
    Ok(found)
}
