//! The I2C bus, which gives up on a chip that holds it.

use embassy_rp::i2c::{Async, Config, I2c, InterruptHandler};
use embassy_rp::peripherals::{I2C0, PIN_4, PIN_5};
use embassy_rp::{Peri, bind_interrupts};
use embassy_time::{Duration, with_timeout};
use embedded_hal_async::i2c::{self, ErrorKind, Operation};

bind_interrupts!(struct Irqs {
    I2C0_IRQ => InterruptHandler<I2C0>;
});

/// Fast mode: both chips can do it.
const FREQUENCY_HZ: u32 = 400_000;
/// The longest transfer is 8 bytes: 0.2 ms. What takes fifty times as long is held by somebody.
const PATIENCE: Duration = Duration::from_millis(10);

pub(super) struct Bus {
    i2c: I2c<'static, I2C0, Async>,
}

impl Bus {
    pub(super) fn new(
        i2c: Peri<'static, I2C0>,
        clock: Peri<'static, PIN_5>,
        data: Peri<'static, PIN_4>,
    ) -> Self {
        let mut config = Config::default();
        config.frequency = FREQUENCY_HZ;
        Self { i2c: I2c::new_async(i2c, clock, data, Irqs, config) }
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
        match with_timeout(PATIENCE, self.i2c.transaction(address, operations)).await {
            Ok(Ok(())) => Ok(()),
            Ok(Err(error)) => Err(i2c::Error::kind(&error)),
            Err(_) => Err(ErrorKind::Bus),
        }
    }
}
