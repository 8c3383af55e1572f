//! The store on a flash that was damaged: does an older calibration ever come into force unsaid?
//!
//! The flash is the strict one of the store's own tests, so that a write over what is not blank ends the
//! trial too.

mod damage;
mod generations;
#[allow(dead_code)] // the store's own tests use all of it
#[path = "../../../../firmware/src/store/strict_flash.rs"]
pub(crate) mod strict_flash;
mod verdict;

pub use self::damage::Damage;
pub use self::generations::{Generations, all as generations};
pub(crate) use self::generations::{equipment, record_bytes, records};
pub use self::verdict::Verdict;

use embassy_futures::block_on;
use rillmark_firmware::store::Store;
use rillmark_proto::identity::BoardId;
use strict_flash::StrictFlash;

/// The board of all these stores.
pub(crate) const BOARD: BoardId = BoardId([7; 8]);

pub(crate) fn mount(flash: &mut StrictFlash) -> Store<&mut StrictFlash> {
    let region = 0..flash.bytes.len() as u32;
    block_on(Store::mount(flash, region, BOARD))
}
