//! What is true on a bench: the parameters that a probe has to find out.
//!
//! None of them is published: those of parts and chips are drawn within the limits of
//! `rillmark_proto::circuit`, the others are invented within what the front end's notes expect.

use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::parts::{self, Part};
use rillmark_proto::circuit::{chips, network};
use rillmark_proto::reference::rtd;
use rillmark_proto::units::{Celsius, Ohms};

use crate::random::Random;

/// The resistors that something is compared with: of the three ranges and of the thermometer.
pub(crate) const RESISTORS: [Part; 4] =
    [parts::RANGE_1K, parts::RANGE_10K, parts::RANGE_100K, parts::THERMOMETER_REFERENCE];

/// The true parameters of the sensors and the front end. Every field is free to be changed before
/// the bench is built.
#[derive(Clone, Debug, PartialEq)]
pub struct Truth {
    /// Electrode potential at pH 7, in mV.
    pub offset_mv: f64,
    /// Slope as a fraction of Nernst.
    pub slope: f64,
    /// Fast time constant of the glass, in s.
    pub glass_fast_s: f64,
    /// Slow time constant of the glass, in s.
    pub glass_slow_s: f64,
    /// The part of a step that the fast time constant carries, 0 to 1.
    pub glass_fast_part: f64,
    /// Standard deviation of the electrode's wandering, in mV.
    pub wander_mv: f64,
    /// Time over which the wandering forgets itself, in s.
    pub wander_s: f64,
    /// Amplitude of mains hum at the electrode, in mV.
    pub hum_mv: f64,
    /// Mains frequency, in Hz.
    pub mains_hz: f64,
    /// Phase of the hum at the bench's start, in rad.
    pub hum_phase: f64,
    /// Time constant with which the electrode takes the water's temperature, in s.
    pub glass_warming_s: f64,
    /// Time constant with which the thermometer takes the water's temperature, in s.
    pub thermometer_s: f64,
    /// Resistance of the thermometer at 0 °C, in Ω.
    pub thermometer_r0: f64,
    /// A thermistor that is fitted instead, by its resistance at 25 °C in Ω.
    pub thermistor_r25: Option<f64>,
    /// What the thermometer shows too much for each kelvin above 0 °C: its platinum is not quite that
    /// of the standard.
    pub thermometer_gain: f64,
    /// What the reference thermometer of the bench says too much, in K.
    pub reference_off_k: f64,
    /// Cell constant, in 1/cm.
    pub cell_per_cm: f64,
    /// What connector and cable conduct beside the cell, in µS.
    pub leak_us: f64,
    /// Time constant with which new water fills the cell, in s.
    pub cell_filling_s: f64,
    /// Resistance of the cell's leads, in Ω.
    pub lead_ohm: f64,
    /// Resistance of polarisation at 1 kHz, in Ω.
    pub polarisation_ohm: f64,
    /// Polarisation falls with frequency to this power.
    pub polarisation_power: f64,
    /// The range resistors as they are, in Ω: 1 kΩ, 10 kΩ, 100 kΩ and the thermometer's 2 kΩ.
    pub resistors: [f64; 4],
    /// The converter's clock: true rate over nominal rate.
    pub adc_rate: f64,
    /// The converter's gain error as a fraction.
    pub adc_gain_error: f64,
    /// The converter's offset, in codes.
    pub adc_offset_codes: f64,
    /// How far the converter's line is bent either way, in codes.
    pub adc_bend_codes: f64,
    /// Standard deviation of one conversion, in codes.
    pub adc_noise_codes: f64,
    /// The part of the electrode's potential that the converter's input takes through its filter.
    pub electrode_load: f64,
    /// The electrometer's offset, in mV.
    pub electrometer_offset_mv: f64,
    /// The electrometer's input bias, in A.
    pub bias_a: f64,
    /// What the open switches leak into the cell, in A; of a board at room temperature.
    pub switch_leakage_a: f64,
    /// How far the supply wanders, as a fraction.
    pub supply_wander: f64,
    /// Where its wandering stands at the bench's start, in turns.
    pub supply_phase: f64,
    /// Whether the cell's switch opens the reference electrode while the cell is driven. A board that was
    /// built with R17 at mid does not.
    pub opens_reference: bool,
    /// Water from the cell's top and from its bottom to where the reference stands, as multiples of the water
    /// between them.
    pub to_reference: [f64; 2],
    /// Capacitance of the screen of the reference's cable to what stands about it, in F: none but on a board
    /// [as built](Truth::as_built).
    pub reference_screen_f: f64,
    /// The clock chip's rate error, in parts per million.
    pub clock_ppm: f64,
    /// Resistance of the glass membrane at 25 °C, in MΩ.
    pub membrane_mohm: f64,
    /// What the water's motion does to the junction in a buffer, in mV.
    pub stir_mv: f64,
}

impl Truth {
    /// The parameters that belong to a seed: a healthy electrode, cell and front end, each part
    /// within its tolerance.
    pub fn seeded(seed: u64) -> Self {
        let mut random = Random::new(seed, 0x7275_7468);
        let mut within = |middle: f64, half: f64| middle + random.between(-half, half);
        let resistor = |nominal: f64, tolerance: f64| nominal * tolerance;
        Self {
            offset_mv: within(0.0, 15.0),
            slope: within(0.9875, 0.0175),
            glass_fast_s: within(1.5, 0.4),
            glass_slow_s: within(10.0, 3.0),
            glass_fast_part: within(0.9, 0.05),
            wander_mv: 0.02,
            wander_s: 20.0,
            hum_mv: within(2.0, 1.0),
            mains_hz: mains_hz(seed),
            hum_phase: within(0.0, core::f64::consts::PI),
            glass_warming_s: within(8.0, 2.0),
            thermometer_s: within(4.0, 1.0),
            // Class B of IEC 60751 is ±0.12 % at 0 °C (REFERENCES 13); a better half of it.
            thermometer_r0: resistor(1_000.0, within(1.0, 0.0006)),
            thermistor_r25: None,
            thermometer_gain: thermometer_gain(seed),
            reference_off_k: reference_off_k(seed),
            cell_per_cm: within(1.0, 0.08),
            leak_us: leak_us(seed),
            cell_filling_s: within(2.0, 0.5),
            lead_ohm: 0.5,
            polarisation_ohm: within(0.5, 0.2),
            polarisation_power: within(0.6, 0.1),
            resistors: RESISTORS.map(|part| resistor(part.value, within(1.0, part.tolerance))),
            adc_rate: within(1.0, chips::ADC_CLOCK_ERROR),
            adc_gain_error: within(0.0, chips::ADC_GAIN_ERROR),
            adc_offset_codes: within(0.0, chips::ADC_OFFSET_CODES),
            adc_bend_codes: drawn(seed, 0x6265_6e64, chips::ADC_LINEARITY_CODES),
            adc_noise_codes: chips::ADC_NOISE_CODES,
            electrode_load: libm::fabs(drawn(seed, 0x6c6f_6164, network::ELECTRODE_LOAD)),
            electrometer_offset_mv: drawn(seed, 0x6f66_6673, 1e3 * chips::ELECTROMETER_OFFSET_V),
            bias_a: drawn(seed, 0x6269_6173, chips::ELECTROMETER_BIAS_A),
            switch_leakage_a: drawn(seed, 0x7377_6c6b, chips::SWITCH_LEAKAGE_A),
            supply_wander: surroundings::SUPPLY_WANDER,
            supply_phase: drawn(seed, 0x7375_7070, 0.5),
            opens_reference: true,
            to_reference: surroundings::TO_REFERENCE,
            reference_screen_f: 0.0,
            clock_ppm: within(0.0, 2.0),
            // 50 to 500 MΩ at 25 °C are usual (common practice, no source).
            membrane_mohm: within(150.0, 90.0),
            stir_mv: within(0.15, 0.05),
        }
    }
}

impl Truth {
    /// The same with an electrometer and a converter that add nothing to what they see.
    #[must_use]
    pub fn with_exact_input(self) -> Self {
        Self {
            adc_gain_error: 0.0,
            adc_offset_codes: 0.0,
            adc_bend_codes: 0.0,
            electrode_load: 0.0,
            electrometer_offset_mv: 0.0,
            bias_a: 0.0,
            switch_leakage_a: 0.0,
            ..self
        }
    }

    /// The same on a board as somebody built it, by the surroundings of the budget: each resistor shifted by soldering
    /// and aged, for good, and a reference electrode anywhere that it may stand in the cell's water, whose cable is
    /// led by itself.
    ///
    /// The bench's own board has resistors as they were bought, so that what it reads stays what it was for each
    /// seed.
    #[must_use]
    pub fn as_built(self, seed: u64) -> Self {
        let mut random = Random::new(seed, 0x6275_696c);
        let resistors = self.resistors.map(|ohm| {
            let by = |limit: f64| 1.0 + random.between(-limit, limit);
            ohm * [surroundings::SOLDERING, surroundings::AGEING].map(by).iter().product::<f64>()
        });
        // Every ratio as likely as its double.
        let mut in_ratio = |from: f64, to: f64| from * libm::pow(to / from, random.unit());
        let [near, far] = surroundings::REFERENCE_NEARER;
        let nearer = in_ratio(near, far);
        let other = nearer * in_ratio(1.0, surroundings::REFERENCE_LOPSIDED);
        let is_top = random.unit() < 0.5;
        let to_reference = if is_top { [nearer, other] } else { [other, nearer] };
        Self {
            resistors,
            to_reference,
            reference_screen_f: surroundings::REFERENCE_CABLE_F,
            ..self
        }
    }

    /// The same on a board that is so many K warmer than before; the parts of each seed drift in their
    /// own way, within their limits.
    #[must_use]
    pub fn with_warmer_board(self, seed: u64, board_k: f64) -> Self {
        let by = |stream, limit| drawn(seed, stream, limit) * board_k;
        let mut resistors = self.resistors;
        for ((ohm, part), stream) in resistors.iter_mut().zip(RESISTORS).zip(0x6472_6974..) {
            *ohm *= 1.0 + by(stream, part.drift_per_k);
        }
        let drift_v = by(0x6472_6f66, chips::ELECTROMETER_DRIFT_V_PER_K);
        Self {
            resistors,
            adc_gain_error: self.adc_gain_error + by(0x6472_6761, chips::ADC_GAIN_DRIFT_PER_K),
            electrometer_offset_mv: self.electrometer_offset_mv + 1e3 * drift_v,
            // Twice as much every 10 K.
            bias_a: self.bias_a * libm::exp2(board_k / 10.0),
            switch_leakage_a: self.switch_leakage_a * libm::exp2(board_k / 10.0),
            ..self
        }
    }

    /// The same with a thermistor of 10 kΩ, 3934 K between 25 and 50 °C, within 1 % of that.
    #[must_use]
    pub fn with_thermistor(self, seed: u64) -> Self {
        let tolerance = Random::new(seed, 0x006e_7463).between(-0.01, 0.01);
        Self { thermistor_r25: Some(10_000.0 * (1.0 + tolerance)), ..self }
    }

    /// Resistance of the thermometer in Ω at the temperature that it shows, in °C.
    pub(crate) fn thermometer_ohm(&self, celsius: f64) -> Option<f64> {
        match self.thermistor_r25 {
            Some(r25) => Some(thermistor_ohm(r25, celsius)),
            None => rtd::resistance(Celsius::new(celsius), Ohms::new(self.thermometer_r0))
                .map(Ohms::get)
                .ok(),
        }
    }
}

/// A thermistor as it is, which no beta equation quite follows: 1/T = A + B·x + C·x³ with x = ln(R) of
/// a 10 kΩ one (Steinhart and Hart), solved for x. The coefficients go through 32 650, 10 000 and
/// 3603 Ω at 0, 25 and 50 °C (an illustration, no standard: computed).
fn thermistor_ohm(r25: f64, celsius: f64) -> f64 {
    const A: f64 = 1.125_256_67e-3;
    const B: f64 = 2.347_204_47e-4;
    const C: f64 = 8.563_052_73e-8;
    let half = 0.5 * (A - 1.0 / Celsius::new(celsius).kelvin()) / C;
    let third = B / (3.0 * C);
    let root = libm::sqrt(third * third * third + half * half);
    let x = libm::cbrt(root - half) - libm::cbrt(root + half);
    r25 * libm::exp(x) / 10_000.0
}

/// Anything within a limit of a part or chip, which is no more than that.
fn drawn(seed: u64, stream: u64, limit: f64) -> f64 {
    Random::new(seed, stream).between(-limit, limit)
}

/// Class B of IEC 60751 lets the error grow by 0.005 per kelvin (REFERENCES 13); a better half of it.
fn thermometer_gain(seed: u64) -> f64 {
    Random::new(seed, 0x6761_696e).between(-0.0025, 0.0025)
}

/// A dry connector leaks through 10 MΩ or more (common practice, no source).
fn leak_us(seed: u64) -> f64 {
    Random::new(seed, 0x6c65_616b).between(0.0, 0.1)
}

/// A reference thermometer with a certificate, good to some 0.02 K (common practice, no source).
fn reference_off_k(seed: u64) -> f64 {
    0.02 * Random::new(seed, 0x7265_6665).normal()
}

/// A grid is never quite on 50 Hz: 0.02 to 0.1 Hz beside it (common practice, no source). On it, an
/// average over whole periods would show nothing of any hum.
fn mains_hz(seed: u64) -> f64 {
    let mut random = Random::new(seed, 0x6d61_696e);
    let beside = random.between(0.02, 0.1);
    if random.unit() < 0.5 { 50.0 - beside } else { 50.0 + beside }
}

#[cfg(test)]
mod tests {
    use super::{RESISTORS, Truth, thermistor_ohm};

    /// 19 900, 12 490, 8057 and 5327 Ω are 10.001, 20.005, 29.999 and 39.998 °C of this curve
    /// (computed with another program); 1e-3 K is some 5e-5 of the resistance.
    #[test]
    fn a_thermistor_follows_its_curve_and_not_a_beta() {
        for (celsius, ohm) in
            [(0.0, 32_650.0), (10.001, 19_900.0), (20.005, 12_490.0), (39.998, 5_327.0)]
        {
            let got = thermistor_ohm(10_000.0, celsius);
            assert!((got / ohm - 1.0).abs() < 5e-5, "{got} for {ohm}");
            assert!((thermistor_ohm(9_900.0, celsius) / got - 0.99).abs() < 1e-12);
        }
        let r25 = |seed| Truth::seeded(seed).with_thermistor(seed).thermistor_r25.unwrap();
        assert!((0..50).all(|seed| (9_900.0..=10_100.0).contains(&r25(seed))));
    }

    #[test]
    fn every_seed_stays_within_its_tolerances() {
        for seed in 0..200 {
            let truth = Truth::seeded(seed);
            for (is, part) in truth.resistors.iter().zip(RESISTORS) {
                assert!((is / part.value - 1.0).abs() <= part.tolerance, "{seed}: {is}");
            }
            assert!((truth.adc_rate - 1.0).abs() <= 0.1);
            assert!((0.970..=1.005).contains(&truth.slope));
        }
        assert_eq!(Truth::seeded(3), Truth::seeded(3));
        assert_ne!(Truth::seeded(3), Truth::seeded(4));
    }
}
