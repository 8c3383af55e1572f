//! Between the two halves of the service: the line half and the work half.
//!
//! Both halves are polled by one task, so whoever changes something wakes that task and both look
//! again; nothing else is needed to signal.

use core::cell::RefCell;
use core::future::poll_fn;
use core::task::Poll;

use heapless::Deque;
use rillmark_proto::reading::Reading;
use rillmark_proto::wire::message::{Answer, Command, FromProbe};

/// Readings that wait for a line which is slow to take them; the oldest makes room for a new one,
/// and the running numbers show it.
const READINGS: usize = 4;

/// What the line half hands to the work half.
#[derive(Clone, Debug, PartialEq)]
#[allow(clippy::large_enum_variant)] // no_std without alloc: nothing to box into
pub(super) enum Request {
    Command(Command),
    /// A whole command whose order this firmware does not know.
    Unknown {
        id: u32,
    },
}

#[derive(Default)]
struct Slots {
    request: Option<Request>,
    answer: Option<Answer>,
    readings: Deque<Reading, READINGS>,
}

/// One place for a request, one for an answer, a few for readings.
#[derive(Default)]
pub(super) struct Exchange(RefCell<Slots>);

/// Lets the task run once more, then goes on.
async fn wake() {
    let mut is_woken = false;
    poll_fn(|context| {
        if is_woken {
            return Poll::Ready(());
        }
        is_woken = true;
        context.waker().wake_by_ref();
        Poll::Pending
    })
    .await;
}

impl Exchange {
    /// Waits until this holds.
    async fn until(&self, holds: impl Fn(&Slots) -> bool) {
        poll_fn(|_| if holds(&self.0.borrow()) { Poll::Ready(()) } else { Poll::Pending }).await;
    }

    // The line half.

    /// Hands over a request, which comes back while another one waits. The same one again while it
    /// still waits is one request, with one answer.
    pub(super) async fn hand_over(&self, request: Request) -> Result<(), Request> {
        {
            let waiting = &mut self.0.borrow_mut().request;
            match waiting {
                Some(waiting) if *waiting == request => {}
                Some(_) => return Err(request),
                None => *waiting = Some(request),
            }
        }
        wake().await;
        Ok(())
    }

    /// Takes what is to be sent next: an answer before readings.
    pub(super) async fn take_message(&self) -> Option<FromProbe> {
        let message = {
            let slots = &mut *self.0.borrow_mut();
            match slots.answer.take() {
                Some(answer) => Some(FromProbe::Answer(answer)),
                None => slots.readings.pop_front().map(FromProbe::Reading),
            }
        };
        if message.is_some() {
            wake().await;
        }
        message
    }

    /// Waits until there is something to be sent.
    pub(super) async fn has_message(&self) {
        self.until(|slots| slots.answer.is_some() || !slots.readings.is_empty()).await;
    }

    /// Waits until there is something to be sent, or room for a request.
    pub(super) async fn has_moved_on(&self) {
        self.until(|slots| {
            slots.request.is_none() || slots.answer.is_some() || !slots.readings.is_empty()
        })
        .await;
    }

    // The work half.

    fn is_due(slots: &Slots) -> bool {
        slots.request.is_some() && slots.answer.is_none()
    }

    /// Takes the request that waits, once the answer before has been sent: a line that takes
    /// nothing holds up its commands, not the sampling.
    pub(super) async fn take_request(&self) -> Option<Request> {
        let request = {
            let slots = &mut *self.0.borrow_mut();
            if Self::is_due(slots) { slots.request.take() } else { None }
        };
        if request.is_some() {
            wake().await;
        }
        request
    }

    /// Waits until [`Self::take_request`] has one.
    pub(super) async fn has_request(&self) {
        self.until(Self::is_due).await;
    }

    /// Gives the answer to the request that was taken.
    pub(super) async fn put_answer(&self, answer: Answer) {
        self.0.borrow_mut().answer = Some(answer);
        wake().await;
    }

    /// Gives a reading to be sent.
    pub(super) async fn put_reading(&self, reading: Reading) {
        {
            let readings = &mut self.0.borrow_mut().readings;
            if readings.is_full() {
                readings.pop_front();
            }
            // There is room now.
            let _ = readings.push_back(reading);
        }
        wake().await;
    }
}
