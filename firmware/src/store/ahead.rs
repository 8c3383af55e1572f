//! Pages are turned ahead: turning one erases another, and while a flash erases nothing else runs. So it
//! is done in idle time, as soon as the next change might not fit into the page.

use embedded_storage_async::nor_flash::NorFlash;
use rillmark_proto::record::MAX_RECORD_BYTES;

use super::maps::Place;
use super::{BOOT, Store, catalogue, layout};

/// Bytes that the map takes for a value of so many bytes: 8 of header, and the key, in words.
const fn item_bytes(value: usize, word: usize) -> usize {
    8usize.next_multiple_of(word) + (1 + value).next_multiple_of(word)
}

/// The most bytes that one change writes to a map: a record and the catalogue twice, or the catalogue.
const fn change_bytes(place: Place, word: usize) -> usize {
    let catalogue = item_bytes(catalogue::MAX_BYTES, word);
    match place {
        Place::Main => item_bytes(MAX_RECORD_BYTES, word) + 2 * catalogue,
        Place::Witness => catalogue,
    }
}

/// Pages turned ahead between two changes at the most. All records together fill eight pages of 4 KiB;
/// with fewer pages than that there may never be a page with room, and no end of turning.
pub(super) const TURNS_AHEAD: u8 = 10;

impl<S: NorFlash> Store<S> {
    /// True when the next change needs no erased page, or when nothing can be done about it.
    pub fn is_ready(&mut self) -> bool {
        self.turns_left == 0 || self.broken.is_some() || self.lacking().is_none()
    }

    /// The map that may not have room for the next change.
    fn lacking(&self) -> Option<Place> {
        let maps = self.maps.as_ref()?;
        Place::ALL.into_iter().find(|place| {
            let most = change_bytes(*place, layout::word::<S>()) as u32;
            maps.room(*place).is_some_and(|room| room < most)
        })
    }

    /// Makes ready for the next change, one step each time: writes the last boot count of a map once more
    /// as it is, until the map turns the page for it. A step erases one page at the most.
    pub async fn make_ready(&mut self) {
        let Some(place) = self.lacking() else { return };
        let page = |this: &Self| this.maps.as_ref().and_then(|maps| maps.page(place));
        let before = page(self);
        let copy = if place == Place::Main { BOOT[1] } else { BOOT[2] };
        if self.write_boot(copy).await.is_err() {
            self.is_damaged = true;
            self.turns_left = 0;
        } else if page(self) != before {
            self.turns_left = self.turns_left.saturating_sub(1);
        }
    }
}
