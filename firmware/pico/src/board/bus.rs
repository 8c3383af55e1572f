//! The I2C bus, which gives up on a chip that holds it and frees it.

use embassy_rp::gpio::{Level, OutputOpenDrain};
use embassy_rp::i2c::{Config, I2c, InterruptHandler};
use embassy_rp::peripherals::{I2C0, PIN_4, PIN_5};
use embassy_rp::{Peri, bind_interrupts};
use embassy_time::{Duration, Timer, with_timeout};
use embedded_hal_async::i2c::{self, ErrorKind, Operation};

bind_interrupts!(struct Irqs {
    I2C0_IRQ => InterruptHandler<I2C0>;
});

/// Fast mode: both chips can do it.
const FREQUENCY_HZ: u32 = 400_000;
/// The longest transfer is 8 bytes: 0.2 ms. What takes fifty times as long is held by somebody.
const PATIENCE: Duration = Duration::from_millis(10);
/// Half a clock at 100 kHz, the slow mode that every chip understands, in µs.
const HALF_CLOCK_US: u64 = 5;

pub(super) struct Bus {
    i2c: Peri<'static, I2C0>,
    clock: Peri<'static, PIN_5>,
    data: Peri<'static, PIN_4>,
}

impl Bus {
    pub(super) fn new(
        i2c: Peri<'static, I2C0>,
        clock: Peri<'static, PIN_5>,
        data: Peri<'static, PIN_4>,
    ) -> Self {
        Self { i2c, clock, data }
    }

    /// Clocks a chip through the byte in which it stopped, until it lets the data line go (UM10204,
    /// 3.1.16), and ends the transfer.
    async fn free(&mut self) {
        let mut clock = OutputOpenDrain::new(self.clock.reborrow(), Level::High);
        let mut data = OutputOpenDrain::new(self.data.reborrow(), Level::High);
        clock.set_pullup(true);
        data.set_pullup(true);
        for _ in 0..9 {
            Timer::after_micros(HALF_CLOCK_US).await;
            if data.is_high() {
                break;
            }
            clock.set_low();
            Timer::after_micros(HALF_CLOCK_US).await;
            clock.set_high();
        }
        data.set_low();
        Timer::after_micros(HALF_CLOCK_US).await;
        data.set_high();
        Timer::after_micros(HALF_CLOCK_US).await;
    }
}

impl i2c::ErrorType for Bus {
    type Error = ErrorKind;
}

impl i2c::I2c for Bus {
    async fn transaction(
        &mut self,
        address: u8,
        operations: &mut [Operation<'_>],
    ) -> Result<(), ErrorKind> {
        let mut config = Config::default();
        config.frequency = FREQUENCY_HZ;
        // Begun anew each time: a transfer that was given up leaves the controller in its middle, and
        // this takes a few µs.
        let (controller, clock, data) =
            (self.i2c.reborrow(), self.clock.reborrow(), self.data.reborrow());
        let mut i2c = I2c::new_async(controller, clock, data, Irqs, config);
        let done = with_timeout(PATIENCE, i2c::I2c::transaction(&mut i2c, address, operations));
        let kind = match done.await {
            Ok(Ok(())) => return Ok(()),
            Ok(Err(error)) => i2c::Error::kind(&error),
            Err(_) => ErrorKind::Bus,
        };
        // A chip that is not there leaves the bus free.
        if !matches!(kind, ErrorKind::NoAcknowledge(_)) {
            defmt::warn!("I2C bus held, chip {:#04x}", address);
            self.free().await;
        }
        Err(kind)
    }
}
