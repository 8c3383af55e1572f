//! The service: one future that samples, listens and answers, for ever.
//!
//! Two halves run side by side in it: the line half reads and writes bytes and answers the hello at
//! any time; the work half carries out commands one by one, between samples, and takes samples. A
//! command sent while a sample is under way is answered after that sample, up to
//! [`LONGEST_READING_US`](rillmark_proto::circuit::timing::LONGEST_READING_US) later. A line that is dead or
//! takes nothing stops neither: what is sampled goes on being sampled until a host says otherwise, readings
//! that nobody takes are lost, and their running numbers tell.

mod exchange;
mod line;
mod work;

use core::convert::Infallible;
use core::ops::Range;

use embassy_futures::join::join;
use embedded_hal::digital::OutputPin;
use embedded_hal_async::delay::DelayNs;
use embedded_hal_async::i2c::I2c;
use embedded_io_async::{Read, Write};
use embedded_storage_async::nor_flash::NorFlash;
use rillmark_proto::identity::BoardId;
use rillmark_proto::record::codec::RECORD_VERSION;
use rillmark_proto::wire::hello::HelloAnswer;
use rillmark_proto::wire::message::WIRE_VERSION;
use rillmark_proto::wire::start::Start;

use crate::front_end::FrontEnd;
use crate::parts::{Excitation, Parts, Uptime};
use crate::sampler::Sampler;
use crate::store::Store;
use exchange::Exchange;
use line::Line;
use work::Work;

/// Who the board is and what runs on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Unique id of the board.
    pub board: BoardId,
    /// Firmware version: major, minor, patch.
    pub firmware: [u8; 3],
    /// How it came to start.
    pub start: Start,
}

/// Runs the probe for ever.
///
/// `region` is the store's part of the flash, in bytes, on erase boundaries, at least two erase
/// units (16 of 4 KiB are plenty). `line_rx`'s reads must be cancel-safe: a read that is dropped
/// before it returns has taken no bytes. A `line_tx` whose host does not take its bytes may wait or
/// report an error; a read or write error, or a read of nothing, is a dead line, which is tried again
/// from time to time. The I2C bus must give up in the end on a chip that holds it.
pub async fn run<I, P, X, U, D, S, R, W>(
    identity: Identity,
    parts: Parts<I, P, X, U, D>,
    flash: S,
    region: Range<u32>,
    line_rx: R,
    line_tx: W,
) -> !
where
    I: I2c,
    P: OutputPin<Error = Infallible>,
    X: Excitation,
    U: Uptime,
    D: DelayNs + Clone,
    S: NorFlash,
    R: Read,
    W: Write,
{
    let delay = parts.delay.clone();
    let front_end = FrontEnd::new(parts);
    let store = Store::mount(flash, region, identity.board).await;
    let hello = HelloAnswer {
        wire_min: WIRE_VERSION,
        wire_max: WIRE_VERSION,
        record_max: RECORD_VERSION,
        board: identity.board,
        boot: store.boot(),
        firmware: identity.firmware,
        start: identity.start,
    };
    #[cfg(feature = "defmt")]
    defmt::info!("start {}, store fault: {}", store.boot(), store.has_fault());
    let exchange = Exchange::default();
    let mut line = Line { rx: line_rx, tx: line_tx, delay, hello };
    let mut work = Work::new(Sampler::new(front_end), store);
    match join(line.serve(&exchange), work.go_on(&exchange)).await {}
}

#[cfg(test)]
mod tests;
