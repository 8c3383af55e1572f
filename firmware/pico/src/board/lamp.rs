//! The board's lamp: what [`Condition::flashes`] says, once a second, while the work goes on. It is dark
//! while conversions are timed, and a flash then waits for their end.

use core::cell::RefCell;

use embassy_rp::gpio::Output;
use embassy_sync::blocking_mutex::Mutex;
use embassy_sync::blocking_mutex::raw::CriticalSectionRawMutex;
use embassy_sync::signal::Signal;
use embassy_time::{Duration, Ticker, Timer};
use rillmark_firmware::parts::{Condition, Lamp};

use super::stack;

static LAMP: Mutex<CriticalSectionRawMutex, RefCell<Option<(Output<'static>, Lamp)>>> =
    Mutex::new(RefCell::new(None));
static TOLD: Signal<CriticalSectionRawMutex, Condition> = Signal::new();

/// Takes over the lamp's pin.
pub(super) fn connect(pin: Output<'static>) {
    LAMP.lock(|it| *it.borrow_mut() = Some((pin, Lamp::default())));
}

/// Sets the pin to what the lamp makes of this.
fn set(light: impl FnOnce(&mut Lamp) -> bool) {
    LAMP.lock(|it| it.borrow_mut().as_mut().map(|(pin, lamp)| pin.set_level(light(lamp).into())));
}

fn is_quiet() -> bool {
    LAMP.lock(|it| it.borrow().as_ref().is_some_and(|(_, lamp)| lamp.is_quiet()))
}

/// The work goes on, and this is how.
pub(super) fn tell(condition: Condition) {
    set(|lamp| lamp.tell(condition));
    TOLD.signal(condition);
}

/// Waits until something is told while nothing is converted; dark for as long as nothing is.
async fn pause() -> Condition {
    loop {
        let condition = TOLD.wait().await;
        if !condition.is_converting {
            return condition;
        }
    }
}

#[embassy_executor::task]
pub(super) async fn run() -> ! {
    let mut second = Ticker::every(Duration::from_secs(1));
    let mut stack = 0;
    loop {
        let mut condition = pause().await;
        for flash in 0..condition.flashes() {
            // Sampling may have begun since the row did.
            if flash > 0 && (condition.is_sampling || is_quiet()) {
                condition = pause().await;
            }
            set(|lamp| lamp.light(true));
            Timer::after_millis(30).await;
            set(|lamp| lamp.light(false));
            Timer::after_millis(170).await;
        }
        // Not while conversions are timed.
        if !condition.is_sampling {
            let used = stack::most_used();
            if used > stack {
                stack = used;
                defmt::info!("{} bytes of stack used", stack);
            }
        }
        second.next().await;
    }
}
