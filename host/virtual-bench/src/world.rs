//! Everything of the bench that the firmware's drivers reach, behind one handle.

use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;

use crate::chips::adc::Converter;
use crate::chips::clock_chip::ClockChip;
use crate::front_end::FrontEnd;
use crate::random::Random;
use crate::time::Clock;

/// The chips, the network and the line.
#[derive(Debug)]
pub(crate) struct World {
    pub(crate) adc: Converter,
    pub(crate) clock_chip: ClockChip,
    pub(crate) front: FrontEnd,
    pub(crate) line: Line,
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
