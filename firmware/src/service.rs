//! The service loop: one future that samples, listens and answers, for ever.

use core::convert::Infallible;
use core::ops::Range;

use embedded_hal::digital::OutputPin;
use embedded_hal_async::delay::DelayNs;
use embedded_hal_async::i2c::I2c;
use embedded_io_async::{Read, Write};
use embedded_storage_async::nor_flash::NorFlash;
use rillmark_proto::identity::BoardId;

use crate::parts::{Excitation, Parts, Uptime};

/// Who the board is and what runs on it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Unique id of the board.
    pub board: BoardId,
    /// Firmware version: major, minor, patch.
    pub firmware: [u8; 3],
}

/// Runs the probe for ever.
///
/// `region` is the store's part of the flash, in bytes, on erase boundaries, at least two erase
/// units (16 of 4 KiB are plenty). `line_rx`'s reads must be cancel-safe: a read that is dropped
/// before it returns has taken no bytes.
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
    let _ = (identity, parts, flash, region, line_rx, line_tx);
    core::future::pending().await
}
