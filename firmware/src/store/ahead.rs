//! Pages are turned ahead: turning one erases another, and while a flash erases nothing else runs. So it
//! is done in idle time, as soon as the next change might not fit into the page.

use embedded_storage_async::nor_flash::NorFlash;
use rillmark_proto::record::MAX_RECORD_BYTES;

use super::{KEY_BOOT, Store, catalogue};

/// Bytes that the map takes for a value of so many bytes: 8 of header, and the key, in words.
const fn item_bytes(value: usize, word: usize) -> usize {
    8usize.next_multiple_of(word) + (1 + value).next_multiple_of(word)
}

/// The most bytes that one change writes: a record, and the catalogue twice.
const fn change_bytes(word: usize) -> usize {
    item_bytes(MAX_RECORD_BYTES, word) + 2 * item_bytes(catalogue::MAX_BYTES, word)
}

/// Pages turned ahead between two changes at the most. All records together fill eight pages of 4 KiB;
/// with fewer pages than that there may never be a page with room, and no end of turning.
pub(super) const TURNS_AHEAD: u8 = 10;

impl<S: NorFlash> Store<S> {
    /// True when the next change needs no erased page, or when nothing can be done about it.
    pub fn is_ready(&mut self) -> bool {
        let most = change_bytes(S::WRITE_SIZE.max(S::READ_SIZE)) as u32;
        let room = self.map.as_mut().and_then(|map| map.flash().room());
        self.turns_left == 0 || self.broken.is_some() || room.is_none_or(|room| room >= most)
    }

    /// Makes ready for the next change, one step each time: writes the second boot count once more as
    /// it is, until the map turns the page for it. A step erases one page at the most.
    pub async fn make_ready(&mut self) {
        let page = |this: &mut Self| this.map.as_mut().and_then(|map| map.flash().page());
        let before = page(self);
        let written = self.write(KEY_BOOT[1], &self.boot.to_le_bytes()).await;
        if written.is_err() {
            self.is_damaged = true;
            self.turns_left = 0;
        } else if page(self) != before {
            self.turns_left = self.turns_left.saturating_sub(1);
        }
    }
}
