//! The board's lamp: what [`Condition::flashes`] says, once a second, while the work goes on.

use embassy_rp::gpio::Output;
use embassy_sync::blocking_mutex::raw::CriticalSectionRawMutex;
use embassy_sync::signal::Signal;
use embassy_time::{Duration, Ticker, Timer};
use rillmark_firmware::parts::Condition;

use super::stack;

static TOLD: Signal<CriticalSectionRawMutex, Condition> = Signal::new();

/// The work goes on, and this is how.
pub(super) fn tell(condition: Condition) {
    TOLD.signal(condition);
}

#[embassy_executor::task]
pub(super) async fn run(mut lamp: Output<'static>) -> ! {
    let mut second = Ticker::every(Duration::from_secs(1));
    let mut stack = 0;
    loop {
        // Dark for as long as nothing is told.
        let condition = TOLD.wait().await;
        for _ in 0..condition.flashes() {
            lamp.set_high();
            Timer::after_millis(30).await;
            lamp.set_low();
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
