//! The board: what it has, and the tasks that run on it.

mod bus;
mod excitation;
mod flash;
mod lamp;
mod last_words;
mod stack;
mod time;
mod usb;

use defmt_rtt as _;
use embassy_executor::Spawner;
use embassy_rp::Peri;
use embassy_rp::gpio::{AnyPin, Input, Level, Output, Pull};
use embassy_rp::watchdog::Watchdog;
use rillmark_firmware::parts::{Parts, Pins};
use rillmark_firmware::service::{self, Identity};
use rillmark_pico::{partition, take_pins};

type FrontEnd = Parts<bus::Bus, Output<'static>, excitation::Pio, time::Time, embassy_time::Delay>;

#[embassy_executor::main]
async fn main(spawner: Spawner) {
    if let Some(core) = cortex_m::Peripherals::take() {
        stack::guard_and_paint(&core.MPU);
    }
    let start = last_words::begin();
    let p = embassy_rp::init(embassy_rp::config::Config::default());
    let pins = take_pins!(p);
    let output = |pin: Peri<'static, AnyPin>| Output::new(pin, Level::Low);
    // Before anything that could stand still.
    let uptime = time::Time::start(Watchdog::new(p.WATCHDOG), output(pins.regulator.into()));
    // The clock chip's alarm only ever pulls low.
    let alarm = Input::new(pins.clock_alarm, Pull::Up);
    let mut flash = flash::Flash::new(p.FLASH);
    let board = flash.board_id();
    let (device, rx, tx) = usb::start(p.USB, board);
    let parts = Parts {
        i2c: bus::Bus::new(p.I2C0, pins.i2c_clock, pins.i2c_data),
        pins: Pins {
            range_low: output(pins.range_low.into()),
            range_high: output(pins.range_high.into()),
            tap_low: output(pins.tap_low.into()),
            tap_high: output(pins.tap_high.into()),
            cell: output(pins.cell.into()),
            power_not: Output::new(pins.power_not, Level::High),
        },
        excitation: excitation::Pio::new(p.PIO0, pins.drive, pins.gate_plus, pins.gate_minus),
        uptime,
        delay: embassy_time::Delay,
    };
    spawner.spawn(usb::run(device).expect("spawned once"));
    lamp::connect(output(pins.lamp.into()));
    spawner.spawn(lamp::run().expect("spawned once"));
    let identity = Identity { board, firmware: firmware_version(), start };
    spawner.spawn(serve(identity, parts, flash, rx, tx, alarm).expect("spawned once"));
}

#[embassy_executor::task]
async fn serve(
    identity: Identity,
    parts: FrontEnd,
    flash: flash::Flash,
    rx: usb::Receiver,
    tx: usb::Sender,
    // Nobody asks it yet; dropped, it would lose its pull-up and float.
    _alarm: Input<'static>,
) -> ! {
    service::run(identity, parts, flash, partition::STORE, rx, tx).await
}

/// The package's version.
const fn firmware_version() -> [u8; 3] {
    const fn number(text: &str) -> u8 {
        match u8::from_str_radix(text, 10) {
            Ok(number) => number,
            Err(_) => panic!("a version number above 255"),
        }
    }
    const {
        [
            number(env!("CARGO_PKG_VERSION_MAJOR")),
            number(env!("CARGO_PKG_VERSION_MINOR")),
            number(env!("CARGO_PKG_VERSION_PATCH")),
        ]
    }
}
