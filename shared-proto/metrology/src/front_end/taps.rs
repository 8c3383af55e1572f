//! What the three taps tell of a resistance: R = Rs · (a − b) / (h − a).

use super::{Cause, Contribution};
use crate::front_end::surroundings;
use rillmark_proto::circuit::{chips, network, timing};

/// What two resistances make of the drive.
pub(super) struct Taps {
    /// Codes between the taps of the load.
    load: f64,
    /// Codes between the taps of the resistor.
    resistor: f64,
    /// Codes below the load.
    below: f64,
}

impl Taps {
    /// Of a drive with this amplitude in V, a load against a resistor in Ω behind its switch, and this much from
    /// the load back to mid.
    pub(super) fn of(drive_v: f64, resistor_ohm: f64, load_ohm: f64, back_ohm: f64) -> Self {
        let total = chips::SWITCH_ON_OHM + resistor_ohm + load_ohm + back_ohm;
        // From the negative to the positive half period.
        let codes_per_ohm = 2.0 * drive_v / network::TAP_CODE_V / total;
        let [load, resistor, below] =
            [load_ohm, resistor_ohm, back_ohm].map(|ohm| codes_per_ohm * ohm);
        Self { load, resistor, below }
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

    /// What a supply that wanders leaves. The taps are read about one middle (b, a, h, a, b), so that an even
    /// drift drops out, and the bend of a sine at its crest stays: ½ · (2π/P)² of it for each s².
    pub(super) fn drift(&self) -> Contribution {
        let s = |us: u64| us as f64 * 1e-6;
        let half_s = s(u64::from(timing::HALF_CONVERSIONS) * timing::CONVERSION_PERIOD_US);
        let whole_s = 2.0 * half_s;
        let wait_s = s(timing::WAIT_TAP_US);
        // Mean square distances from the middle: of the place, and within the time that it takes.
        let away = |place_s: f64, long_s: f64| place_s * place_s + long_s * long_s / 12.0;
        let beside_s = 0.5 * whole_s + wait_s + 0.5 * half_s;
        let [h, a, b] =
            [away(0.0, whole_s), away(beside_s, half_s), away(beside_s + half_s + wait_s, half_s)];
        let [top, middle] = [self.below + self.load + self.resistor, self.below + self.load];
        let load = (a * middle - b * self.below) / self.load;
        let resistor = (h * top - a * middle) / self.resistor;
        let turn = core::f64::consts::TAU / surroundings::SUPPLY_WANDER_S;
        let bend = 0.5 * surroundings::SUPPLY_WANDER * turn * turn;
        Contribution::sine(Cause::SupplyDrift, bend * (load - resistor))
    }

    /// What a step of the supply leaves that hides below what the firmware takes for even: one in
    /// [`SUPPLY_STEP_S`](surroundings::SUPPLY_STEP_S), at any time of the reading, and anywhere up to the most that
    /// hides there.
    ///
    /// A step by the part s moves the ratio by s times the difference of what reaches the load's codes and the
    /// resistor's. With ℓ the codes by which halves may be uneven, the most is
    ///
    /// - between b and a, where b shows s·b and has half of it: ½·ℓ/load, which is taken for b and a too;
    /// - between a and h, where a shows s·a and has half of it: ½·ℓ·h/(a·resistor), which is taken for a and h too;
    /// - a part x of h away from its ends, where h shows 2·x·s·h and may show
    ///   [u](timing::UNEVEN_H_CODES): s·(½ − x)·h/resistor ≤ ½·u·(½/x − 1)/resistor. Nearer to an end a shows more
    ///   of it than h accounts for: s·a·(1 − 2·m·x) reaches ℓ, with m times h's own change between the halves of a.
    ///
    /// The square of the last has ln 2x + ¼/x − x for its integral from x to ½.
    pub(super) fn step(&self) -> Contribution {
        let s = |us: u64| us as f64 * 1e-6;
        let half_s = s(u64::from(timing::HALF_CONVERSIONS) * timing::CONVERSION_PERIOD_US);
        let wait_s = s(timing::WAIT_TAP_US);
        let whole_s = 2.0 * half_s;
        let (a, h) = (self.below + self.load, self.below + self.load + self.resistor);
        let uneven = timing::UNEVEN_CODES + timing::UNEVEN_PART * self.load;
        let before = 0.5 * uneven / self.load;
        let beside = 0.5 * uneven * h / (a * self.resistor);
        // Between the middles of the halves of a, and of those of h.
        let apart = (3.0 * half_s + 2.0 * wait_s) / half_s;
        let least =
            timing::UNEVEN_H_CODES * a / (2.0 * (uneven * h + apart * timing::UNEVEN_H_CODES * a));
        let within = 0.5 * timing::UNEVEN_H_CODES / self.resistor;
        let even = libm::log(2.0 * least) + 0.25 / least - least;
        let square_s = 2.0
            * ((2.0 * half_s + wait_s) * before * before
                + (half_s + wait_s + 0.5 * whole_s) * beside * beside
                + whole_s * even * within * within);
        // Anywhere up to the most: a third of its square.
        let deviation = libm::sqrt(square_s / (3.0 * surroundings::SUPPLY_STEP_S));
        Contribution::noise(Cause::SupplyStep, deviation)
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
