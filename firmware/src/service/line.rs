//! The line half: bytes in and out, the hello, and patience with a line that is dead.

use core::convert::Infallible;

use embassy_futures::select::{Either, select};
use embedded_hal_async::delay::DelayNs;
use embedded_io_async::{Read, Write};
use rillmark_proto::wire::frame::{Decoder, Event, MAX_FRAME};
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::{DecodeError, Incoming, decode, encode_from_probe, encode_hello_answer};

use super::exchange::{Exchange, Request};
use crate::constants::WAIT_LINE_MS;

/// What a whole frame asks for.
#[allow(clippy::large_enum_variant)] // no_std without alloc: nothing to box into
enum Asked {
    Hello,
    Request(Request),
}

fn asked(event: Event<'_>) -> Option<Asked> {
    match event {
        Event::Payload(payload) => match decode(&payload) {
            Ok(Incoming::Hello(_)) => Some(Asked::Hello),
            Ok(Incoming::Command(command)) => Some(Asked::Request(Request::Command(command))),
            Err(DecodeError::UnknownOrder { id }) => Some(Asked::Request(Request::Unknown { id })),
            // Not meant for a probe, or not of this version: the hello tells which versions are.
            Ok(_) | Err(_) => None,
        },
        // The host misses the answer and asks again.
        Event::Damage { bytes: _bytes } => {
            #[cfg(feature = "defmt")]
            defmt::warn!("{} damaged bytes on the line", _bytes);
            None
        }
    }
}

/// Both directions of the line.
pub(super) struct Line<R, W, D> {
    pub(super) rx: R,
    pub(super) tx: W,
    pub(super) delay: D,
    pub(super) hello: HelloAnswer,
}

impl<R: Read, W: Write, D: DelayNs> Line<R, W, D> {
    /// Serves the line for ever. While a request waits for another to be taken, nothing more is
    /// read, so nothing is lost.
    pub(super) async fn serve(&mut self, exchange: &Exchange) -> Infallible {
        let mut frame = [0; MAX_FRAME];
        let mut decoder = Decoder::new();
        let mut chunk = [0; 64];
        // Bytes of the chunk that have not been looked at yet.
        let mut unread = 0..0;
        let mut held: Option<Request> = None;
        loop {
            if let Some(message) = exchange.take_message().await {
                if let Ok(len) = encode_from_probe(&message, &mut frame) {
                    self.send(&frame[..len]).await;
                }
                continue;
            }
            if let Some(request) = held.take() {
                if let Err(request) = exchange.hand_over(request).await {
                    held = Some(request);
                    exchange.has_moved_on().await;
                }
                continue;
            }
            if let Some(at) = unread.next() {
                match decoder.push(chunk[at]).and_then(asked) {
                    Some(Asked::Hello) => {
                        if let Ok(len) = encode_hello_answer(self.hello, &mut frame) {
                            self.send(&frame[..len]).await;
                        }
                    }
                    Some(Asked::Request(request)) => held = Some(request),
                    None => {}
                }
                continue;
            }
            match select(self.rx.read(&mut chunk), exchange.has_message()).await {
                Either::First(Ok(len)) if len > 0 => unread = 0..len.min(chunk.len()),
                Either::First(_) => {
                    // The line was cut or ended: what comes next is another conversation.
                    decoder.reset();
                    self.delay.delay_ms(WAIT_LINE_MS).await;
                }
                Either::Second(()) => {}
            }
        }
    }

    /// Sends a frame. On a dead line it is lost: the host asks again for an answer, and sees from the
    /// running number that a reading is missing.
    async fn send(&mut self, frame: &[u8]) {
        let sent = match self.tx.write_all(frame).await {
            Ok(()) => self.tx.flush().await,
            Err(error) => Err(error),
        };
        if sent.is_err() {
            self.delay.delay_ms(WAIT_LINE_MS).await;
        }
    }
}
