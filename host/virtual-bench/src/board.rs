//! The simulated board: what the firmware is handed.

use std::convert::Infallible;
use std::future::poll_fn;
use std::task::Poll;

use embedded_hal::digital::{ErrorType as PinErrorType, OutputPin};
use embedded_hal_async::i2c::{
    ErrorKind, ErrorType as I2cErrorType, I2c, NoAcknowledgeSource, Operation,
};
use embedded_io_async::{ErrorKind as IoErrorKind, ErrorType as IoErrorType, Read, Write};
use rillmark_firmware::parts::{Excitation, Parts, Pins};

use crate::front_end::{Drive, Pin};
use crate::time::{Clock, SinceStart};
use crate::world::Handle;

/// One bit on the I2C bus at 400 kHz, in ns.
const BIT_NS: u64 = 2_500;

/// The parts of a board that starts now.
pub(crate) fn parts(handle: &Handle) -> Parts<Bus, Wire, Generator, SinceStart, Clock> {
    let wire = |pin| Wire { handle: handle.clone(), pin };
    Parts {
        i2c: Bus { handle: handle.clone() },
        pins: Pins {
            range_low: wire(Pin::RangeLow),
            range_high: wire(Pin::RangeHigh),
            tap_low: wire(Pin::TapLow),
            tap_high: wire(Pin::TapHigh),
            cell: wire(Pin::Cell),
            power_not: wire(Pin::PowerNot),
        },
        excitation: Generator { handle: handle.clone() },
        uptime: SinceStart { clock: handle.clock.clone(), start: handle.clock.now() },
        delay: handle.clock.clone(),
    }
}

/// The I2C bus: a transaction takes its time on the bus and takes effect at its end.
#[derive(Debug)]
pub(crate) struct Bus {
    handle: Handle,
}

impl I2cErrorType for Bus {
    type Error = ErrorKind;
}

impl I2c for Bus {
    async fn transaction(
        &mut self,
        address: u8,
        operations: &mut [Operation<'_>],
    ) -> Result<(), ErrorKind> {
        let clock = &self.handle.clock;
        let answers = self.handle.world.borrow().answers(address);
        if !answers {
            clock.sleep(11 * BIT_NS).await; // start, address, no acknowledge, stop
            return Err(ErrorKind::NoAcknowledge(NoAcknowledgeSource::Address));
        }
        clock.sleep(bits(operations) * BIT_NS).await;
        let now = clock.now();
        let world = &mut *self.handle.world.borrow_mut();
        let mut written = Vec::new();
        let mut operations = operations.iter_mut().peekable();
        while let Some(operation) = operations.next() {
            match operation {
                Operation::Write(bytes) => {
                    // Adjacent writes are one write without a restart between them.
                    written.extend_from_slice(bytes);
                    if !matches!(operations.peek(), Some(Operation::Write(_))) {
                        world.write(address, &written, now);
                        written.clear();
                    }
                }
                Operation::Read(into) => world.read(address, into, now),
            }
        }
        Ok(())
    }
}

/// Bits on the bus: start, address and stop once per change of direction, nine bits a byte.
fn bits(operations: &[Operation<'_>]) -> u64 {
    let mut bits = 0;
    let mut reading = None;
    for operation in operations {
        let (is_read, length) = match operation {
            Operation::Read(bytes) => (true, bytes.len()),
            Operation::Write(bytes) => (false, bytes.len()),
        };
        if reading != Some(is_read) {
            bits += 11;
            reading = Some(is_read);
        }
        bits += 9 * length as u64;
    }
    bits
}

/// One output pin.
#[derive(Debug)]
pub(crate) struct Wire {
    handle: Handle,
    pin: Pin,
}

impl Wire {
    fn set(&self, high: bool) -> Result<(), Infallible> {
        let now = self.handle.clock.now();
        self.handle.world.borrow_mut().front.set_pin(self.pin, high, now);
        Ok(())
    }
}

impl PinErrorType for Wire {
    type Error = Infallible;
}

impl OutputPin for Wire {
    fn set_low(&mut self) -> Result<(), Infallible> {
        self.set(false)
    }

    fn set_high(&mut self) -> Result<(), Infallible> {
        self.set(true)
    }
}

/// The excitation.
#[derive(Debug)]
pub(crate) struct Generator {
    handle: Handle,
}

impl Generator {
    fn set(&self, drive: Drive) {
        let now = self.handle.clock.now();
        self.handle.world.borrow_mut().front.set_drive(drive, now);
    }
}

impl Excitation for Generator {
    fn start(&mut self, frequency_hz: u32) {
        // A drive of 0 Hz would be a held pin.
        self.set(if frequency_hz == 0 {
            Drive::Parked
        } else {
            Drive::Running { hz: f64::from(frequency_hz) }
        });
    }

    fn park(&mut self) {
        self.set(Drive::Parked);
    }

    fn float(&mut self) {
        self.set(Drive::Floating);
    }
}

/// The probe's end of the line, for reading. A read that is dropped has taken no bytes.
#[derive(Debug)]
pub(crate) struct Receiver {
    pub(crate) handle: Handle,
}

/// The probe's end of the line, for writing.
#[derive(Debug)]
pub(crate) struct Sender {
    pub(crate) handle: Handle,
}

impl IoErrorType for Receiver {
    type Error = IoErrorKind;
}

impl IoErrorType for Sender {
    type Error = IoErrorKind;
}

impl Read for Receiver {
    async fn read(&mut self, into: &mut [u8]) -> Result<usize, IoErrorKind> {
        if into.is_empty() {
            return Ok(0);
        }
        poll_fn(|_| {
            let line = &mut self.handle.world.borrow_mut().line;
            if !line.plugged {
                return Poll::Ready(Err(IoErrorKind::NotConnected));
            }
            let count = into.len().min(line.to_probe.len());
            if count == 0 {
                return Poll::Pending;
            }
            for (to, from) in into.iter_mut().zip(line.to_probe.drain(..count)) {
                *to = from;
            }
            Poll::Ready(Ok(count))
        })
        .await
    }
}

impl Write for Sender {
    async fn write(&mut self, bytes: &[u8]) -> Result<usize, IoErrorKind> {
        let world = &mut *self.handle.world.borrow_mut();
        if !world.line.plugged {
            return Err(IoErrorKind::NotConnected);
        }
        let (dropped, damaged) =
            (world.front.faults.dropped_bytes, world.front.faults.damaged_bytes);
        for &byte in bytes {
            if let Some(byte) = world.line.carry(byte, dropped, damaged) {
                world.line.to_host.push_back(byte);
            }
        }
        Ok(bytes.len())
    }

    async fn flush(&mut self) -> Result<(), IoErrorKind> {
        Ok(())
    }
}

#[cfg(test)]
#[path = "late_tests.rs"]
mod late_tests;
