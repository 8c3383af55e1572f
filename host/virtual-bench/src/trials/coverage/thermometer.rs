//! A thermometer with its error, at its maker's word or calibrated.

use rillmark_proto::calibration::temperature::{
    EQUALLY_WARM_K, PT1000, TemperatureCalibration, TemperaturePoint, fit,
};
use rillmark_proto::reading::Coefficients;
use rillmark_proto::reference::rtd;
use rillmark_proto::routine::standard::Reference;
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
    /// Its calibration.
    pub(super) calibration: Option<TemperatureCalibration>,
}

impl Thermometer {
    pub(super) fn drawn(known: Known, chance: &mut Chance) -> Self {
        let mut this = Self { place: chance.between(-1.0, 1.0), calibration: None };
        this.calibrate(known, chance);
        this
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

    /// Its resistance at a temperature in °C, in whole mΩ as a probe gives it.
    pub(super) fn milliohm(&self, celsius: f64) -> u32 {
        libm::round(self.resistance(celsius).get() * 1e3) as u32
    }

    fn resistance(&self, celsius: f64) -> Ohms {
        let limit = libm::sqrt(3.0) * rtd::class_b_uncertainty(Celsius::new(celsius));
        PT1000.resistance(Celsius::new(celsius + self.place * limit)).expect(INSIDE)
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
    let known = if scene == Scene::Ice { Known::Ice } else { Known::Reference };
    let thermometer = Thermometer::drawn(known, chance);
    let celsius = chance.between(0.0, 35.0);
    let shown = thermometer.shown(celsius);
    let u = thermometer.coefficients().thermometer_uncertainty(shown);
    vec![Found { stated: Stated::Temperature, off: shown.get() - celsius, u }]
}
