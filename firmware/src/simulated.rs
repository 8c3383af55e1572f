//! For tests: a board in simulated time that notes what its front end was told, and a line.
//!
//! The physics is as simple as can be (ideal resistors, a constant electrode); the virtual bench has
//! the real thing.

use core::convert::Infallible;
use core::future::{Future, poll_fn};
use core::pin::pin;
use core::task::{Context, Poll, Waker};
use std::cell::RefCell;
use std::collections::VecDeque;
use std::rc::Rc;
use std::vec::Vec;

use embedded_hal::digital::{self, OutputPin};
use embedded_hal_async::delay::DelayNs;
use embedded_hal_async::i2c::{self, I2c, NoAcknowledgeSource, Operation};
use embedded_io_async::{ErrorKind, ErrorType, Read, Write};

use crate::adc::Input;
use crate::constants::{ADC_ADDRESS, CLOCK_ADDRESS};
use crate::parts::{Condition, Excitation, Parts, Pins, Uptime};

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Drive {
    Floating,
    Parked,
    Running(u32),
}

/// A conversion, with the state of the front end at its start.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Conversion {
    pub(crate) at_us: u64,
    pub(crate) input: Input,
    pub(crate) drive: Drive,
    /// Range pins, then tap pins, each high then low.
    pub(crate) switches: [bool; 4],
    pub(crate) is_cell_closed: bool,
    /// Since when the power is on.
    pub(crate) powered_us: Option<u64>,
    /// When the drive last stopped running.
    pub(crate) driven_us: u64,
    /// Since when the board is told that conversions are timed.
    pub(crate) quiet_us: Option<u64>,
}

pub(crate) struct World {
    pub(crate) now_us: u64,
    waits: Vec<u64>,
    state: Conversion,
    pub(crate) conversions: Vec<Conversion>,
    pub(crate) power_switchings: usize,
    pub(crate) is_adc_silent: bool,
    pub(crate) electrode_code: i16,
    pub(crate) electrode_codes_per_s: f64,
    pub(crate) thermometer_ohm: f64,
    pub(crate) cell_ohm: f64,
    pub(crate) clock_status: u8,
    pub(crate) to_probe: VecDeque<u8>,
    pub(crate) from_probe: VecDeque<u8>,
    pub(crate) is_line_dead: bool,
    pub(crate) is_line_stalled: bool,
    /// When the work last went on, the longest time between two such, and the condition told.
    pub(crate) alive_us: u64,
    pub(crate) longest_silence_us: u64,
    pub(crate) condition: Condition,
}

pub(crate) type Shared = Rc<RefCell<World>>;

pub(crate) fn world() -> Shared {
    let state = Conversion {
        at_us: 0,
        input: Input::Electrode,
        drive: Drive::Parked,
        switches: [false; 4],
        is_cell_closed: true,
        powered_us: None,
        driven_us: 0,
        quiet_us: None,
    };
    Rc::new(RefCell::new(World {
        now_us: 0,
        waits: Vec::new(),
        state,
        conversions: Vec::new(),
        power_switchings: 0,
        is_adc_silent: false,
        electrode_code: 1_000,
        electrode_codes_per_s: 0.0,
        thermometer_ohm: 1_100.0,
        cell_ohm: 5_000.0,
        clock_status: 0,
        to_probe: VecDeque::new(),
        from_probe: VecDeque::new(),
        is_line_dead: false,
        is_line_stalled: false,
        alive_us: 0,
        longest_silence_us: 0,
        condition: Condition::default(),
    }))
}

impl World {
    fn code(&self) -> i16 {
        let Some(last) = self.conversions.last() else { return 0 };
        if last.input == Input::Electrode {
            let moved = self.electrode_codes_per_s * last.at_us as f64 * 1e-6;
            return self.electrode_code.saturating_add(moved as i16);
        }
        let (resistor, load) = match last.switches {
            [false, false, ..] => (1e3, self.cell_ohm),
            [false, true, ..] => (1e4, self.cell_ohm),
            [true, false, ..] => (1e5, self.cell_ohm),
            [true, true, ..] => (2e3, self.thermometer_ohm),
        };
        let (Drive::Running(_), true) = (last.drive, last.powered_us.is_some()) else { return 0 };
        match last.switches {
            [.., false, false] => 25_600,
            [.., false, true] => (25_600.0 * load / (resistor + load)) as i16,
            _ => 0,
        }
    }
}

/// Polls a future in simulated time until it is done, or until this time.
pub(crate) fn run_until<F: Future>(world: &Shared, until_us: u64, future: F) -> Option<F::Output> {
    let mut future = pin!(future);
    poll_until(world, until_us, |context| future.as_mut().poll(context))
}

pub(crate) fn poll_until<T>(
    world: &Shared,
    until_us: u64,
    mut poll: impl FnMut(&mut Context<'_>) -> Poll<T>,
) -> Option<T> {
    loop {
        world.borrow_mut().waits.clear();
        // Whoever wakes the task is seen a microsecond later.
        if let Poll::Ready(value) = poll(&mut Context::from_waker(Waker::noop())) {
            return Some(value);
        }
        let world = &mut *world.borrow_mut();
        if world.now_us >= until_us {
            return None;
        }
        let next = world.waits.iter().copied().min().unwrap_or(u64::MAX);
        // Ten polls a millisecond at the least, for those who wait for each other.
        world.now_us = next.clamp(world.now_us + 1, world.now_us + 100).min(until_us);
    }
}

#[derive(Clone)]
pub(crate) struct Clock(Shared);

impl Uptime for Clock {
    fn now_us(&self) -> u64 {
        self.0.borrow().now_us
    }

    fn alive(&self, condition: Condition) {
        let world = &mut *self.0.borrow_mut();
        world.longest_silence_us = world.longest_silence_us.max(world.now_us - world.alive_us);
        world.alive_us = world.now_us;
        world.condition = condition;
        let since_us = world.state.quiet_us.unwrap_or(world.now_us);
        world.state.quiet_us = condition.is_converting.then_some(since_us);
    }
}

impl DelayNs for Clock {
    async fn delay_ns(&mut self, ns: u32) {
        let deadline = self.now_us() + u64::from(ns).div_ceil(1_000);
        poll_fn(|_| {
            let world = &mut *self.0.borrow_mut();
            if world.now_us >= deadline {
                return Poll::Ready(());
            }
            world.waits.push(deadline);
            Poll::Pending
        })
        .await;
    }
}

pub(crate) struct Generator(Shared);

impl Generator {
    fn set(&self, drive: Drive) {
        let world = &mut *self.0.borrow_mut();
        if matches!(world.state.drive, Drive::Running(_)) {
            world.state.driven_us = world.now_us;
        }
        world.state.drive = drive;
    }
}

impl Excitation for Generator {
    fn start(&mut self, frequency_hz: u32) {
        self.set(Drive::Running(frequency_hz));
    }
    fn park(&mut self) {
        self.set(Drive::Parked);
    }
    fn float(&mut self) {
        self.set(Drive::Floating);
    }
}

pub(crate) enum Pin {
    Switch(usize, Shared),
    Cell(Shared),
    PowerNot(Shared),
}

impl digital::ErrorType for Pin {
    type Error = Infallible;
}

impl Pin {
    fn set(&mut self, high: bool) {
        match self {
            Self::Switch(at, world) => world.borrow_mut().state.switches[*at] = high,
            Self::Cell(world) => world.borrow_mut().state.is_cell_closed = high,
            Self::PowerNot(world) => {
                let world = &mut *world.borrow_mut();
                if world.state.powered_us.is_some() == high {
                    world.power_switchings += 1;
                    world.state.powered_us = (!high).then_some(world.now_us);
                }
            }
        }
    }
}

impl OutputPin for Pin {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.set(false);
        Ok(())
    }
    fn set_high(&mut self) -> Result<(), Infallible> {
        self.set(true);
        Ok(())
    }
}

pub(crate) struct Bus(Shared);

impl i2c::ErrorType for Bus {
    type Error = i2c::ErrorKind;
}

impl I2c for Bus {
    async fn transaction(
        &mut self,
        address: u8,
        operations: &mut [Operation<'_>],
    ) -> Result<(), i2c::ErrorKind> {
        let mut clock = Clock(Rc::clone(&self.0));
        clock.delay_us(100).await;
        let world = &mut *self.0.borrow_mut();
        if address == ADC_ADDRESS && world.is_adc_silent {
            return Err(i2c::ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address));
        }
        match (address, operations) {
            (ADC_ADDRESS, [Operation::Write([1, high, low])]) => {
                let config = u16::from_be_bytes([*high, *low]);
                let mut inputs = [Input::Electrode, Input::Holds].into_iter();
                let input = inputs.find(|input| input.config() == config).unwrap();
                world.state.input = input;
                world.conversions.push(Conversion { at_us: world.now_us, ..world.state });
            }
            (ADC_ADDRESS, [Operation::Write([0]), Operation::Read(bytes)]) => {
                assert!(world.now_us - world.conversions.last().unwrap().at_us >= 1_292);
                bytes.copy_from_slice(&world.code().to_be_bytes());
            }
            (ADC_ADDRESS, [Operation::Write([1]), Operation::Read(bytes)]) => {
                bytes.copy_from_slice(&world.state.input.config().to_be_bytes());
            }
            (CLOCK_ADDRESS, [Operation::Write([0x0f]), Operation::Read(bytes)]) => {
                bytes.copy_from_slice(&[world.clock_status]);
            }
            _ => return Err(i2c::ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address)),
        }
        Ok(())
    }
}

pub(crate) fn parts(world: &Shared) -> Parts<Bus, Pin, Generator, Clock, Clock> {
    let pin = |at| Pin::Switch(at, Rc::clone(world));
    Parts {
        i2c: Bus(Rc::clone(world)),
        pins: Pins {
            range_high: pin(0),
            range_low: pin(1),
            tap_high: pin(2),
            tap_low: pin(3),
            cell: Pin::Cell(Rc::clone(world)),
            power_not: Pin::PowerNot(Rc::clone(world)),
        },
        excitation: Generator(Rc::clone(world)),
        uptime: Clock(Rc::clone(world)),
        delay: Clock(Rc::clone(world)),
    }
}

/// Either direction of the line.
pub(crate) struct Line(pub(crate) Shared);

impl ErrorType for Line {
    type Error = ErrorKind;
}

impl Read for Line {
    async fn read(&mut self, into: &mut [u8]) -> Result<usize, ErrorKind> {
        poll_fn(|_| {
            let world = &mut *self.0.borrow_mut();
            if world.is_line_dead {
                return Poll::Ready(Err(ErrorKind::NotConnected));
            }
            let len = into.len().min(world.to_probe.len());
            for (to, from) in into.iter_mut().zip(world.to_probe.drain(..len)) {
                *to = from;
            }
            if len > 0 { Poll::Ready(Ok(len)) } else { Poll::Pending }
        })
        .await
    }
}

impl Write for Line {
    async fn write(&mut self, bytes: &[u8]) -> Result<usize, ErrorKind> {
        poll_fn(|_| {
            let world = &mut *self.0.borrow_mut();
            if world.is_line_dead {
                return Poll::Ready(Err(ErrorKind::NotConnected));
            }
            if world.is_line_stalled {
                return Poll::Pending;
            }
            // In pieces, as a real line may.
            let len = bytes.len().min(7);
            world.from_probe.extend(&bytes[..len]);
            Poll::Ready(Ok(len))
        })
        .await
    }

    async fn flush(&mut self) -> Result<(), ErrorKind> {
        Ok(())
    }
}
