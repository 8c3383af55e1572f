//! The host's own clocks, for lines that run in real time.

use std::time::{Duration, Instant, SystemTime, UNIX_EPOCH};

/// Monotonic time from its making, and the system's UTC.
#[derive(Debug)]
pub(super) struct HostClock(Instant);

impl HostClock {
    pub(super) fn new() -> Self {
        Self(Instant::now())
    }

    pub(super) fn monotonic_ms(&self) -> u64 {
        u64::try_from(self.0.elapsed().as_millis()).unwrap_or(u64::MAX)
    }

    pub(super) fn utc_ms(&self) -> i64 {
        let ms = |duration: Duration| i64::try_from(duration.as_millis()).unwrap_or(i64::MAX);
        match SystemTime::now().duration_since(UNIX_EPOCH) {
            Ok(since) => ms(since),
            Err(before) => -ms(before.duration()),
        }
    }

    pub(super) fn wait(&self, ms: u64) {
        std::thread::sleep(Duration::from_millis(ms));
    }
}
