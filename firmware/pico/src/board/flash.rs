//! The flash chip behind the traits of the firmware library.

use embassy_futures::yield_now;
use embassy_rp::Peri;
use embassy_rp::flash::{Blocking, ERASE_SIZE, Error, Flash as Chip, PAGE_SIZE};
use embassy_rp::peripherals::FLASH;
use embedded_storage_async::nor_flash::{ErrorType, NorFlash, ReadNorFlash};
use rillmark_firmware::constants::STORE_MAX_PAGES;
use rillmark_pico::partition::{FLASH_BYTES, STORE_SECTORS};
use rillmark_proto::identity::BoardId;

const _: () = assert!(STORE_SECTORS as usize == STORE_MAX_PAGES);

/// The whole chip. While it erases or programs, interrupts are off and nothing else runs: 45 ms a
/// sector and 0.4 ms a page (typical; W25Q16JV data sheet). Between two of them the others have their
/// turn, so that USB never waits for more than one.
pub(super) struct Flash(Chip<'static, FLASH, Blocking, { FLASH_BYTES as usize }>);

impl Flash {
    pub(super) fn new(flash: Peri<'static, FLASH>) -> Self {
        Self(Chip::new_blocking(flash))
    }

    /// The chip's unique id, by which the board is known.
    pub(super) fn board_id(&mut self) -> BoardId {
        let mut id = [0; 8];
        match self.0.blocking_unique_id(&mut id) {
            Ok(()) => BoardId(id),
            Err(_) => panic!("the flash is read on the other core"),
        }
    }
}

impl ErrorType for Flash {
    type Error = Error;
}

impl ReadNorFlash for Flash {
    const READ_SIZE: usize = 1;

    async fn read(&mut self, offset: u32, bytes: &mut [u8]) -> Result<(), Error> {
        self.0.blocking_read(offset, bytes)
    }

    fn capacity(&self) -> usize {
        FLASH_BYTES as usize
    }
}

impl NorFlash for Flash {
    /// The chip can write single bytes; words of four halve what the store writes in marks.
    const WRITE_SIZE: usize = 4;
    const ERASE_SIZE: usize = ERASE_SIZE;

    async fn erase(&mut self, from: u32, to: u32) -> Result<(), Error> {
        for sector in (from..to).step_by(ERASE_SIZE) {
            self.0.blocking_erase(sector, to.min(sector + ERASE_SIZE as u32))?;
            yield_now().await;
        }
        Ok(())
    }

    async fn write(&mut self, mut offset: u32, mut bytes: &[u8]) -> Result<(), Error> {
        while !bytes.is_empty() {
            let room = PAGE_SIZE - offset as usize % PAGE_SIZE;
            let (now, later) = bytes.split_at(room.min(bytes.len()));
            self.0.blocking_write(offset, now)?;
            yield_now().await;
            offset += now.len() as u32;
            bytes = later;
        }
        Ok(())
    }
}
