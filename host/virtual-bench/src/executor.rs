//! Runs one future on simulated time, on this thread, deterministically.

use std::future::Future;
use std::pin::Pin;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::task::{Context, Poll, Wake, Waker};

use crate::time::Clock;

/// How long a future that asks to be polled again at once is kept waiting, in ns: time has to move,
/// or a future that yields until a moment would never see it.
const YIELD_NS: u64 = 1_000;

#[derive(Debug, Default)]
struct Called(AtomicBool);

impl Wake for Called {
    fn wake(self: Arc<Self>) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// The executor of one future.
pub(crate) struct Executor {
    future: Pin<Box<dyn Future<Output = ()>>>,
    called: Arc<Called>,
    waker: Waker,
    ended: bool,
}

impl Executor {
    pub(crate) fn new(future: impl Future<Output = ()> + 'static) -> Self {
        let called = Arc::new(Called::default());
        let waker = Waker::from(Arc::clone(&called));
        Self { future: Box::pin(future), called, waker, ended: false }
    }

    /// Runs until `until` (ns) or until `stop` says so after a poll; true when it did.
    ///
    /// Between two polls time jumps to the nearest moment that anything waits for.
    pub(crate) fn run(&mut self, clock: &Clock, until: u64, stop: impl Fn() -> bool) -> bool {
        loop {
            clock.forget_waits();
            self.called.0.store(false, Ordering::Relaxed);
            if !self.ended {
                let mut context = Context::from_waker(&self.waker);
                self.ended = self.future.as_mut().poll(&mut context) == Poll::Ready(());
            }
            if stop() {
                return true;
            }
            let next = if self.called.0.load(Ordering::Relaxed) {
                clock.next().min(clock.now() + YIELD_NS)
            } else {
                clock.next()
            };
            if next > until {
                clock.advance_to(until);
                return false;
            }
            clock.advance_to(next);
        }
    }
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;
    use std::rc::Rc;

    use super::Executor;
    use crate::time::Clock;

    #[test]
    fn time_jumps_from_wait_to_wait_and_stops_where_told() {
        let clock = Clock::new();
        let seen = Rc::new(RefCell::new(Vec::new()));
        let (inner, log) = (clock.clone(), Rc::clone(&seen));
        let mut executor = Executor::new(async move {
            for _ in 0..3 {
                inner.sleep(100).await;
                log.borrow_mut().push(inner.now());
            }
        });
        assert!(!executor.run(&clock, 250, || false));
        assert_eq!((clock.now(), seen.borrow().as_slice()), (250, [100, 200].as_slice()));
        assert!(executor.run(&clock, 1_000, || seen.borrow().len() == 3));
        assert_eq!(clock.now(), 300);
    }
}
