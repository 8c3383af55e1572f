//! Simulated time: nanoseconds since the bench was built, moved only by the executor.

use std::cell::Cell;
use std::future::Future;
use std::pin::Pin;
use std::rc::Rc;
use std::task::{Context, Poll};

use rillmark_firmware::parts::{Condition, Uptime};

/// Nanoseconds in a millisecond.
pub(crate) const NS_PER_MS: u64 = 1_000_000;
/// Nanoseconds in a second.
pub(crate) const NS_PER_S: u64 = 1_000_000_000;

/// The bench's clock, shared by everything on it.
#[derive(Clone, Debug)]
pub(crate) struct Clock {
    shared: Rc<Times>,
}

#[derive(Debug)]
struct Times {
    now: Cell<u64>,
    /// The nearest moment that a pending future waits for.
    next: Cell<u64>,
}

impl Clock {
    pub(crate) fn new() -> Self {
        Self { shared: Rc::new(Times { now: Cell::new(0), next: Cell::new(u64::MAX) }) }
    }

    /// Nanoseconds since the bench was built.
    pub(crate) fn now(&self) -> u64 {
        self.shared.now.get()
    }

    /// Moves time on; never back.
    pub(crate) fn advance_to(&self, ns: u64) {
        self.shared.now.set(ns.max(self.now()));
    }

    /// Forgets who waits, before futures are asked again.
    pub(crate) fn forget_waits(&self) {
        self.shared.next.set(u64::MAX);
    }

    /// The nearest moment that somebody waits for; `u64::MAX` when nobody does.
    pub(crate) fn next(&self) -> u64 {
        self.shared.next.get()
    }

    /// A future that is ready `ns` from now.
    pub(crate) fn sleep(&self, ns: u64) -> Sleep<'_> {
        Sleep { clock: self, until: self.now().saturating_add(ns) }
    }
}

/// Waits for a moment of simulated time.
#[derive(Debug)]
pub(crate) struct Sleep<'a> {
    clock: &'a Clock,
    until: u64,
}

impl Future for Sleep<'_> {
    type Output = ();

    fn poll(self: Pin<&mut Self>, _: &mut Context<'_>) -> Poll<()> {
        if self.clock.now() >= self.until {
            return Poll::Ready(());
        }
        let next = &self.clock.shared.next;
        next.set(next.get().min(self.until));
        Poll::Pending
    }
}

impl embedded_hal_async::delay::DelayNs for Clock {
    async fn delay_ns(&mut self, ns: u32) {
        self.sleep(u64::from(ns)).await;
    }

    async fn delay_us(&mut self, us: u32) {
        self.sleep(u64::from(us) * 1_000).await;
    }

    async fn delay_ms(&mut self, ms: u32) {
        self.sleep(u64::from(ms) * NS_PER_MS).await;
    }
}

/// The board's monotonic clock: counts from its start.
#[derive(Clone, Debug)]
pub(crate) struct SinceStart {
    pub(crate) clock: Clock,
    pub(crate) start: u64,
}

impl Uptime for SinceStart {
    fn now_us(&self) -> u64 {
        (self.clock.now() - self.start) / 1_000
    }

    /// The bench has neither watchdog nor lamp.
    fn alive(&self, _condition: Condition) {}
}
