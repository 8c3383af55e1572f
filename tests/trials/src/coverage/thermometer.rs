//! A thermometer with its error, at its maker's word or calibrated.

use rillmark_metrology::fit::temperature::{EQUALLY_WARM_K, TemperaturePoint, fit};
use rillmark_metrology::front_end::Cause;
use rillmark_metrology::front_end::surroundings::{BOARD_K, LEADS_OHM};
use rillmark_metrology::uncertainty::reading::ReadingUncertainty;
use rillmark_metrology::uncertainty::temperature::ThermometerFrontEnd;
use rillmark_procedures::routine::standard::Reference;
use rillmark_proto::calibration::temperature::{PT1000, TemperatureCalibration};
use rillmark_proto::circuit::parts;
use rillmark_proto::reading::Coefficients;
use rillmark_proto::reference::rtd;
use rillmark_proto::units::{Celsius, Ohms};

use super::{Chance, Found, Scene, Stated};

const INSIDE: &str = "a thermometer in water is inside its table";

/// How a thermometer is known.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Known {
    /// At its maker's word: class B.
    Maker,
    /// Calibrated in ice.
    Ice,
    /// Calibrated beside a reference at two temperatures.
    Reference,
}

/// A thermometer.
pub(super) struct Thermometer {
    /// Where in its class it lies, −1 to 1.
    place: f64,
    /// Its leads in Ω.
    leads_ohm: f64,
    /// What the reference resistor is of its value.
    reference: f64,
    /// What bends and drifts in the front end since the calibration, as a fraction of the resistance.
    since: f64,
    /// Its calibration.
    pub(super) calibration: Option<TemperatureCalibration>,
}

impl Thermometer {
    pub(super) fn drawn(known: Known, chance: &mut Chance) -> Self {
        let tolerance = parts::THERMOMETER_REFERENCE.tolerance;
        let mut this = Self {
            place: chance.between(-1.0, 1.0),
            leads_ohm: chance.normal(LEADS_OHM),
            reference: 1.0 + chance.between(-tolerance, tolerance),
            since: 0.0,
            calibration: None,
        };
        this.calibrate(known, chance);
        this
    }

    /// The board is warmer or colder than before, and the converter's line bends another way.
    pub(super) fn drift(&mut self, chance: &mut Chance) {
        let limit = parts::THERMOMETER_REFERENCE.drift_per_k * BOARD_K;
        let room = PT1000.resistance(Celsius::new(25.0)).expect(INSIDE).get();
        let budget = PT1000.front_end(Celsius::new(25.0));
        let bending_k = budget.of(Cause::Linearity).expect("a converter bends").calibrated;
        let per_k = PT1000.resistance(Celsius::new(26.0)).expect(INSIDE).get() - room;
        self.since = chance.between(-limit, limit) + chance.rectangular(bending_k * per_k / room);
    }

    /// Calibrates it, as it is known from then on.
    pub(super) fn calibrate(&mut self, known: Known, chance: &mut Chance) {
        let (reference, temperatures): (Reference, &[f64]) = match known {
            Known::Maker => {
                self.calibration = None;
                return;
            }
            Known::Ice => (Reference::Ice { standard_uncertainty_k: None }, &[0.0]),
            Known::Reference => {
                let reference =
                    Reference::Thermometer { celsius: None, standard_uncertainty_k: None };
                (reference, &[10.0, 30.0])
            }
        };
        let u = reference.standard_uncertainty_k();
        let off = chance.normal(u);
        let points: Vec<TemperaturePoint> = temperatures
            .iter()
            .map(|celsius| TemperaturePoint {
                reference: Celsius::new(*celsius),
                reference_uncertainty_k: u,
                reference_number: 0,
                resistance: self.resistance(celsius + off + chance.normal(EQUALLY_WARM_K.value)),
            })
            .collect();
        self.calibration = Some(fit(&points, PT1000).expect("points of a Pt1000").calibration);
    }

    /// Its resistance as the front end has it at a temperature in °C, in whole mΩ as a probe gives it.
    pub(super) fn milliohm(&self, celsius: f64) -> u32 {
        libm::round(self.resistance(celsius).get() * 1e3) as u32
    }

    fn resistance(&self, celsius: f64) -> Ohms {
        let limit = libm::sqrt(3.0) * rtd::class_b_uncertainty(Celsius::new(celsius));
        let own = PT1000.resistance(Celsius::new(celsius + self.place * limit)).expect(INSIDE);
        Ohms::new((own.get() + self.leads_ohm) * (1.0 + self.since) / self.reference)
    }

    /// What it says at a temperature in °C.
    pub(super) fn shown(&self, celsius: f64) -> Celsius {
        let ohms = Ohms::new(f64::from(self.milliohm(celsius)) / 1e3);
        self.coefficients().celsius(ohms).expect(INSIDE)
    }

    pub(super) fn coefficients(&self) -> Coefficients {
        Coefficients { temperature: self.calibration, ..Coefficients::default() }
    }
}

pub(super) fn run(scene: Scene, chance: &mut Chance) -> Vec<Found> {
    let known = match scene {
        Scene::Ice => Known::Ice,
        Scene::Maker => Known::Maker,
        _ => Known::Reference,
    };
    let mut thermometer = Thermometer::drawn(known, chance);
    thermometer.drift(chance);
    let celsius = chance.between(0.0, 35.0);
    let shown = thermometer.shown(celsius);
    let u = thermometer.coefficients().thermometer_uncertainty(shown);
    vec![Found { stated: Stated::Temperature, off: shown.get() - celsius, u }]
}
