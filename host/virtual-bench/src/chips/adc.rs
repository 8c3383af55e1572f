//! The converter: 16 bits, delta-sigma, four inputs, on I2C (ADS1115 class, register map after its
//! data sheet).
//!
//! A conversion integrates its input over one period of the data rate on the chip's own loose
//! clock. Its outcome is worked out when it starts, from the network as it is then: who switches
//! the network during a conversion sees the old state. The comparator is kept in the register but
//! has no pin.

use rillmark_proto::circuit::chips;

use crate::front_end::{FrontEnd, Input};
use crate::random::Random;
use crate::truth::Truth;

/// Configuration after power-on.
const RESET: u16 = 0x8583;
/// Write: start a single conversion. Read: no conversion is running.
const START: u16 = 1 << 15;
/// Power-down and single-shot mode.
const SINGLE_SHOT: u16 = 1 << 8;
/// Full scale in V of each gain setting.
const FULL_SCALE_V: [f64; 8] =
    [6.144, 4.096, 2.048, chips::ADC_TAPS_V, chips::ADC_ELECTRODE_V, 0.256, 0.256, 0.256];
/// Conversions per second of each data rate setting.
const RATE_HZ: [f64; 8] = [8.0, 16.0, 32.0, 64.0, 128.0, 250.0, 475.0, 860.0];
/// From power-down to a running conversion, in s.
const WAKE_S: f64 = 25e-6;

/// The pairs that the multiplexer can take.
const PAIRS: [(Input, Input); 8] = [
    (Input::Electrode, Input::Mid),
    (Input::Electrode, Input::NegativeHold),
    (Input::Mid, Input::NegativeHold),
    (Input::PositiveHold, Input::NegativeHold),
    (Input::Electrode, Input::Ground),
    (Input::Mid, Input::Ground),
    (Input::PositiveHold, Input::Ground),
    (Input::NegativeHold, Input::Ground),
];

#[derive(Clone, Copy, Debug, PartialEq)]
enum State {
    PoweredDown,
    Single { ready_ns: u64, code: i16 },
    Continuous { start_ns: u64, finished: u64 },
}

/// The converter.
#[derive(Debug)]
pub(crate) struct Converter {
    pointer: u8,
    config: u16,
    thresholds: [u16; 2],
    conversion: i16,
    state: State,
    random: Random,
}

impl Converter {
    pub(crate) fn new(seed: u64) -> Self {
        Self {
            pointer: 0,
            config: RESET,
            thresholds: [0x8000, 0x7FFF],
            conversion: 0,
            state: State::PoweredDown,
            random: Random::new(seed, 2),
        }
    }

    /// Back to the state after power-on; the noise goes on.
    pub(crate) fn reset(&mut self) {
        let random = self.random.clone();
        *self = Self { random, ..Self::new(0) };
    }

    /// A write transaction: pointer, then the register's two bytes where given.
    pub(crate) fn write(&mut self, bytes: &[u8], now_ns: u64, front: &mut FrontEnd) {
        self.settle(now_ns, front);
        if let Some(&pointer) = bytes.first() {
            self.pointer = pointer & 3;
        }
        let [_, high, low, ..] = *bytes else {
            return;
        };
        let value = u16::from_be_bytes([high, low]);
        match self.pointer {
            1 => self.configure(value, now_ns, front),
            2 => self.thresholds[0] = value,
            3 => self.thresholds[1] = value,
            _ => {} // the conversion register is read-only
        }
    }

    /// A read transaction: the two bytes of the register under the pointer, again and again.
    pub(crate) fn read(&mut self, into: &mut [u8], now_ns: u64, front: &mut FrontEnd) {
        self.settle(now_ns, front);
        let value = match self.pointer {
            0 => self.conversion.cast_unsigned(),
            1 => {
                let running = !matches!(self.state, State::PoweredDown);
                self.config & !START | if running { 0 } else { START }
            }
            2 => self.thresholds[0],
            _ => self.thresholds[1],
        };
        let bytes = value.to_be_bytes();
        for (to, from) in into.iter_mut().zip(bytes.iter().cycle()) {
            *to = *from;
        }
    }

    fn period_s(&self, truth: &Truth) -> f64 {
        1.0 / (RATE_HZ[usize::from(self.config >> 5 & 7)] * truth.adc_rate)
    }

    fn configure(&mut self, value: u16, now_ns: u64, front: &mut FrontEnd) {
        let start = value & START != 0;
        // A start while a single conversion runs has no effect, nor has anything on its outcome.
        let running = matches!(self.state, State::Single { .. });
        self.config = value & !START;
        if value & SINGLE_SHOT == 0 {
            self.state = State::Continuous { start_ns: now_ns, finished: 0 };
        } else if !running {
            self.state = State::PoweredDown;
            if start {
                let from = now_ns + (WAKE_S * 1e9) as u64;
                let ready_ns = from + (self.period_s(&front.truth) * 1e9) as u64;
                let code = self.convert(from, ready_ns, front);
                self.state = State::Single { ready_ns, code };
            }
        }
    }

    /// Brings the state up to a moment.
    fn settle(&mut self, now_ns: u64, front: &mut FrontEnd) {
        match self.state {
            State::PoweredDown => {}
            State::Single { ready_ns, code } => {
                if now_ns >= ready_ns {
                    self.conversion = code;
                    self.state = State::PoweredDown;
                }
            }
            State::Continuous { start_ns, finished } => {
                let period = (self.period_s(&front.truth) * 1e9) as u64;
                let count = (now_ns - start_ns) / period;
                if count > finished {
                    let end = start_ns + count * period;
                    self.conversion = self.convert(end - period, end, front);
                    self.state = State::Continuous { start_ns, finished: count };
                }
            }
        }
    }

    /// One conversion over a window, with gain error, offset, bend, noise, rounding and clipping.
    fn convert(&mut self, from_ns: u64, to_ns: u64, front: &mut FrontEnd) -> i16 {
        let pair = PAIRS[usize::from(self.config >> 12 & 7)];
        let volts = front.differential_v(pair, from_ns, to_ns);
        let truth = &front.truth;
        let part = volts / FULL_SCALE_V[usize::from(self.config >> 9 & 7)];
        let code = part * chips::ADC_CODES * (1.0 + truth.adc_gain_error)
            + truth.adc_offset_codes
            + truth.adc_bend_codes * bend(part)
            + truth.adc_noise_codes * self.random.normal();
        libm::round(code.clamp(-chips::ADC_CODES, chips::ADC_CODES - 1.0)) as i16
    }
}

/// How far a line with its ends and its middle where they belong is bent at a part of the full scale:
/// a cubic that reaches 1 either way, at 1/√3.
fn bend(part: f64) -> f64 {
    1.5 * libm::sqrt(3.0) * part * (1.0 - part * part)
}

#[cfg(test)]
mod tests;
