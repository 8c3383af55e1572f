//! Indicated against true conductance of a cell, from 5 µS to 50 mS, on every range.
//!
//! The taps are averaged over the centre half of each half period, as the gates do; the resistance
//! at infinite frequency is the firmware's own.

use rillmark_firmware::front_end::cell::{at_infinite_frequency, frequencies, resistor_ohm};
use rillmark_metrology::front_end::conductance as budget;
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::parts;
use rillmark_proto::reading::Range;

use crate::electrode::Layer;
use crate::gates::gated;
use crate::ngspice::{Deck, SpiceError};
use crate::two_at_a_time;

/// Electrodes of a cell: name, double layer of each. Common practice, no source: 1 cm² of smooth metal
/// has 10 to 40 µF or a constant-phase element of that size, platinum black ten times as much.
pub const ELECTRODES: &[(&str, Layer)] = &[
    ("platinised", Layer::ConstantPhase(300e-6, 0.9)),
    ("ideal 20 µF", Layer::Capacitor(20e-6)),
    ("smooth", Layer::ConstantPhase(30e-6, 0.85)),
    ("smooth, a third as large", Layer::ConstantPhase(10e-6, 0.85)),
];
/// Which of [`ELECTRODES`] is the ideal one.
const IDEAL: usize = 1;
/// Which is the smooth one.
const SMOOTH: usize = 2;
/// The smooth one after some months: a sixth less.
pub const AGED: Layer = Layer::ConstantPhase(25e-6, 0.85);

/// Cell resistances in Ω of the two standards at K = 1/cm: 1413 µS/cm and 12.88 mS/cm.
pub const STANDARDS_OHM: [f64; 2] = [1e6 / 1413.0, 1e6 / 12_880.0];

/// Resistance of either lead in Ω.
pub const LEAD_OHM: f64 = surroundings::LEADS_OHM;
/// Capacitance of a usual cable in F: 3 m of 100 pF/m.
pub const USUAL_CABLE_F: f64 = 0.3 * surroundings::CELL_CABLE_F;

/// Ranges, and water between the electrodes in Ω that is measured on them.
pub const WATERS: &[(Range, &[f64])] = &[
    (Range::Ohm1k, &[20.0, 50.0, 200.0, 1000.0, 2000.0]),
    (Range::Ohm10k, &[2e3, 5e3, 20e3]),
    (Range::Ohm100k, &[20e3, 50e3, 200e3]),
];

/// A cell in water.
#[derive(Clone, Copy, Debug)]
pub struct Cell {
    /// The range it is measured on.
    pub range: Range,
    /// Resistance of the water in Ω.
    pub water_ohm: f64,
    /// Either electrode.
    pub layer: Layer,
    /// Capacitance of the cable in F.
    pub cable_f: f64,
}

/// What is indicated for it.
#[derive(Clone, Copy, Debug)]
pub struct Indicated {
    /// In Ω, at the highest frequency.
    pub highest_ohm: f64,
    /// In Ω, as the firmware takes it from all.
    pub ohm: f64,
}

impl Cell {
    /// Simulates it at each of the range's frequencies.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn indicated(&self) -> Result<Indicated, SpiceError> {
        let at = |hz: &u32| self.at(f64::from(*hz));
        let ohms = frequencies(self.range).iter().map(at).collect::<Result<Vec<_>, _>>()?;
        let ohm = match *ohms {
            [r8, r4, r2] => at_infinite_frequency(r8, r4, r2),
            _ => ohms[0],
        };
        Ok(Indicated { highest_ohm: ohms[0], ohm })
    }

    /// In Ω, at one frequency.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn at(&self, hz: f64) -> Result<f64, SpiceError> {
        let [h, a, b] = self.taps_v(hz)?;
        Ok(resistor_ohm(self.range) * (a - b) / (h - a))
    }

    /// Taps h, a and b at one frequency, positive less negative half period, in V.
    ///
    /// # Errors
    /// [`SpiceError`].
    pub fn taps_v(&self, hz: f64) -> Result<[f64; 3], SpiceError> {
        let periods = 12.0;
        let waves = Deck::new("cell")
            .file("electrode.inc", self.layer.subcircuit())
            .with("period", 1.0 / hz)
            .with("periods", periods)
            .range(self.range)
            .with("water", self.water_ohm)
            .with("cable", self.cable_f)
            .with("lead", LEAD_OHM)
            .run()?;
        Ok([0, 1, 2].map(|tap| gated(&waves, tap, hz, periods)))
    }
}

/// A calibration by standards: R = gain · (indicated − series).
#[derive(Clone, Copy, Debug)]
pub struct Calibration {
    gain: f64,
    series_ohm: f64,
}

impl Calibration {
    /// By 1413 µS/cm alone.
    pub fn one(indicated_ohm: f64) -> Self {
        Self { gain: STANDARDS_OHM[0] / indicated_ohm, series_ohm: 0.0 }
    }

    /// By 1413 µS/cm and 12.88 mS/cm.
    pub fn two(indicated_ohm: [f64; 2]) -> Self {
        let [high, low] = indicated_ohm;
        let gain = (STANDARDS_OHM[0] - STANDARDS_OHM[1]) / (high - low);
        Self { gain, series_ohm: high - STANDARDS_OHM[0] / gain }
    }

    /// The resistance of the water in Ω.
    pub fn apply(&self, indicated_ohm: f64) -> f64 {
        self.gain * (indicated_ohm - self.series_ohm)
    }
}

/// Errors of conductance at one water, as fractions.
#[derive(Clone, Copy, Debug)]
pub struct Row {
    /// Its range.
    pub range: Range,
    /// Resistance of the water in Ω.
    pub water_ohm: f64,
    /// As indicated.
    pub raw: f64,
    /// After one standard.
    pub one: f64,
    /// After two.
    pub two: f64,
    /// After two, at the highest frequency instead of the extrapolation.
    pub two_at_highest: f64,
}

impl Row {
    /// What the error budget lets a calibrated front end be off here, as a standard uncertainty, without
    /// what a reference electrode takes: there is none in this water.
    pub fn allowed(&self) -> f64 {
        let ohm = self.water_ohm;
        let budget = match self.range {
            Range::Ohm1k => budget::extrapolated(&parts::RANGE_1K, ohm, budget::USUAL_RATIO),
            Range::Ohm10k => budget::budget(&parts::RANGE_10K, ohm),
            Range::Ohm100k => budget::budget(&parts::RANGE_100K, ohm),
        };
        budget::alone(budget).calibrated()
    }

    /// True where two standards leave more than that: the circuit misses.
    pub fn is_missed(&self) -> bool {
        self.two.abs() > self.allowed()
    }
}

/// One pair of electrodes over all ranges.
#[derive(Clone, Debug)]
pub struct Series {
    /// Which electrodes and cable.
    pub name: String,
    /// Their double layer in use.
    pub layer: Layer,
    /// Whether it was another one when it was calibrated.
    pub is_aged: bool,
    /// The waters in the order of [`WATERS`].
    pub rows: Vec<Row>,
}

/// Simulates all: each electrode with the usual cable, the ideal one with the longest, and the aged
/// one as the calibration of its youth has it.
///
/// # Errors
/// [`SpiceError`].
pub fn all() -> Result<Vec<Series>, SpiceError> {
    let mut kinds: Vec<(String, Layer, Layer, f64)> = Vec::new();
    for (name, layer) in ELECTRODES {
        kinds.push(((*name).to_owned(), *layer, *layer, USUAL_CABLE_F));
    }
    let (ideal, smooth) = (ELECTRODES[IDEAL], ELECTRODES[SMOOTH]);
    kinds.push((format!("{}, 10 m cable", ideal.0), ideal.1, ideal.1, surroundings::CELL_CABLE_F));
    kinds.push((format!("{}, calibrated, then aged", smooth.0), smooth.1, AGED, USUAL_CABLE_F));
    kinds
        .into_iter()
        .map(|(name, calibrated, used, cable_f)| series(name, calibrated, used, cable_f))
        .collect()
}

fn series(
    name: String,
    calibrated: Layer,
    used: Layer,
    cable_f: f64,
) -> Result<Series, SpiceError> {
    let standard = |water_ohm| Cell { range: Range::Ohm1k, water_ohm, layer: calibrated, cable_f };
    let mut cells: Vec<Cell> = STANDARDS_OHM.iter().map(|ohm| standard(*ohm)).collect();
    for (range, waters) in WATERS {
        let in_use = |ohm: &f64| Cell { range: *range, water_ohm: *ohm, layer: used, cable_f };
        cells.extend(waters.iter().map(in_use));
    }
    let indicated = two_at_a_time::map(&cells, Cell::indicated)?;
    let (high, low) = (indicated[0], indicated[1]);
    let one = Calibration::one(high.ohm);
    let two = Calibration::two([high.ohm, low.ohm]);
    let two_at_highest = Calibration::two([high.highest_ohm, low.highest_ohm]);
    let rows = cells[2..].iter().zip(&indicated[2..]).map(|(cell, shown)| {
        let error = |ohm: f64| cell.water_ohm / ohm - 1.0;
        Row {
            range: cell.range,
            water_ohm: cell.water_ohm,
            raw: error(shown.ohm),
            one: error(one.apply(shown.ohm)),
            two: error(two.apply(shown.ohm)),
            two_at_highest: error(two_at_highest.apply(shown.highest_ohm)),
        }
    });
    Ok(Series { name, layer: used, is_aged: calibrated != used, rows: rows.collect() })
}
