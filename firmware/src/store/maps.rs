//! Two maps on one flash: the *main* one for everything, and the *witness*, which keeps the last copies of
//! the boot count and of the catalogue in pages of its own, where nothing that strikes the others reaches.

use core::ops::Range;

use embedded_storage_async::nor_flash::{NorFlash, ReadNorFlash};
use heapless::Vec;
use rillmark_proto::record::MAX_RECORD_BYTES;
use rillmark_proto::wire::message::STORE_PIECE_BYTES;
use sequential_storage::Error;
use sequential_storage::cache::Cache;
use sequential_storage::cache::key_pointers::ArrayKeyPointers;
use sequential_storage::cache::page_pointers::ArrayPagePointers;
use sequential_storage::cache::page_states::ArrayPageStates;
use sequential_storage::map::{MapConfig, MapStorage};

use super::KEYS;
use super::failure::{Broken, Failure};
use super::guard::{GuardError, Guarded};
use super::layout::{self, Layout, word};
use crate::constants::STORE_MAX_PAGES;

/// Pages of the witness, the first of the region: the least that a map takes.
pub(super) const WITNESS_PAGES: usize = 2;

/// A key and the longest value, rounded up to the longest word that the map allows.
const BUFFER: usize = (1 + MAX_RECORD_BYTES).next_multiple_of(32);

type MapCache = Cache<
    ArrayPageStates<STORE_MAX_PAGES>,
    ArrayPagePointers<STORE_MAX_PAGES>,
    ArrayKeyPointers<u8, KEYS>,
    u8,
>;
type Map<S> = MapStorage<u8, Guarded<S>, MapCache>;

/// Which map.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    Main,
    Witness,
}

impl Place {
    pub(super) const ALL: [Self; 2] = [Self::Main, Self::Witness];
}

/// The flash with both maps; one of them is in hand, of the other there is the cache.
pub(super) struct Maps<S: NorFlash> {
    map: Option<Map<S>>,
    in_hand: Place,
    other_cache: MapCache,
    /// Of both maps together.
    region: Range<u32>,
    /// Where each map wrote last.
    ends: [Option<u32>; 2],
    buffer: [u8; BUFFER],
}

fn cache() -> MapCache {
    Cache::new(ArrayPageStates::new(), ArrayPagePointers::new(), ArrayKeyPointers::new())
}

/// The part of a region that is one map's.
fn part<S: NorFlash>(region: &Range<u32>, place: Place) -> Range<u32> {
    let main = region.start + (WITNESS_PAGES * S::ERASE_SIZE) as u32;
    match place {
        Place::Main => main..region.end,
        Place::Witness => region.start..main,
    }
}

impl<S: NorFlash> Maps<S> {
    /// The maps in a region, with the guard shut; `None` when it cannot hold them.
    ///
    /// Of a region larger than [`STORE_MAX_PAGES`] pages the first ones are used.
    pub(super) fn new(flash: S, region: Range<u32>) -> Option<Self> {
        let page = S::ERASE_SIZE as u32;
        let end = region.end.min(region.start.saturating_add(page * STORE_MAX_PAGES as u32));
        let least = page * (WITNESS_PAGES as u32 + 2);
        if !region.start.is_multiple_of(page) || region.start.checked_add(least)? > end {
            return None;
        }
        let region = region.start..end;
        let config = MapConfig::try_new(part::<S>(&region, Place::Main)).ok()?;
        Some(Self {
            map: Some(MapStorage::new(Guarded::shut(flash), config, cache())),
            in_hand: Place::Main,
            other_cache: cache(),
            region,
            ends: [None; 2],
            buffer: [0; BUFFER],
        })
    }

    /// Takes a map in hand, with this cache in place of its own, if any.
    fn take(&mut self, place: Place, fresh: Option<MapCache>) -> Result<&mut Map<S>, Failure> {
        const FAULT: Failure = Failure::Broken(Broken::Fault);
        if place != self.in_hand || fresh.is_some() {
            let config = MapConfig::try_new(part::<S>(&self.region, place)).map_err(|_| FAULT)?;
            let (flash, mut cache) = self.map.take().ok_or(FAULT)?.destroy();
            if place != self.in_hand {
                core::mem::swap(&mut cache, &mut self.other_cache);
                self.in_hand = place;
            }
            self.map = Some(MapStorage::new(flash, config, fresh.unwrap_or(cache)));
        }
        self.map.as_mut().ok_or(FAULT)
    }

    /// The flash.
    pub(super) fn flash(&mut self) -> Option<&mut Guarded<S>> {
        self.map.as_mut().map(MapStorage::flash)
    }

    pub(super) fn set_open(&mut self, open: bool) {
        if let Some(flash) = self.flash() {
            flash.set_open(open);
        }
    }

    /// Looks at a map's pages without changing them.
    pub(super) async fn layout(&mut self, place: Place) -> Result<Layout, Failure> {
        let part = part::<S>(&self.region, place);
        let flash = self.flash().ok_or(Failure::Broken(Broken::Fault))?;
        layout::layout(flash, part).await.map_err(|_| Failure::Broken(Broken::Fault))
    }

    /// Erases pages, before their map was ever used.
    pub(super) async fn erase(&mut self, pages: &[u32]) -> Result<(), Failure> {
        let flash = self.flash().ok_or(Failure::Broken(Broken::Fault))?;
        flash.set_open(true);
        for page in pages {
            let erased = flash.erase(*page, page + S::ERASE_SIZE as u32).await;
            erased.map_err(|_| Failure::Broken(Broken::Fault))?;
        }
        flash.set_open(false);
        Ok(())
    }

    pub(super) async fn fetch(&mut self, place: Place, key: u8) -> Result<Option<&[u8]>, Failure> {
        self.take(place, None)?;
        let map = self.map.as_mut().ok_or(Failure::Broken(Broken::Fault))?;
        Ok(map.fetch_item::<&[u8]>(&mut self.buffer, &key).await?)
    }

    /// Writes an item. A page in which something lies behind the last item that the map knows of is
    /// closed, and the item goes into the next one.
    pub(super) async fn write(
        &mut self,
        place: Place,
        key: u8,
        bytes: &[u8],
    ) -> Result<(), Failure> {
        match self.try_write(place, key, bytes).await {
            Err(Error::Storage {
                value: GuardError::NotBlank { page, is_unused: false }, ..
            }) => {
                let closed = self.take(place, None)?.flash().close(page).await;
                closed.map_err(|_| Failure::Broken(Broken::Fault))?;
                self.take(place, Some(cache()))?;
                Ok(self.try_write(place, key, bytes).await?)
            }
            outcome => Ok(outcome?),
        }
    }

    async fn try_write(
        &mut self,
        place: Place,
        key: u8,
        bytes: &[u8],
    ) -> Result<(), Error<GuardError<S::Error>>> {
        let Ok(_) = self.take(place, None) else { return Err(Error::LogicBug {}) };
        let Some(map) = self.map.as_mut() else { return Err(Error::LogicBug {}) };
        let written = map.store_item(&mut self.buffer, &key, &bytes).await;
        if let Some(end) = map.flash().take_end() {
            self.ends[place as usize] = Some(end);
        }
        written
    }

    /// Bytes that are still free in the page that a map wrote last; `None` before it wrote anything.
    pub(super) fn room(&self, place: Place) -> Option<u32> {
        let (end, page) = (self.ends[place as usize]?, S::ERASE_SIZE as u32);
        Some(end.next_multiple_of(page).saturating_sub(word::<S>() as u32 + end))
    }

    /// Number of the page that a map wrote last.
    pub(super) fn page(&self, place: Place) -> Option<u32> {
        Some(self.ends[place as usize]? / S::ERASE_SIZE as u32)
    }

    /// The bytes of the whole region from this one on, as many as one answer holds, and how many there
    /// are altogether.
    pub(super) async fn piece(
        &mut self,
        offset: u32,
    ) -> Result<(u32, Vec<u8, STORE_PIECE_BYTES>), Failure> {
        let size = self.region.end - self.region.start;
        let start = self.region.start + offset.min(size);
        let mut bytes = Vec::new();
        let len = STORE_PIECE_BYTES.min((self.region.end - start) as usize);
        let _ = bytes.resize(len, 0);
        let flash = self.flash().ok_or(Failure::Broken(Broken::Fault))?;
        flash.read(start, &mut bytes).await.map_err(|_| Failure::Broken(Broken::Fault))?;
        Ok((size, bytes))
    }
}
