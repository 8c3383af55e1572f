//! A cell that is calibrated in standards and then reads a sample.

use rillmark_metrology::fit::conductivity::{
    Assumed, ConductivityPoint, SERIES_PRIOR_OHM, ZERO_PRIOR_US, fit_assuming,
};
use rillmark_metrology::reference::conductivity_standards;
use rillmark_metrology::uncertainty::conductivity::Conditions;
use rillmark_metrology::uncertainty::conductivity::DEFAULT_CONDUCTANCE_UNCERTAINTY;
use rillmark_metrology::uncertainty::conductivity::DEFAULT_GRADIENT_K;
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;
use rillmark_metrology::uncertainty::reading::uncertainty;
use rillmark_procedures::routine::standard::Source;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::reading::{Coefficients, Range, Raw, RawConductance, evaluate};
use rillmark_proto::reference::compensation::{
    DEFAULT_EXPONENT, DEFAULT_PER_KELVIN, from_25_natural_water,
};
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm};

use super::thermometer::{Known, Thermometer};
use super::{Chance, Found, Scene, Stated, bottle, value};

/// Cell constants in 1/cm that are drawn.
const CELLS_PER_CM: (f64, f64) = (0.4, 1.5);
/// Waters in µS/cm at 25 °C that are drawn.
const WATERS_US_CM: (f64, f64) = (100.0, 5_000.0);
/// Exponents of natural waters (REFERENCES 10): from the smallest coefficient that was found in them
/// to calcium hydrogencarbonate.
const EXPONENTS: (f64, f64) = (0.79, 0.99);
/// One S in µS.
const MICRO: f64 = 1e6;

/// What is true.
struct Cell {
    per_cm: f64,
    series_ohm: f64,
    zero_us: f64,
    /// What each range resistor is of its value.
    resistors: [f64; Range::COUNT],
}

impl Cell {
    fn drawn(chance: &mut Chance) -> Self {
        Self {
            per_cm: chance.between_in_ratio(CELLS_PER_CM.0, CELLS_PER_CM.1),
            series_ohm: SERIES_PRIOR_OHM.value
                + chance.normal(SERIES_PRIOR_OHM.standard_uncertainty),
            zero_us: ZERO_PRIOR_US.value + chance.normal(ZERO_PRIOR_US.standard_uncertainty),
            resistors: Range::ALL.map(|range| {
                let tolerance = range.resistor().tolerance;
                1.0 + chance.between(-tolerance, tolerance)
            }),
        }
    }

    /// Its conductance in µS in a water of this conductivity in µS/cm.
    fn conductance_us(&self, us_cm: f64) -> f64 {
        let of_water = us_cm / self.per_cm + self.zero_us;
        1.0 / (1.0 / of_water + self.series_ohm / MICRO)
    }

    /// The same as the front end gives it.
    fn measured(&self, us_cm: f64, chance: &mut Chance) -> RawConductance {
        let us = self.conductance_us(us_cm)
            * (1.0 + chance.normal(DEFAULT_CONDUCTANCE_UNCERTAINTY.value));
        let range = Range::for_conductance(Microsiemens::new(us));
        // The conductance is compared with the resistor that is there, and taken for the nominal one.
        let us = us * self.resistors[range as usize];
        RawConductance { conductance_ps: libm::round(us * MICRO) as i64, range }
    }

    /// The same at another temperature of the board.
    fn measured_since(&self, us_cm: f64, chance: &mut Chance) -> RawConductance {
        let raw = self.measured(us_cm, chance);
        let conductance = Microsiemens::new(raw.conductance_ps as f64 / MICRO);
        let since = chance.normal(Conditions::new(conductance, raw.range, 0.0).front_end);
        let conductance_ps = libm::round(raw.conductance_ps as f64 * (1.0 + since)) as i64;
        RawConductance { conductance_ps, ..raw }
    }
}

/// Names of the standards.
const fn standards(scene: Scene) -> &'static [&'static str] {
    match scene {
        Scene::TwoStandards => &["1413", "12880"],
        Scene::ThreeStandards => &["146.9", "1413", "12880"],
        _ => &["1413"],
    }
}

pub(super) fn run(scene: Scene, chance: &mut Chance) -> Vec<Found> {
    let known = match scene {
        Scene::TwoStandards => Known::Ice,
        Scene::ThreeStandards => Known::Reference,
        _ => Known::Maker,
    };
    let compensation = match scene {
        Scene::StraightLine => Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN },
        _ => Compensation::NaturalWater { exponent: DEFAULT_EXPONENT },
    };
    let mut thermometer = Thermometer::drawn(known, chance);
    let cell = Cell::drawn(chance);
    let room_c = chance.between(18.0, 28.0);
    let points: Vec<ConductivityPoint> = standards(scene)
        .iter()
        .map(|name| {
            let standard = conductivity_standards::by_name(name).expect("a published standard");
            let planned = bottle(name, Source::Solution(standard));
            let water_c = room_c + chance.between(-1.0, 1.0);
            let shown = thermometer.shown(water_c);
            let stated = value(&planned, shown);
            let u = stated.standard_uncertainty.expect("every bottle has it");
            let cell_c = water_c + chance.normal(DEFAULT_GRADIENT_K.value);
            let us_cm = value(&planned, Celsius::new(cell_c)).value
                * (1.0 + chance.normal(u / stated.value));
            let raw = cell.measured(us_cm, chance);
            ConductivityPoint {
                standard: MicrosiemensPerCm::new(stated.value),
                standard_uncertainty: Some(u),
                standard_per_kelvin: planned.source.per_kelvin(shown),
                conductance: Microsiemens::new(raw.conductance_ps as f64 / MICRO),
                range: raw.range,
                temperature: shown,
                bottle: None,
            }
        })
        .collect();
    let assumed =
        Assumed { thermometer_k: thermometer.coefficients().thermometer_k(), ..Assumed::default() };
    let fit = fit_assuming(&points, compensation, &assumed).expect("points of a cell");
    let calibration = fit.calibration;
    if scene == Scene::CellThermometerSince {
        thermometer.calibrate(Known::Reference, chance);
    }
    let constant = Found {
        stated: Stated::CellConstant,
        off: 100.0 * (calibration.cell_constant_per_cm / cell.per_cm - 1.0),
        u: 100.0 * calibration.standard_uncertainty() / calibration.cell_constant_per_cm,
    };
    let mut found = vec![constant];
    thermometer.drift(chance);
    found.extend(sample(&cell, &thermometer, calibration, chance));
    found
}

/// A water, read with the same thermometer.
fn sample(
    cell: &Cell,
    thermometer: &Thermometer,
    calibration: ConductivityCalibration,
    chance: &mut Chance,
) -> [Found; 2] {
    let at_25 = chance.between_in_ratio(WATERS_US_CM.0, WATERS_US_CM.1);
    let water_c = chance.between(5.0, 35.0);
    let cell_c = water_c + chance.normal(DEFAULT_GRADIENT_K.value);
    let exponent = chance.between(EXPONENTS.0, EXPONENTS.1);
    let us_cm =
        from_25_natural_water(MicrosiemensPerCm::new(at_25), Celsius::new(cell_c), exponent)
            .expect("a natural water")
            .get();
    let raw = Raw {
        potential_nv: None,
        conductance: Some(cell.measured_since(us_cm, chance)),
        thermometer_milliohm: Some(thermometer.milliohm(water_c)),
    };
    let coefficients =
        Coefficients { conductivity: Some(calibration), ..thermometer.coefficients() };
    let (computed, stated) = (evaluate(&raw, &coefficients), uncertainty(&raw, &coefficients));
    let one = |what, got: Option<f32>, u: Option<f64>, truth: f64| {
        let (got, u) = got.zip(u).expect("a sample inside the range");
        Found { stated: what, off: 100.0 * (f64::from(got) / truth - 1.0), u: 100.0 * u / truth }
    };
    [
        one(Stated::Conductivity, computed.conductivity_us_cm, stated.conductivity_us_cm, us_cm),
        one(
            Stated::SpecificConductance,
            computed.specific_conductance_us_cm,
            stated.specific_conductance_us_cm,
            at_25,
        ),
    ]
}
