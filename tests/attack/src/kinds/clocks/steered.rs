//! A line to the virtual bench whose clocks we steer.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::rc::Rc;

use rillmark::link::virtual_link::VirtualLink;
use rillmark::link::{Link, LinkError};

use super::Arrival;
use crate::truth::{Number, readings};

/// What happens to the computer at a moment of the bench.
#[derive(Clone, Copy, Debug)]
pub(super) enum Step {
    /// Its clock is set by so many ms.
    Set(i64),
    /// It sleeps for so many ms: its monotonic clock stands, and what comes waits.
    Sleep(u64),
}

/// A line whose clocks we steer.
pub(super) struct Steered {
    pub(super) line: VirtualLink,
    pub(super) steps: Vec<(u64, Step)>,
    /// How far UTC is set off, and for how long the monotonic clock stood.
    pub(super) set_ms: i64,
    pub(super) slept_ms: u64,
    /// Number of the run of the log.
    pub(super) run: usize,
    pub(super) came: Rc<RefCell<BTreeMap<Number, Arrival>>>,
    /// Bytes of a frame on its way.
    pub(super) open: Vec<u8>,
}

impl Steered {
    /// Does what is due; the bytes that came meanwhile are handed out later.
    fn step(&mut self) {
        let now = self.line.monotonic_ms();
        while let Some((_, step)) = self.steps.pop_if(|(at, _)| *at <= now) {
            match step {
                Step::Set(by_ms) => self.set_ms += by_ms,
                Step::Sleep(ms) => {
                    self.line.wait(ms);
                    self.slept_ms += ms;
                }
            }
        }
    }
}

impl Link for Steered {
    fn receive(&mut self, into: &mut [u8], patience_ms: u64) -> Result<usize, LinkError> {
        self.step();
        let next = self.steps.last().map_or(u64::MAX, |(at, _)| *at);
        let patience = patience_ms.min(next.saturating_sub(self.line.monotonic_ms()).max(1));
        let count = self.line.receive(into, patience)?;
        self.open.extend(&into[..count]);
        if let Some(end) = self.open.iter().rposition(|byte| *byte == 0) {
            let rest = self.open.split_off(end + 1);
            let whole = std::mem::replace(&mut self.open, rest);
            for (number, _) in readings(&whole) {
                let (utc_ms, set_ms) = (self.utc_ms(), self.set_ms);
                let slept_ms = self.slept_ms as i64;
                let arrival = Arrival { utc_ms, set_ms, slept_ms, run: self.run };
                self.came.borrow_mut().insert(number, arrival);
            }
        }
        Ok(count)
    }

    fn send(&mut self, bytes: &[u8]) -> Result<(), LinkError> {
        self.line.send(bytes)
    }

    fn reopen(&mut self) -> Result<(), LinkError> {
        self.line.reopen()
    }

    fn monotonic_ms(&self) -> u64 {
        self.line.monotonic_ms() - self.slept_ms
    }

    fn utc_ms(&self) -> i64 {
        self.line.utc_ms().saturating_add(self.set_ms)
    }

    fn wait(&mut self, ms: u64) {
        self.line.wait(ms);
    }

    fn name(&self) -> &str {
        "steered"
    }
}
