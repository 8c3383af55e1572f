//! A cell in conductivity standards, then in a natural water.

use rillmark_proto::calibration::conductivity::budget::Conditions;
use rillmark_proto::calibration::conductivity::{
    Compensation, ConductivityCalibration, ConductivityPoint, DEFAULT_CONDUCTANCE_UNCERTAINTY,
    DEFAULT_GRADIENT_K, Estimate, Range, SERIES_PRIOR_OHM, ZERO_PRIOR_US, fit,
};
use rillmark_proto::reference::compensation::from_25_natural_water;
use rillmark_proto::reference::compensation::{DEFAULT_EXPONENT, DEFAULT_PER_KELVIN};
use rillmark_proto::reference::conductivity_standards::{self, Standard};
use rillmark_proto::routine::standard::Source;
use rillmark_proto::units::{Celsius, Microsiemens, MicrosiemensPerCm};

use super::{Covered, Thermometer};
use crate::random::Random;

/// Which standards a cell is calibrated in, and how it refers a water to 25 °C.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standards {
    /// One of 1413 µS/cm; linear.
    One,
    /// 1413 and 12 880 µS/cm; linear.
    Two,
    /// 147, 1413 and 12 880 µS/cm; by the viscosity of water.
    Three,
}

impl Standards {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::One, Self::Two, Self::Three];

    /// Their names.
    pub const fn names(self) -> &'static [&'static str] {
        match self {
            Self::One => &["1413"],
            Self::Two => &["1413", "12880"],
            Self::Three => &["147", "1413", "12880"],
        }
    }

    /// How a water is referred to 25 °C.
    pub const fn compensation(self) -> Compensation {
        match self {
            Self::One | Self::Two => Compensation::Linear { per_kelvin: DEFAULT_PER_KELVIN },
            Self::Three => Compensation::NaturalWater { exponent: DEFAULT_EXPONENT },
        }
    }
}

/// What came of one calibration and one water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    /// The cell constant, in parts of the true one.
    pub cell_constant: Covered,
    /// The conductivity at the water's temperature, in parts of the true one.
    pub conductivity: Covered,
    /// The same at 25 °C.
    pub specific: Covered,
}

/// Exponents of natural waters: from sodium chloride to calcium hydrogencarbonate (COMPUTED, see
/// the compensation's own documentation).
const EXPONENTS: (f64, f64) = (0.889, 0.969);

/// One calibration in these standards at 20 to 30 °C, and one natural water at 5 to 30 °C and 50 to
/// 15 000 µS/cm, for each number another one.
pub fn cell(standards: Standards, number: u64) -> Found {
    let mut random = Random::new(number, 12);
    let thermometer = Thermometer::drawn(&mut random);
    let drawn = |estimate: Estimate, random: &mut Random| Estimate {
        value: estimate.value + estimate.standard_uncertainty * random.normal(),
        standard_uncertainty: 0.0,
    };
    let truth = ConductivityCalibration {
        series_ohm: drawn(SERIES_PRIOR_OHM, &mut random),
        zero_us: drawn(ZERO_PRIOR_US, &mut random),
        // 0.5 to 2 /cm: on these standards the front end has a range for it.
        ..ConductivityCalibration::exact(
            libm::pow(2.0, 2.0 * random.unit() - 1.0),
            standards.compensation(),
        )
    };
    let points: Vec<ConductivityPoint> = standards
        .names()
        .iter()
        .map(|name| {
            let standard = conductivity_standards::by_name(name).expect("a built-in standard");
            point(&truth, standard, &thermometer, &mut random)
        })
        .collect();
    let calibration = fit(&points, standards.compensation()).expect("a cell").calibration;

    let conditions = Conditions::new(thermometer.standard_k);
    let celsius = 5.0 + 25.0 * random.unit();
    let at_25 = 50.0 * libm::pow(300.0, random.unit());
    let (low, high) = EXPONENTS;
    let exponent = low + (high - low) * random.unit();
    let in_cell_c = celsius + conditions.gradient_k * random.normal();
    let water =
        from_25_natural_water(MicrosiemensPerCm::new(at_25), Celsius::new(in_cell_c), exponent)
            .expect("a natural water");
    let conductance = measured(&truth, water, &mut random);
    let range = Range::for_conductance(conductance);
    let temperature = Celsius::new(thermometer.reads(celsius));
    let as_is = calibration.budget(conductance, range, &conditions).expect("a conductivity");
    let specific = calibration
        .specific_budget(conductance, range, temperature, &conditions)
        .expect("a specific conductance");
    let found = calibration.cell_constant_per_cm;
    Found {
        cell_constant: Covered {
            error: found / truth.cell_constant_per_cm - 1.0,
            expanded: 2.0 * calibration.standard_uncertainty() / found,
        },
        conductivity: Covered {
            error: as_is.value.get() / water.get() - 1.0,
            expanded: 2.0 * as_is.relative,
        },
        specific: Covered {
            error: specific.value.get() / at_25 - 1.0,
            expanded: 2.0 * specific.relative,
        },
    }
}

/// What the front end makes of a conductivity in the true cell.
fn measured(
    truth: &ConductivityCalibration,
    conductivity: MicrosiemensPerCm,
    random: &mut Random,
) -> Microsiemens {
    let conductance = truth.conductance(conductivity, Range::Ohm1k).expect("in range").get();
    Microsiemens::new(conductance * (1.0 + DEFAULT_CONDUCTANCE_UNCERTAINTY.value * random.normal()))
}

/// The cell in a standard whose content is off by its own uncertainty.
fn point(
    truth: &ConductivityCalibration,
    standard: &'static Standard,
    thermometer: &Thermometer,
    random: &mut Random,
) -> ConductivityPoint {
    let celsius = 20.0 + 10.0 * random.unit();
    let at = |celsius: f64| standard.conductivity(Celsius::new(celsius)).expect("in its table");
    let relative = standard.relative_uncertainty().standard;
    let in_cell_c = celsius + DEFAULT_GRADIENT_K.value * random.normal();
    let content = at(in_cell_c).value * (1.0 + relative * random.normal());
    let conductance = measured(truth, MicrosiemensPerCm::new(content), random);
    let temperature = Celsius::new(thermometer.reads(celsius));
    let value = at(temperature.get()).value;
    ConductivityPoint {
        standard: MicrosiemensPerCm::new(value),
        standard_uncertainty: Some(relative * value),
        standard_per_kelvin: Source::Solution(standard).per_kelvin(temperature),
        conductance,
        range: Range::for_conductance(conductance),
        temperature,
    }
}
