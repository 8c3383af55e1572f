//! Whether what is said of bottles, sachets and air covers what really happens to them.
//!
//! Nothing here is drawn from the statements: a label is off by anything up to its limits, a bottle takes
//! up the carbon dioxide of the air in it opening by opening, water is measured and conducts as it does in
//! kitchens and laboratories. All of it is invented. What is left out of the sample is everything but its
//! calibration: a single repeated reading, with the thermometer of the calibration.

use rillmark_metrology::fit::conductivity::{
    Assumed as AssumedCell, ConductivityPoint, fit_assuming as fit_cell,
};
use rillmark_metrology::fit::ph::{Assumed, PhPoint, fit_assuming};
use rillmark_metrology::reference::{buffers, conductivity_standards};
use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_procedures::routine::standard::{
    Made, Planned, Source, Stated as Says, Value, rectangle,
};
use rillmark_proto::calibration::conductivity::{Compensation, Range};
use rillmark_proto::record::{Dissolved, Vessel, Water};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm, Millivolts, Ph};

use super::coverage::{Found, Stated};
use rillmark_bench::random::Random;

/// The day of all calibrations, counted from 1970-01-01.
const TODAY: i32 = 20_000;
/// Standard deviation of a calibrated thermometer in K; its error is the same in all standards.
const THERMOMETER_K: f64 = 0.05;

/// What is believed of a standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Believed {
    /// What is said of this bottle.
    OfTheBottle,
    /// What is published of the solution, as if it were always prepared with care.
    OfTheSolution,
}

impl Believed {
    fn value(self, planned: &Planned, at: Celsius) -> Value {
        let value = match self {
            Self::OfTheBottle => planned.value(at, i64::from(TODAY)),
            Self::OfTheSolution => planned.source.value(at),
        };
        value.expect("a room's temperature is in the table")
    }
}

/// What is done with bottles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Practice {
    /// Three buffers, opened today, with nothing stated; the labels are right within ±0.02 pH, and rinse
    /// water comes into the beakers.
    Fresh,
    /// The same with the labels' ± stated.
    Labelled,
    /// Nobody says when the alkaline buffer was opened; air has taken up to 0.1 pH off it.
    OpenSomeTime,
    /// The same alkaline buffer is in truth fresh.
    FreshUnsaid,
    /// The alkaline buffer was opened up to so many days ago, on a day that is stated.
    Open(u16),
    /// Three pH sachets, dissolved a week ago at most.
    PhSachets(Vessel),
    /// 1413 µS/cm, opened today, with nothing stated; the label is right within ±1 %.
    FreshStandard,
    /// 1413 µS/cm from a sachet.
    Sachet(Vessel, Water),
    /// 84 µS/cm, open for up to two months on a day that is stated.
    WeakOpen,
    /// 0.01 mol/kg, weighed in by a laboratory.
    Weighed,
}

impl Practice {
    /// All of them.
    pub const ALL: [Self; 16] = [
        Self::Fresh,
        Self::Labelled,
        Self::OpenSomeTime,
        Self::FreshUnsaid,
        Self::Open(20),
        Self::Open(60),
        Self::Open(120),
        Self::PhSachets(Vessel::Cylinder),
        Self::PhSachets(Vessel::ByEye),
        Self::FreshStandard,
        Self::Sachet(Vessel::Flask, Water::Deionised),
        Self::Sachet(Vessel::Cylinder, Water::Boiled),
        Self::Sachet(Vessel::Cylinder, Water::Deionised),
        Self::Sachet(Vessel::ByEye, Water::Deionised),
        Self::WeakOpen,
        Self::Weighed,
    ];
}

/// Draws truths.
struct Chance(Random);

impl Chance {
    fn within(&mut self, limit: f64) -> f64 {
        self.0.between(-limit, limit)
    }

    /// pH that opening after opening has taken off 250 mL of an alkaline buffer in so many days.
    fn fall_ph(&mut self, days: i32) -> f64 {
        // Outdoors to a classroom; opened on some days; what is poured out makes room for air.
        let (ppm, often) = (self.0.between(420.0, 1500.0), self.0.between(0.2, 1.0));
        let (mut litres, mut mmol_l) = (0.25, 0.0);
        for _ in 0..days {
            if self.0.unit() < often {
                litres = libm::fmax(litres - self.0.between(0.0, 0.01), 0.03);
                mmol_l += (0.25 - litres) / 24.5 * ppm * 1e-3 / litres;
            }
        }
        libm::fmin(0.05 * mmol_l, 0.27)
    }

    /// How many times too much water a person took.
    fn water(&mut self, vessel: Vessel) -> f64 {
        1.0 + match vessel {
            Vessel::Flask => self.within(0.002),
            Vessel::Cylinder => self.within(0.01) + 0.002 * self.0.normal(),
            // A line on a cup, more or less well seen.
            Vessel::ByEye => 0.04 * self.0.normal(),
        }
    }

    /// What deionised water conducts in µS/cm: from air outdoors to a closed room, and a trace of salt.
    fn deionised_us_cm(&mut self, water: Water) -> f64 {
        let of_air = match water {
            Water::Boiled => self.0.between(0.1, 0.8),
            Water::Deionised | Water::Tap => self.0.between(0.8, 1.8),
        };
        of_air + self.0.between(0.0, 0.3)
    }
}

/// What one calibration in that practice finds.
pub fn run(practice: Practice, believed: Believed, number: u64) -> Found {
    let mut chance = Chance(Random::new(number, 31));
    match practice {
        Practice::FreshStandard | Practice::Sachet(..) | Practice::WeakOpen | Practice::Weighed => {
            cell(practice, believed, &mut chance)
        }
        _ => electrode(practice, believed, &mut chance),
    }
}

fn electrode(practice: Practice, believed: Believed, chance: &mut Chance) -> Found {
    let (slope, offset_mv) = (chance.0.between(0.95, 1.0), 10.0 * chance.0.normal());
    let room_c = chance.0.between(18.0, 28.0);
    let shown = Celsius::new(room_c + THERMOMETER_K * chance.0.normal());
    let truth_mv = |ph: f64, celsius: f64| {
        offset_mv - slope * nernst::millivolts_per_ph(Celsius::new(celsius)) * (ph - 7.0)
    };
    let points = ["4.01", "7.00", "10.01"].map(|name| {
        let buffer = buffers::by_name(name).expect("a published buffer");
        let mut planned = Planned::new(name.try_into().expect("short"), Source::Buffer(buffer));
        let mut in_beaker = buffer.ph(Celsius::new(room_c)).expect("a room").value;
        // Label and its own table; a drop of rinse water moves a buffer hardly.
        in_beaker += chance.within(0.02)
            + 0.01 * (room_c - 25.0) / 10.0 * chance.within(1.0)
            + chance.within(0.005);
        let alkaline = name == "10.01";
        planned.opened_days = Some(TODAY);
        match practice {
            Practice::Labelled => planned.stated = Some(Says::Absolute(rectangle(0.02))),
            Practice::OpenSomeTime if alkaline => {
                planned.opened_days = None;
                in_beaker -= chance.0.between(0.0, 0.1);
            }
            Practice::FreshUnsaid if alkaline => planned.opened_days = None,
            Practice::Open(most) if alkaline => {
                let days = 1 + (f64::from(most) * chance.0.unit()) as i32;
                planned.opened_days = Some(TODAY - days);
                in_beaker -= chance.fall_ph(days);
            }
            Practice::PhSachets(vessel) => {
                let days = (7.0 * chance.0.unit()) as i32;
                let water = Water::Deionised;
                let dissolved = Dissolved { water, vessel, days: TODAY - days };
                planned.made = Made::Sachet(dissolved);
                // Dilution values: phthalate 0.05, phosphate and carbonate 0.08 (recalled).
                let dilution = if name == "4.01" { 0.05 } else { 0.08 };
                in_beaker += dilution * libm::log2(chance.water(vessel));
                if alkaline {
                    in_beaker -= chance.fall_ph(days);
                }
            }
            _ => {}
        }
        let stated = believed.value(&planned, shown);
        PhPoint {
            buffer: Ph::new(stated.value),
            buffer_uncertainty: stated.standard_uncertainty,
            buffer_per_kelvin: planned.source.per_kelvin(shown),
            potential: Millivolts::new(truth_mv(in_beaker, room_c) + 0.3 * chance.0.normal()),
            temperature: shown,
            bottle: None,
        }
    });
    let calibration =
        fit_assuming(&points, &Assumed { thermometer_k: THERMOMETER_K, ..Assumed::default() })
            .expect("a line")
            .calibration;
    let ph = chance.0.between(4.0, 10.0);
    let mv = Millivolts::new(truth_mv(ph, room_c) + 0.3 * chance.0.normal());
    let found = calibration.ph(mv, shown).expect("inside").get();
    let u = calibration.ph_uncertainty(mv, shown).expect("inside");
    let repeated = 0.3 / 59.2;
    Found { stated: Stated::Ph, off: found - ph, u: libm::hypot(u, repeated) }
}

fn cell(practice: Practice, believed: Believed, chance: &mut Chance) -> Found {
    let per_cm = chance.0.between(0.5, 1.5);
    let room_c = chance.0.between(18.0, 28.0);
    let shown = Celsius::new(room_c + THERMOMETER_K * chance.0.normal());
    let name = match practice {
        Practice::WeakOpen => "84",
        Practice::Weighed => "1408",
        _ => "1413",
    };
    let standard = conductivity_standards::by_name(name).expect("a published standard");
    let mut planned = Planned::new(name.try_into().expect("short"), Source::Solution(standard));
    planned.opened_days = Some(TODAY);
    let nominal = standard.value(Celsius::new(room_c)).expect("a room").get();
    let rinsed = 1.0 - chance.0.between(0.0, 0.005);
    let in_beaker = match practice {
        Practice::Sachet(vessel, water) => {
            let days = (7.0 * chance.0.unit()) as i32;
            planned.made = Made::Sachet(Dissolved { water, vessel, days: TODAY - days });
            let salt = 1.0 + chance.within(0.01);
            nominal * salt / chance.water(vessel) * rinsed + chance.deionised_us_cm(water)
        }
        Practice::WeakOpen => {
            let days = 1 + (59.0 * chance.0.unit()) as i32;
            planned.opened_days = Some(TODAY - days);
            // What the maker's value has of it already is nobody's knowledge.
            nominal * (1.0 + chance.within(0.01)) * rinsed + chance.0.between(0.0, 1.8)
        }
        Practice::Weighed => {
            planned.made = Made::Weighed;
            let made = 1.0 + chance.within(0.001) + chance.within(0.002);
            nominal * made + chance.deionised_us_cm(Water::Deionised)
        }
        _ => nominal * (1.0 + chance.within(0.01)) * rinsed,
    };
    let stated = believed.value(&planned, shown);
    let measured = |us_cm: f64, chance: &mut Chance| {
        Microsiemens::new(us_cm / per_cm * (1.0 + 0.002 * chance.0.normal()))
    };
    let conductance = measured(in_beaker, chance);
    let range = Range::for_conductance(conductance);
    let point = ConductivityPoint {
        standard: MicrosiemensPerCm::new(stated.value),
        standard_uncertainty: stated.standard_uncertainty,
        standard_per_kelvin: planned.source.per_kelvin(shown),
        conductance,
        range,
        temperature: shown,
        bottle: None,
    };
    let compensation = Compensation::Linear { per_kelvin: 0.0191 };
    let fit = fit_cell(
        &[point],
        compensation,
        &AssumedCell { thermometer_k: THERMOMETER_K, ..AssumedCell::default() },
    )
    .expect("a cell");
    let constant = fit.calibration.cell_constant_per_cm;
    let u = fit.calibration.standard_uncertainty() / constant;
    let off = 100.0 * (constant / per_cm - 1.0);
    Found { stated: Stated::CellConstant, off, u: 100.0 * u }
}
