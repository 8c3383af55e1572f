//! The virtual bench's own sensors and water, which were made for other purposes, under the same hands.

use super::{
    Asked, Bottle, Chance, Finding, Reading, Stated, Stopped, THREE, Trial, assessed, bottles, row,
    stated,
};
use crate::reality::operator::{Hands, Papers};
use rillmark_bench::faults::Faults;
use rillmark_bench::quick::QuickProbe;
use rillmark_bench::truth::Truth;
use rillmark_bench::water::{Beaker, Content};
use rillmark_procedures::routine::standard::Source;
use rillmark_proto::record::Quantity;

pub(super) fn trials() -> Vec<Trial> {
    let after = [("2 minutes", 120_000), ("15 minutes", 900_000)];
    let rows = after.map(|(name, _)| {
        // The bench's bottles are exactly what they say: a part of the bottles that there are.
        row(format!("three buffers, then a water for {name}"), "usual", Asked::Part)
    });
    let life = move |chance: &mut Chance| {
        let times = after.map(|(_, ms)| ms);
        guided(&times, chance)
    };
    vec![Trial { topic: "The bench's own", rows: rows.into(), cost: 10, life: Box::new(life) }]
}

struct AtQuick(QuickProbe);

impl Hands for AtQuick {
    fn place(&mut self, bottle: &Bottle, celsius: f64, _: &mut Chance) -> Result<(), Stopped> {
        let content = match &bottle.solution {
            Source::Buffer(buffer) => Content::Buffer(buffer),
            Source::Solution(standard) => Content::Standard(standard),
            _ => return Err(Stopped("a bottle of the literature")),
        };
        let beaker = Beaker { content, temperature_c: celsius };
        self.0.place(beaker).map_err(|_| Stopped("standard-outside-table"))
    }

    fn read(&mut self, quantity: Quantity, _: &mut Chance) -> Reading {
        match quantity {
            Quantity::Ph => self.0.ph_reading(),
            Quantity::Conductivity | Quantity::Temperature => self.0.conductivity_reading(),
        }
    }
}

fn guided(times_ms: &[u64], chance: &mut Chance) -> Result<Vec<Finding>, Stopped> {
    let seed = chance.of(&core::array::from_fn::<u64, 4096, _>(|i| i as u64));
    let board = Truth::seeded(seed).as_built(seed);
    let mut hands = AtQuick(QuickProbe::new(seed, board, Faults::default()));
    let mut papers = Papers::new();
    let room_c = chance.between(17.0, 26.0);
    for bottles in [bottles(&["1413"], chance), bottles(&THREE, chance)] {
        papers.calibrate(&mut hands, &bottles, room_c, chance)?;
    }
    let (ph, specific) = (chance.between(6.0, 9.0), chance.in_ratio(120.0, 2_000.0));
    let (celsius, per_kelvin) = (chance.between(8.0, 28.0), chance.between(0.0175, 0.0205));
    // The bench's junction is a perfect one: what is left of a real one is part of what it sees.
    let seen = ph + chance.tailed(0.016);
    let content = Content::Sample { ph: seen, specific_us_cm: specific, per_kelvin };
    let beaker = Beaker { content, temperature_c: celsius };
    hands.0.place(beaker).map_err(|_| Stopped("a sample without limits"))?;
    let truths = [
        (Stated::Ph, ph, 1.0),
        (Stated::Specific, specific, 100.0 / specific),
        (Stated::Temperature, celsius, 1.0),
    ];
    let began = hands.0.now_ms();
    let mut readings = Vec::new();
    let mut found = Vec::new();
    for (row, ms) in times_ms.iter().enumerate() {
        while hands.0.now_ms() - began < *ms {
            let of_cell = hands.0.conductivity_reading();
            let mut reading = hands.0.ph_reading();
            reading.raw.conductance = of_cell.raw.conductance;
            reading.raw.thermometer_milliohm = of_cell.raw.thermometer_milliohm;
            reading.flags = of_cell.flags;
            readings.push(reading);
            hands.0.wait_ms(5_000);
        }
        let Some(assessment) = assessed(&papers, &readings) else { continue };
        for (what, truth, unit) in truths {
            let Some(of) = stated(&assessment, what) else { continue };
            let (off, u) = (unit * (of.value - truth), unit * of.u);
            found.push(Finding { row, stated: what, off, u, flagged: of.flagged });
        }
    }
    Ok(found)
}
