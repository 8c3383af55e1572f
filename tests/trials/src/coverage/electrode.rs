//! An electrode that is calibrated in buffers and then reads a sample.

use rillmark_metrology::fit::of_one_bottle;
use rillmark_metrology::fit::ph::{Assumed, NOMINAL_SLOPE, PhPoint, fit_assuming};
use rillmark_metrology::reference::buffers;
use rillmark_metrology::reference::ionic_strength::{Class, residual_junction};
use rillmark_metrology::uncertainty::ph::DEFAULT_POTENTIAL_UNCERTAINTY;
use rillmark_metrology::uncertainty::ph::PhUncertainty;
use rillmark_metrology::uncertainty::ph::{Conditions, DEFAULT_GRADIENT_K};
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;
use rillmark_metrology::uncertainty::reading::uncertainty;
use rillmark_procedures::routine::standard::Source;
use rillmark_proto::calibration::conductivity::{Compensation, ConductivityCalibration};
use rillmark_proto::calibration::ph::{DEFAULT_ISOPOTENTIAL, OFFSET_PH, PhCalibration};
use rillmark_proto::circuit::{chips, network};
use rillmark_proto::reading::{Coefficients, Range, Raw, RawConductance, evaluate};
use rillmark_proto::reference::nernst;
use rillmark_proto::units::{Celsius, MicrosiemensPerCm, Millivolts, Ph};

use super::thermometer::{Known, Thermometer};
use super::{Chance, Found, Scene, Stated, bottle, value};

/// Standard deviation of the offsets of electrodes in mV: half of what counts as none of a fault
/// (30 mV, `limits::OFFSET_MV`).
const OFFSET_MV: f64 = 15.0;
/// Beakers stand within this of each other, in K (`limits::TEMPERATURE_SPAN_K` warns of more).
const BESIDE_K: f64 = 1.0;
/// The compensation of a cell that is exact and only says what class a water is of.
const AT_25: Compensation = Compensation::Linear { per_kelvin: 0.0 };

/// What is true.
struct Electrode {
    slope: f64,
    offset_mv: f64,
    isopotential_ph: f64,
    /// Where the offset is the potential at pH 7, in °C.
    at_c: f64,
    gain: f64,
}

impl Electrode {
    fn drawn(at_c: f64, chance: &mut Chance) -> Self {
        Self {
            slope: NOMINAL_SLOPE.slope_fraction + chance.normal(NOMINAL_SLOPE.standard_uncertainty),
            offset_mv: chance.normal(OFFSET_MV),
            isopotential_ph: DEFAULT_ISOPOTENTIAL.ph
                + chance.normal(DEFAULT_ISOPOTENTIAL.standard_uncertainty),
            at_c,
            // The converter's own, and what it takes from its filter.
            gain: 1.0 + chance.between(-chips::ADC_GAIN_ERROR, chips::ADC_GAIN_ERROR)
                - chance.between(0.0, network::ELECTRODE_LOAD),
        }
    }

    /// Its potential in mV with a glass of this temperature in °C.
    fn potential_mv(&self, ph: f64, glass_c: f64) -> f64 {
        let k = nernst::millivolts_per_ph(Celsius::new(glass_c));
        let away = k - nernst::millivolts_per_ph(Celsius::new(self.at_c));
        let from_7 = self.isopotential_ph - OFFSET_PH;
        self.offset_mv - self.slope * (k * (ph - OFFSET_PH) - away * from_7)
    }

    /// The same as the converter gives it, in nV.
    fn measured_nv(&self, ph: f64, glass_c: f64, chance: &mut Chance) -> i32 {
        let mv =
            self.potential_mv(ph, glass_c) + chance.normal(DEFAULT_POTENTIAL_UNCERTAINTY.value);
        libm::round(self.gain * mv * 1e6) as i32
    }

    /// The same at another temperature of the board.
    fn measured_since_nv(&self, ph: f64, glass_c: f64, chance: &mut Chance) -> i32 {
        let nv = self.measured_nv(ph, glass_c, chance);
        let mv = Millivolts::new(f64::from(nv) / 1e6);
        let since = Conditions::new(mv, 0.0, None).front_end_mv;
        nv + libm::round(chance.normal(since) * 1e6) as i32
    }
}

/// A buffer, and how far its beaker is from the others in K.
fn beakers(scene: Scene, chance: &mut Chance) -> Vec<(&'static buffers::Buffer, f64)> {
    let names: &[&str] = match scene {
        Scene::OneBuffer => &["technical-7.00"],
        Scene::TwoBuffers => &["phosphate-1-1", "phthalate-1977"],
        Scene::FiveBuffers => {
            &["phosphate-1-1", "phthalate-1977", "borax", "technical-7.00", "technical-10.01"]
        }
        Scene::SaltyWater => {
            &["technical-4.01", "technical-7.00", "technical-10.01", "technical-4.01"]
        }
        _ => &["technical-4.01", "technical-7.00", "technical-10.01"],
    };
    let named = names.iter().enumerate().map(|(index, name)| {
        let apart = chance.between(-BESIDE_K, BESIDE_K);
        let buffer = buffers::by_name(name).expect("a buffer of the literature");
        let again = scene == Scene::SaltyWater && index == 3;
        (buffer, if again { apart + 10.0 } else { apart })
    });
    named.collect()
}

pub(super) fn run(scene: Scene, chance: &mut Chance) -> Vec<Found> {
    let room_c = chance.between(15.0, 28.0);
    let known = if scene == Scene::ThermometerFromIce { Known::Ice } else { Known::Maker };
    let mut thermometer = Thermometer::drawn(known, chance);
    let beakers = beakers(scene, chance);
    let apart: f64 = beakers.iter().map(|(_, apart)| apart).sum();
    let electrode = Electrode::drawn(room_c + apart / beakers.len() as f64, chance);
    // A bottle has its error in every beaker.
    let mut bottles: Vec<(&str, f64)> = Vec::new();
    let points: Vec<PhPoint> = beakers
        .iter()
        .map(|(buffer, apart)| {
            let water_c = room_c + apart;
            let shown = thermometer.shown(water_c);
            let planned = bottle(buffer.name(), Source::Buffer(buffer));
            let stated = value(&planned, shown);
            let u = stated.standard_uncertainty.expect("every bottle has it");
            let off = match bottles.iter().find(|(name, _)| *name == buffer.name()) {
                Some((_, off)) => *off,
                None => {
                    let off = chance.normal(u);
                    bottles.push((buffer.name(), off));
                    off
                }
            };
            let in_it = beakers.iter().filter(|(other, _)| other.name() == buffer.name()).count();
            let at_glass = value(&planned, Celsius::new(water_c)).value;
            let nv = electrode.measured_nv(at_glass + off, water_c, chance);
            PhPoint {
                buffer: Ph::new(stated.value),
                buffer_uncertainty: Some(of_one_bottle(u, in_it)),
                buffer_per_kelvin: planned.source.per_kelvin(shown),
                potential: Millivolts::new(f64::from(nv) / 1e6),
                temperature: shown,
                bottle: bottles.iter().position(|(name, _)| *name == buffer.name()),
            }
        })
        .collect();
    let slope = (points.len() == 1).then_some(NOMINAL_SLOPE);
    let thermometer_k = thermometer.coefficients().thermometer_k();
    let assumed = Assumed { slope, thermometer_k, ..Assumed::default() };
    let calibration = fit_assuming(&points, &assumed).expect("points of a line").calibration;
    if scene == Scene::ThermometerSince {
        thermometer.calibrate(Known::Reference, chance);
    }
    thermometer.drift(chance);
    let mut found = coefficients(&electrode, &calibration, slope.is_none());
    found.push(sample(scene, &electrode, &thermometer, calibration, chance));
    found
}

/// The coefficients as a record tells them.
fn coefficients(truth: &Electrode, found: &PhCalibration, measured: bool) -> Vec<Found> {
    let offset_mv = truth.potential_mv(OFFSET_PH, found.at_c);
    let slope = Found {
        stated: Stated::Slope,
        off: 100.0 * (found.slope_fraction - truth.slope),
        u: 100.0 * found.slope_uncertainty(),
    };
    let offset = Found {
        stated: Stated::Offset,
        off: found.offset_mv - offset_mv,
        u: found.offset_uncertainty_mv(),
    };
    // A slope that was only assumed is its prior.
    if measured { vec![slope, offset] } else { vec![offset] }
}

/// A water somewhere between the buffers, read with the same thermometer and converter.
fn sample(
    scene: Scene,
    electrode: &Electrode,
    thermometer: &Thermometer,
    calibration: PhCalibration,
    chance: &mut Chance,
) -> Found {
    let (class, us_cm) = match scene {
        Scene::DiluteWater => (Class::Dilute, chance.between(10.0, 90.0)),
        Scene::SaltyWater => (Class::Salty, chance.between(25_000.0, 50_000.0)),
        _ => (Class::Ordinary, chance.between(200.0, 2_000.0)),
    };
    let (ph, water_c) = (chance.between(4.0, 10.0), chance.between(5.0, 35.0));
    let junction_ph = chance.normal(residual_junction(Some(MicrosiemensPerCm::new(us_cm))).value);
    let glass_c = water_c + chance.normal(DEFAULT_GRADIENT_K.value);
    let conductance_ps = libm::round(us_cm * 1e6) as i64;
    let raw = Raw {
        potential_nv: Some(electrode.measured_since_nv(ph + junction_ph, glass_c, chance)),
        conductance: Some(RawConductance { conductance_ps, range: Range::Ohm1k }),
        thermometer_milliohm: Some(thermometer.milliohm(water_c)),
    };
    let coefficients = Coefficients {
        ph: Some(calibration),
        conductivity: Some(ConductivityCalibration::exact(1.0, AT_25)),
        ..thermometer.coefficients()
    };
    let stated = uncertainty(&raw, &coefficients);
    assert_eq!(stated.water, Some(class), "the class of the water is no matter of chance");
    Found {
        stated: Stated::Ph,
        off: f64::from(evaluate(&raw, &coefficients).ph.expect("a sample inside the range")) - ph,
        u: stated.ph.expect("what has a value has an uncertainty"),
    }
}
