//! One probe of the reality trials: what is true of it, and the raw integers that it gives.

use rillmark_proto::reading::{
    CalibrationsUsed, Computed, Flags, ProbeTime, Range, Raw, RawConductance, Reading,
};
use rillmark_proto::record::Quantity;
use rillmark_proto::units::Microsiemens;

use super::nature::Chance;
use super::nature::bottle::{Bottle, Liquid};
use super::nature::cell::Cell;
use super::nature::glass::{Glass, nernst_mv};
use super::nature::thermometer::Thermometer;
use super::operator::{Hands, Stopped};

/// How far the sensors have drifted since they were new.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Worn {
    pub(super) offset_mv: f64,
    pub(super) slope: f64,
    pub(super) cell: f64,
    pub(super) thermometer_k: f64,
}

/// A probe.
#[derive(Clone, Debug)]
pub(super) struct Specimen {
    pub(super) glass: Glass,
    pub(super) cell: Cell,
    pub(super) thermometer: Thermometer,
    pub(super) worn: Worn,
    /// How much warmer the board is than at first, in K.
    pub(super) board_k: f64,
}

/// Where the sensors of a probe come to rest in one visit to a liquid, before the converter.
#[derive(Clone, Copy, Debug)]
pub(super) struct Visit {
    pub(super) mv: f64,
    pub(super) us: f64,
    pub(super) ohm: f64,
    range: Range,
}

impl Specimen {
    /// A probe as they are.
    pub(super) fn drawn(chance: &mut Chance) -> Self {
        Self {
            glass: Glass::drawn(chance),
            cell: Cell::drawn(chance),
            thermometer: Thermometer::drawn(chance),
            worn: Worn::default(),
            board_k: 0.0,
        }
    }

    /// Dips it into a liquid.
    pub(super) fn dip(&self, liquid: &Liquid, chance: &mut Chance) -> Visit {
        let Self { glass, cell, thermometer, worn, board_k } = self;
        let glass_c = liquid.celsius + chance.within(glass.gradient_k);
        let worn_glass = Glass { slope: glass.slope + worn.slope, ..glass.clone() };
        let mv = worn_glass.potential_mv(liquid.ph, glass_c)
            - glass.slope * nernst_mv(glass_c) * liquid.junction_ph
            + worn.offset_mv
            + chance.tailed(glass.repeats_mv);
        let at_cell = 1.0 + 0.02 * chance.within(cell.gradient_k);
        let worn_cell = Cell { per_cm: cell.per_cm * (1.0 + worn.cell), ..cell.clone() };
        let us =
            worn_cell.conductance_us(liquid.us_cm * at_cell) * (1.0 + chance.tailed(cell.repeats));
        let range = Range::for_conductance(Microsiemens::new(us));
        let celsius = liquid.celsius + worn.thermometer_k + chance.within(thermometer.repeats_k);
        Visit {
            mv: glass.measured_mv(mv, glass_c, *board_k),
            us: cell.measured_us(us, range as usize, *board_k),
            ohm: thermometer.ohm(celsius, *board_k),
            range,
        }
    }
}

impl Visit {
    /// One reading of it, with the noise of one reading: 0.03 mV, 0.01 %, 1 mΩ (chosen).
    pub(super) fn raw(&self, chance: &mut Chance) -> Raw {
        let us = self.us * (1.0 + chance.normal(1e-4));
        let conductance_ps = libm::round(us * 1e6) as i64;
        Raw {
            potential_nv: Some(libm::round((self.mv + chance.normal(0.03)) * 1e6) as i32),
            conductance: Some(RawConductance { conductance_ps, range: self.range }),
            thermometer_milliohm: Some(libm::round(self.ohm * 1e3 + chance.normal(1.0)) as u32),
        }
    }

    /// The same at a moment of the probe's clock.
    pub(super) fn reading(&self, running: u32, ms: u64, chance: &mut Chance) -> Reading {
        reading(self.raw(chance), running, ms)
    }

    /// Between two visits: so much of the way, 0 to 1, of glass, cell and thermometer.
    pub(super) fn toward(&self, end: &Self, way: [f64; 3]) -> Self {
        let at = |from: f64, to: f64, way: f64| from + (to - from) * way;
        let us = at(self.us, end.us, way[1]);
        Self {
            mv: at(self.mv, end.mv, way[0]),
            us,
            ohm: at(self.ohm, end.ohm, way[2]),
            range: Range::for_conductance(Microsiemens::new(us)),
        }
    }
}

/// A specimen on the bench, at rest in whatever it stands in.
pub(super) struct AtBench<'a> {
    specimen: &'a Specimen,
    visit: Option<Visit>,
    running: u32,
    ms: u64,
}

impl<'a> AtBench<'a> {
    pub(super) const fn new(specimen: &'a Specimen) -> Self {
        Self { specimen, visit: None, running: 0, ms: 0 }
    }
}

impl Hands for AtBench<'_> {
    fn place(&mut self, bottle: &Bottle, celsius: f64, chance: &mut Chance) -> Result<(), Stopped> {
        self.visit = Some(self.specimen.dip(&bottle.liquid(celsius)?, chance));
        self.ms += 60_000;
        Ok(())
    }

    fn read(&mut self, quantity: Quantity, chance: &mut Chance) -> Reading {
        self.running += 1;
        self.ms += match quantity {
            Quantity::Ph => 600,
            Quantity::Conductivity | Quantity::Temperature => 2_400,
        };
        let raw = self.visit.as_ref().map(|visit| visit.raw(chance)).unwrap_or_default();
        reading(raw, self.running, self.ms)
    }
}

/// Raw integers at a moment of the probe's clock.
pub(super) fn reading(raw: Raw, running: u32, ms: u64) -> Reading {
    Reading {
        running,
        time: ProbeTime { boot: 1, ms },
        raw,
        flags: Flags::NONE,
        computed: Computed::default(),
        calibrations: CalibrationsUsed::default(),
    }
}
