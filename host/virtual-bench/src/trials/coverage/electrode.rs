//! An electrode in buffers, then in a water.

use rillmark_proto::calibration::ph::budget::Conditions;
use rillmark_proto::calibration::ph::{
    self, Assumed, DEFAULT_ISOPOTENTIAL, DEFAULT_POTENTIAL_UNCERTAINTY, NOMINAL_SLOPE, PhPoint,
};
use rillmark_proto::reference::buffers::{self, Buffer};
use rillmark_proto::reference::ionic_strength::Class;
use rillmark_proto::reference::nernst;
use rillmark_proto::routine::standard::Source;
use rillmark_proto::units::{Celsius, Millivolts, Ph};

use super::{Covered, Thermometer};
use crate::random::Random;

/// Which buffers an electrode is calibrated in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Buffers {
    /// One; the slope is the nominal one.
    One,
    /// Two.
    Two,
    /// Three.
    Three,
    /// Five, of several makers' kinds.
    Five,
}

impl Buffers {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::One, Self::Two, Self::Three, Self::Five];

    /// Their names.
    pub const fn names(self) -> &'static [&'static str] {
        match self {
            Self::One => &["phosphate-1-1"],
            Self::Two => &["phosphate-1-1", "phthalate-1977"],
            Self::Three => &["technical-7.00", "technical-4.01", "technical-10.01"],
            Self::Five => {
                &["phosphate-1-1", "phthalate-1977", "borax", "technical-7.00", "technical-10.01"]
            }
        }
    }
}

/// The true electrode.
struct Electrode {
    slope: f64,
    offset_mv: f64,
    /// Where its offset is told.
    at_c: f64,
    isopotential_ph: f64,
}

impl Electrode {
    fn millivolts(&self, ph: f64, celsius: f64) -> f64 {
        let k = |celsius: f64| nernst::millivolts_per_ph(Celsius::new(celsius));
        let lift = (k(celsius) - k(self.at_c)) * (self.isopotential_ph - 7.0);
        self.offset_mv - self.slope * (k(celsius) * (ph - 7.0) - lift)
    }
}

/// One calibration in these buffers at 10 to 30 °C, and one water of this class at 5 to 35 °C and pH
/// 4 to 10, for each number another one.
pub fn electrode(buffers: Buffers, class: Class, number: u64) -> Covered {
    let mut random = Random::new(number, 11);
    let thermometer = Thermometer::drawn(&mut random);
    let electrode = Electrode {
        slope: NOMINAL_SLOPE.slope_fraction + NOMINAL_SLOPE.standard_uncertainty * random.normal(),
        offset_mv: 10.0 * random.normal(),
        at_c: 10.0 + 20.0 * random.unit(),
        isopotential_ph: DEFAULT_ISOPOTENTIAL.ph
            + DEFAULT_ISOPOTENTIAL.standard_uncertainty * random.normal(),
    };
    let conditions = Conditions::new(thermometer.standard_k, class);
    let gain = 1.0 + conditions.gain * random.normal();
    let points: Vec<PhPoint> = buffers
        .names()
        .iter()
        .map(|name| {
            let buffer = buffers::by_name(name).expect("a built-in buffer");
            point(&electrode, buffer, &thermometer, gain, &mut random)
        })
        .collect();
    let slope = (buffers == Buffers::One).then_some(NOMINAL_SLOPE);
    let assumed = Assumed { isopotential: DEFAULT_ISOPOTENTIAL, slope };
    let calibration = ph::fit_assuming(&points, &assumed).expect("a line").calibration;

    let (truth, celsius) = (4.0 + 6.0 * random.unit(), 5.0 + 30.0 * random.unit());
    let glass_c = celsius + conditions.gradient_k * random.normal();
    // The junction makes the electrode see another pH than there is.
    let seen = truth + conditions.junction_ph * random.normal();
    let noise = conditions.potential_mv * random.normal();
    let mv = (electrode.millivolts(seen, glass_c) + noise) * gain;
    let (potential, temperature) = (Millivolts::new(mv), Celsius::new(thermometer.reads(celsius)));
    let budget = calibration.budget(potential, temperature, &conditions).expect("a pH");
    Covered { error: budget.ph.get() - truth, expanded: 2.0 * budget.combined }
}

/// The electrode in a buffer within 2 K of the first, whose content is off by its own uncertainty.
fn point(
    electrode: &Electrode,
    buffer: &'static Buffer,
    thermometer: &Thermometer,
    gain: f64,
    random: &mut Random,
) -> PhPoint {
    let celsius = electrode.at_c + 2.0 * (random.unit() - 0.5);
    let at = |celsius: f64| buffer.ph(Celsius::new(celsius)).expect("within its table");
    let standard = at(celsius).standard_uncertainty.expect("every buffer states one");
    let content = at(celsius).value + standard * random.normal();
    let noise = DEFAULT_POTENTIAL_UNCERTAINTY.value * random.normal();
    let temperature = Celsius::new(thermometer.reads(celsius));
    PhPoint {
        buffer: Ph::new(at(temperature.get()).value),
        buffer_uncertainty: Some(standard),
        buffer_per_kelvin: Source::Buffer(buffer).per_kelvin(temperature),
        potential: Millivolts::new((electrode.millivolts(content, celsius) + noise) * gain),
        temperature,
    }
}
