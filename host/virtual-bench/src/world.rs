//! Everything of the bench that the firmware's drivers reach, behind one handle.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

use rillmark_firmware::constants::{ADC_ADDRESS, CLOCK_ADDRESS};

use crate::build::BuildFault;
use crate::chips::adc::Converter;
use crate::chips::clock_chip::ClockChip;
use crate::error::BenchError;
use crate::faults::Faults;
use crate::front_end::FrontEnd;
use crate::random::Random;
use crate::time::Clock;
use crate::truth::Truth;
use crate::water::sensors::Sensors;
use crate::water::{Beaker, Content, Source};

/// The chips, the network and the line.
#[derive(Debug)]
pub(crate) struct World {
    pub(crate) adc: Converter,
    pub(crate) clock_chip: ClockChip,
    pub(crate) front: FrontEnd,
    pub(crate) line: Line,
}

impl World {
    /// The chips after power-on, the sensors in air at 20 °C.
    pub(crate) fn new(
        seed: u64,
        truth: Truth,
        clock_unix_s: Option<i64>,
        faults: Faults,
    ) -> Result<Self, BenchError> {
        let beaker = Beaker { content: Content::Air, temperature_c: 20.0 };
        let sensors = Sensors::new(Source::of(&beaker, 0)?, seed);
        let clock_chip = match clock_unix_s {
            Some(unix_s) => ClockChip::keeping(truth.clock_ppm, unix_s),
            None => ClockChip::new(truth.clock_ppm),
        };
        Ok(Self {
            adc: Converter::new(seed),
            clock_chip,
            front: FrontEnd::new(truth, sensors, faults),
            line: Line::new(seed),
        })
    }

    /// The board's power goes: what is not on a battery forgets, what was under way is lost.
    pub(crate) fn power_off(&mut self, now_ns: u64) {
        self.adc.reset();
        self.front.reset(now_ns);
        self.line.to_probe.clear();
        self.line.to_host.clear();
    }

    /// What the reference thermometer beside the sensors says, in °C, read to 0.01 K.
    pub(crate) fn reference_c(&self, now_ns: u64) -> f64 {
        let front = &self.front;
        let says = front.sensors.water(now_ns).temperature_c + front.sound.reference_off_k;
        libm::round(says * 100.0) / 100.0
    }

    /// True when a chip on the bus acknowledges this address.
    pub(crate) fn answers(&self, address: u8) -> bool {
        let has = |fault| self.front.faults.build == Some(fault);
        match address {
            ADC_ADDRESS => !self.front.faults.adc_silent && !has(BuildFault::ConverterAddress),
            CLOCK_ADDRESS => !self.front.faults.clock_silent && !has(BuildFault::ClockMissing),
            _ => false,
        }
    }

    /// A write transaction to a chip that answers.
    pub(crate) fn write(&mut self, address: u8, bytes: &[u8], now_ns: u64) {
        match address {
            ADC_ADDRESS => self.adc.write(bytes, now_ns, &mut self.front),
            _ => self.clock_chip.write(bytes, now_ns),
        }
    }

    /// A read transaction from a chip that answers.
    pub(crate) fn read(&mut self, address: u8, into: &mut [u8], now_ns: u64) {
        match address {
            ADC_ADDRESS => self.adc.read(into, now_ns, &mut self.front),
            _ => self.clock_chip.read(into, now_ns),
        }
    }
}

/// A handle to the bench: the clock and the world.
#[derive(Clone, Debug)]
pub(crate) struct Handle {
    pub(crate) clock: Clock,
    pub(crate) world: Rc<RefCell<World>>,
}

/// The line between host and probe.
#[derive(Debug)]
pub(crate) struct Line {
    pub(crate) to_probe: VecDeque<u8>,
    pub(crate) to_host: VecDeque<u8>,
    pub(crate) plugged: bool,
    pub(crate) random: Random,
}

impl Line {
    pub(crate) fn new(seed: u64) -> Self {
        Self {
            to_probe: VecDeque::new(),
            to_host: VecDeque::new(),
            plugged: true,
            random: Random::new(seed, 3),
        }
    }

    /// Pulls the cable: what was under way is lost.
    pub(crate) fn unplug(&mut self) {
        self.plugged = false;
        self.to_probe.clear();
        self.to_host.clear();
    }

    /// One byte over the line, as the faults leave it.
    pub(crate) fn carry(&mut self, byte: u8, dropped: f64, damaged: f64) -> Option<u8> {
        if dropped > 0.0 && self.random.unit() < dropped {
            return None;
        }
        if damaged > 0.0 && self.random.unit() < damaged {
            return Some(byte ^ 1 << (self.random.bits() & 7));
        }
        Some(byte)
    }
}
