//! The board's time, and the watchdog that sees it go on.

use core::cell::RefCell;

use embassy_rp::gpio::Output;
use embassy_rp::watchdog::Watchdog;
use embassy_time::{Duration, Instant};
use rillmark_firmware::constants::{ALIVE_US, STORE_LONGEST_US};
use rillmark_firmware::parts::{Condition, Uptime};

use super::lamp;

/// The watchdog starts the board anew when the work has not gone on for this long. The longest wait
/// in between is the store's; 8.3 s is the most that the chip can do (RP2040 data sheet, 4.7.2).
const PATIENCE: Duration = Duration::from_millis(8_000);
const _: () = assert!(PATIENCE.as_micros() > STORE_LONGEST_US + ALIVE_US);

pub(super) struct Time {
    watchdog: RefCell<Watchdog>,
    /// High: the regulator switches at one frequency whatever its load, with less ripple for more of its own
    /// current (Raspberry Pi Pico data sheet, "Powerchain"; seen at one remove).
    regulator: RefCell<Output<'static>>,
}

impl Time {
    pub(super) fn start(mut watchdog: Watchdog, regulator: Output<'static>) -> Self {
        watchdog.pause_on_debug(true);
        watchdog.start(PATIENCE);
        Self { watchdog: RefCell::new(watchdog), regulator: RefCell::new(regulator) }
    }
}

impl Uptime for Time {
    fn now_us(&self) -> u64 {
        Instant::now().as_micros()
    }

    fn alive(&self, condition: Condition) {
        self.watchdog.borrow_mut().feed(PATIENCE);
        self.regulator.borrow_mut().set_level(condition.is_converting.into());
        lamp::tell(condition);
    }
}
