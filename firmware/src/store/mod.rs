//! The store: boot count, equipment, calibration and verification records in flash.
//!
//! A map of few small items, with its cache: two copies each of the boot count and of the
//! [`catalogue`], and one slot for each record's canonical bytes, verbatim. A change first appends (the record to a
//! free slot) and then switches (the catalogue, one copy after the other), so that a power cut
//! leaves the old or the new state whole. The map passes over an item that it cannot read and gives
//! the one before, so damage must be seen from here: a record by its identity; the others by their
//! two copies, of which the first is always written first: when it is the older one, it has been
//! damaged, and the second is used.
//!
//! Nothing is written before the region was found to be blank or ours; a damaged store is reported
//! and never erased. No future of this module may be dropped before it is done.

mod ahead;
pub mod catalogue;
mod failure;
pub mod guard;

use core::ops::Range;

use embedded_storage_async::nor_flash::NorFlash;
use heapless::Vec;
use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::reading::{CalibrationsUsed, Coefficients};
use rillmark_proto::record::codec::{self, DecodeError};
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{CalibrationResult, MAX_RECORD_BYTES, Quantity, Record, RecordBytes};
use rillmark_proto::wire::message::{Listed, MAX_LISTED, Refusal};
use sequential_storage::cache::Cache;
use sequential_storage::cache::key_pointers::ArrayKeyPointers;
use sequential_storage::cache::page_pointers::ArrayPagePointers;
use sequential_storage::cache::page_states::ArrayPageStates;
use sequential_storage::map::{MapConfig, MapStorage};

use crate::constants::STORE_MAX_PAGES;
use ahead::TURNS_AHEAD;
use catalogue::{Catalogue, SLOTS};
use failure::{Broken, Failure};
use guard::{Guarded, Layout};

/// The two copies of the boot count, in the order in which they are written.
const KEY_BOOT: [u8; 2] = [0, 3];
/// The two copies of the catalogue, in the order in which they are written.
const KEY_CATALOGUE: [u8; 2] = [1, 2];
const KEY_FIRST_SLOT: u8 = 16;
const KEYS: usize = 4 + SLOTS as usize;
/// A key and the longest value, rounded up to the longest word that the map allows.
const BUFFER: usize = (1 + MAX_RECORD_BYTES).next_multiple_of(32);

type MapCache = Cache<
    ArrayPageStates<STORE_MAX_PAGES>,
    ArrayPagePointers<STORE_MAX_PAGES>,
    ArrayKeyPointers<u8, KEYS>,
    u8,
>;

/// The store of one board.
pub struct Store<S: NorFlash> {
    board: BoardId,
    /// `None` when the region cannot hold a map.
    map: Option<MapStorage<u8, Guarded<S>, MapCache>>,
    buffer: [u8; BUFFER],
    catalogue: Catalogue,
    boot: u32,
    /// Nothing can be read or written.
    broken: Option<Broken>,
    /// Some of it was lost, or could not be written twice.
    is_damaged: bool,
    coefficients: Coefficients,
    used: CalibrationsUsed,
    /// Pages that may still be turned ahead before the next change.
    turns_left: u8,
}

impl<S: NorFlash> Store<S> {
    /// Reads the store of this board and counts this start. Never fails: what is wrong shows in
    /// [`Self::has_fault`] and in refusals.
    ///
    /// Of a region larger than [`STORE_MAX_PAGES`] pages the first ones are used.
    pub async fn mount(flash: S, region: Range<u32>, board: BoardId) -> Self {
        let most = (S::ERASE_SIZE * STORE_MAX_PAGES) as u32;
        let end = region.end.min(region.start.saturating_add(most));
        let region = region.start..end;
        let config = if region.is_empty() { None } else { MapConfig::try_new(region.clone()).ok() };
        let cache =
            Cache::new(ArrayPageStates::new(), ArrayPagePointers::new(), ArrayKeyPointers::new());
        let mut this = Self {
            board,
            map: config.map(|config| MapStorage::new(Guarded::shut(flash), config, cache)),
            buffer: [0; BUFFER],
            catalogue: Catalogue::default(),
            boot: 0,
            broken: None,
            is_damaged: false,
            coefficients: Coefficients::default(),
            used: CalibrationsUsed::default(),
            turns_left: TURNS_AHEAD,
        };
        if let Err(failure) = this.load(region).await {
            let broken = match failure {
                Failure::Broken(broken) => broken,
                Failure::Full | Failure::Shut => Broken::Corrupt,
            };
            #[cfg(feature = "defmt")]
            defmt::error!("store unusable: {}", broken == Broken::Corrupt);
            this.guard(false);
            this.broken = Some(broken);
        }
        this
    }

    async fn load(&mut self, region: Range<u32>) -> Result<(), Failure> {
        let map = self.map.as_mut().ok_or(Failure::Broken(Broken::Fault))?;
        let flash = map.flash();
        let layout = guard::layout(flash, region).await;
        let layout = layout.map_err(|_| Failure::Broken(Broken::Fault))?;
        match layout {
            Layout::Foreign => return Err(Failure::Broken(Broken::Corrupt)),
            Layout::EraseCutShort(page) => {
                flash.set_open(true);
                let erased = flash.erase(page, page + S::ERASE_SIZE as u32).await;
                flash.set_open(false);
                erased.map_err(|_| Failure::Broken(Broken::Fault))?;
            }
            _ => {}
        }
        // The first look is with the guard shut; only a layout that a cut leaves lets the map write.
        let boots = match self.fetch_boots().await {
            Err(Failure::Shut) if layout != Layout::Doubtful => {
                self.guard(true);
                self.fetch_boots().await?
            }
            other => other?,
        };
        // The map passes over what it cannot read. The boot count is written before all else, so
        // where there is anything, but no boot count, it is not ours.
        let is_new = matches!(layout, Layout::Blank | Layout::Begun);
        let boot = match boots[0].max(boots[1]) {
            None if !is_new => return Err(Failure::Broken(Broken::Corrupt)),
            boot => boot.unwrap_or(0).saturating_add(1),
        };
        let first = self.fetch_catalogue(KEY_CATALOGUE[0]).await?;
        let second = self.fetch_catalogue(KEY_CATALOGUE[1]).await?;
        self.guard(true);
        self.boot = boot;
        self.is_damaged = boots[0] < boots[1];
        for key in KEY_BOOT {
            self.is_damaged |= self.write(key, &boot.to_le_bytes()).await.is_err();
        }
        let change = |copy: &Option<Catalogue>| copy.as_ref().map(|catalogue| catalogue.change);
        let (newest, stale) = match change(&first).cmp(&change(&second)) {
            core::cmp::Ordering::Equal => (first, None),
            core::cmp::Ordering::Greater => (first, Some(KEY_CATALOGUE[1])),
            core::cmp::Ordering::Less => {
                self.is_damaged = true;
                (second, Some(KEY_CATALOGUE[0]))
            }
        };
        self.catalogue = newest.unwrap_or_default();
        if let Some(key) = stale {
            self.is_damaged |= self.write_catalogue(key).await.is_err();
        }
        self.verify().await;
        self.put_in_force().await;
        Ok(())
    }

    fn guard(&mut self, open: bool) {
        if let Some(map) = &mut self.map {
            map.flash().set_open(open);
        }
    }

    async fn fetch(&mut self, key: u8) -> Result<Option<&[u8]>, Failure> {
        let map = self.map.as_mut().ok_or(Failure::Broken(Broken::Fault))?;
        Ok(map.fetch_item::<&[u8]>(&mut self.buffer, &key).await?)
    }

    async fn write(&mut self, key: u8, bytes: &[u8]) -> Result<(), Failure> {
        let map = self.map.as_mut().ok_or(Failure::Broken(Broken::Fault))?;
        Ok(map.store_item(&mut self.buffer, &key, &bytes).await?)
    }

    async fn fetch_boots(&mut self) -> Result<[Option<u32>; 2], Failure> {
        let mut boots = [None; 2];
        for (key, boot) in KEY_BOOT.into_iter().zip(&mut boots) {
            *boot = match self.fetch(key).await?.map(<[u8; 4]>::try_from) {
                None => None,
                Some(Ok(bytes)) => Some(u32::from_le_bytes(bytes)),
                Some(Err(_)) => return Err(Failure::Broken(Broken::Corrupt)),
            };
        }
        Ok(boots)
    }

    async fn fetch_catalogue(&mut self, key: u8) -> Result<Option<Catalogue>, Failure> {
        let Some(bytes) = self.fetch(key).await? else { return Ok(None) };
        let found = Catalogue::from_bytes(bytes);
        // Its CRC was right, so somebody else wrote it: a later firmware.
        found.map(Some).ok_or(Failure::Broken(Broken::Corrupt))
    }

    async fn write_catalogue(&mut self, key: u8) -> Result<(), Failure> {
        let bytes = self.catalogue.to_bytes().ok_or(Failure::Full)?;
        self.write(key, &bytes).await
    }

    /// Reads the record in a slot, if its bytes are those of this identity.
    async fn fetch_record(&mut self, id: RecordId, slot: u8) -> Result<Option<&[u8]>, Failure> {
        let bytes = self.fetch(KEY_FIRST_SLOT + slot).await?;
        Ok(bytes.filter(|bytes| codec::identity(bytes) == id))
    }

    /// Makes sure that every record listed can be read.
    async fn verify(&mut self) {
        let all: Vec<_, MAX_LISTED> =
            self.catalogue.entries().iter().map(|entry| (entry.id, entry.slot)).collect();
        for (id, slot) in all {
            let is_whole = matches!(self.fetch_record(id, slot).await, Ok(Some(_)));
            self.is_damaged |= !is_whole;
        }
    }

    /// Reads the coefficients of the records in force. One of a later release stays kept and unread,
    /// and nothing is computed in its place: an older calibration would be a silent change.
    async fn put_in_force(&mut self) {
        self.coefficients = Coefficients::default();
        self.used = CalibrationsUsed::default();
        for quantity in Quantity::ALL {
            let entry = self.catalogue.in_force(quantity);
            let Some((id, slot)) = entry.map(|entry| (entry.id, entry.slot)) else { continue };
            let record = match self.fetch_record(id, slot).await {
                Ok(Some(bytes)) => codec::decode(bytes),
                _ => Err(DecodeError::Malformed),
            };
            if let Err(DecodeError::NewerVersion { .. }) = record {
                continue;
            }
            match record.as_ref().ok().and_then(Record::calibration).map(|record| record.result) {
                Some(CalibrationResult::Ph(ph)) => {
                    self.coefficients.ph = Some(ph);
                    self.used.ph = Some(id.short());
                }
                Some(CalibrationResult::Conductivity(conductivity)) => {
                    self.coefficients.conductivity = Some(conductivity);
                    self.used.conductivity = Some(id.short());
                }
                Some(CalibrationResult::Temperature(temperature)) => {
                    self.coefficients.temperature = Some(temperature);
                    self.used.temperature = Some(id.short());
                }
                None => self.is_damaged = true,
            }
        }
    }

    fn usable(&self) -> Result<(), Refusal> {
        self.broken.map_or(Ok(()), |broken| Err(broken.refusal()))
    }

    /// Writes the new catalogue, one copy after the other, and puts it in force.
    async fn switch(&mut self, next: Catalogue) -> Result<(), Refusal> {
        let old = core::mem::replace(&mut self.catalogue, next);
        if let Err(failure) = self.write_catalogue(KEY_CATALOGUE[0]).await {
            self.catalogue = old;
            return Err(failure.refusal(catalogue::MAX_BYTES));
        }
        self.turns_left = TURNS_AHEAD;
        // The change is done; a second copy that fails costs only the spare.
        self.is_damaged |= self.write_catalogue(KEY_CATALOGUE[1]).await.is_err();
        self.put_in_force().await;
        Ok(())
    }

    /// Number of this start, counted from 1; 0 when the store cannot be read.
    pub fn boot(&self) -> u32 {
        self.boot
    }

    /// True when the store cannot be used, or when something in it was lost.
    pub fn has_fault(&self) -> bool {
        self.broken.is_some() || self.is_damaged
    }

    /// The coefficients in force for what is fitted.
    pub fn coefficients(&self) -> &Coefficients {
        &self.coefficients
    }

    /// The records that the coefficients are from.
    pub fn used(&self) -> CalibrationsUsed {
        self.used
    }

    /// What is fitted; `None` when nobody ever said.
    ///
    /// # Errors
    /// When the store cannot be used.
    pub fn equipment(&self) -> Result<Option<Equipment>, Refusal> {
        self.usable().map(|()| self.catalogue.equipment.clone())
    }

    /// The records kept.
    ///
    /// # Errors
    /// When the store cannot be used.
    pub fn listed(&self) -> Result<Vec<Listed, MAX_LISTED>, Refusal> {
        self.usable().map(|()| self.catalogue.listed())
    }

    /// Stores what is fitted.
    ///
    /// # Errors
    /// When the store cannot be used, or has no room; it is as before then.
    pub async fn equip(&mut self, equipment: Equipment) -> Result<(), Refusal> {
        self.usable()?;
        self.switch(self.catalogue.equipped(equipment)).await
    }

    /// One record's canonical bytes.
    ///
    /// # Errors
    /// When there is none of this identity, or it cannot be read.
    pub async fn record(&mut self, id: RecordId) -> Result<RecordBytes, Refusal> {
        self.usable()?;
        let slot = self.catalogue.entry(id).ok_or(Refusal::NoSuchRecord { id })?.slot;
        let found = self.fetch_record(id, slot).await;
        let bytes = found.map(|bytes| bytes.and_then(|bytes| RecordBytes::from_slice(bytes).ok()));
        let bytes = bytes.map_err(|failure| failure.refusal(0))?;
        if bytes.is_none() {
            self.is_damaged = true;
        }
        bytes.ok_or(Refusal::StoreCorrupt)
    }

    /// Keeps a record's canonical bytes; a calibration is in force then.
    ///
    /// # Errors
    /// When it is unreadable, newer than this firmware, of another board, or of another electrode or
    /// cell than is fitted; when its short form is taken; when the store cannot be used or has no
    /// room. Everything is as before then.
    pub async fn keep(&mut self, bytes: &[u8]) -> Result<RecordId, Refusal> {
        self.usable()?;
        let record = codec::decode(bytes).map_err(|error| match error {
            DecodeError::NewerVersion { found, newest } => Refusal::RecordVersion { found, newest },
            _ => Refusal::RecordUnreadable,
        })?;
        if record.board() != self.board {
            return Err(Refusal::OtherBoard { made_for: record.board() });
        }
        let quantity = record.quantity();
        let serial = record.of().ok_or(Refusal::NotFitted)?;
        if self.catalogue.fitted(quantity) != Some(serial) {
            return Err(Refusal::NotFitted);
        }
        let id = codec::identity(bytes);
        let (next, slot) =
            self.catalogue.with_record(id, record.kind(), quantity, serial, bytes.len())?;
        let there = self.fetch_record(id, slot).await.is_ok_and(|there| there.is_some());
        if !there {
            let written = self.write(KEY_FIRST_SLOT + slot, bytes).await;
            written.map_err(|failure| failure.refusal(bytes.len()))?;
        }
        if self.catalogue.is_last(id) && there {
            return Ok(id);
        }
        self.switch(next).await?;
        Ok(id)
    }
}

#[cfg(test)]
pub(crate) mod strict_flash;
#[cfg(test)]
mod tests;
