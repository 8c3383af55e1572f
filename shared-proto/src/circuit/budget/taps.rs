//! What the three taps tell of a resistance: R = Rs · (a − b) / (h − a).

use super::{Cause, Contribution};
use crate::circuit::{chips, network, timing};

/// What two resistances make of the drive.
pub(super) struct Taps {
    /// Codes between the taps of the load.
    load: f64,
    /// Codes between the taps of the resistor.
    resistor: f64,
}

impl Taps {
    /// Of a load against a resistor in Ω, with this much else in their path.
    pub(super) fn of(resistor_ohm: f64, load_ohm: f64, beside_ohm: f64) -> Self {
        let total = resistor_ohm + load_ohm + beside_ohm;
        // From the negative to the positive half period.
        let codes_per_ohm = 2.0 * network::DRIVE_V / network::TAP_CODE_V / total;
        Self { load: codes_per_ohm * load_ohm, resistor: codes_per_ohm * resistor_ohm }
    }

    /// Relative uncertainty of the ratio where every tap is uncertain by so many codes on its own:
    /// tap a stands in numerator and denominator.
    fn relative(&self, codes: f64) -> f64 {
        let (load, resistor) = (1.0 / self.load, 1.0 / self.resistor);
        let both = load + resistor;
        codes * libm::sqrt(both * both + load * load + resistor * resistor)
    }

    /// The converter's line: every tap stands at its own place of it.
    pub(super) fn linearity(&self) -> Contribution {
        Contribution::lasting(Cause::Linearity, self.relative(chips::ADC_LINEARITY_CODES))
    }

    /// Noise of one reading.
    pub(super) fn noise(&self) -> Contribution {
        let deviation = self.relative(averaged_codes(timing::CONVERSIONS_PER_AVERAGE));
        Contribution::noise(Cause::Noise, deviation)
    }

    /// What is left of the last tap after its wait: the longer step of the two, falling over one
    /// average.
    pub(super) fn settling(&self) -> Contribution {
        let average_s =
            f64::from(timing::CONVERSIONS_PER_AVERAGE) * timing::CONVERSION_PERIOD_US as f64 * 1e-6;
        let wait_s = timing::WAIT_TAP_US as f64 * 1e-6;
        let left = libm::exp(-wait_s / network::HOLD_S) * network::HOLD_S / average_s;
        let step = libm::fmax(self.load, self.resistor);
        Contribution::lasting(Cause::Settling, self.relative(left * step))
    }
}

/// Standard deviation in codes of the mean of so many conversions, each with its noise and rounded to
/// a whole code (1/√12).
pub(super) fn averaged_codes(conversions: u32) -> f64 {
    let one = chips::ADC_NOISE_CODES * chips::ADC_NOISE_CODES + 1.0 / 12.0;
    libm::sqrt(one / f64::from(conversions))
}
