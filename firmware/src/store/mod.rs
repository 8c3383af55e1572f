//! The store: boot count, equipment, calibration and verification records in flash.
//!
//! Maps of few small items, with their caches: three copies each of the boot count and of the
//! [`catalogue`], and one slot for each record's canonical bytes, verbatim. A change first appends (the record to a
//! free slot) and then switches (the catalogue, one copy after the other), so that a power cut
//! leaves the old or the new state whole.
//!
//! The map passes over an item that it cannot read and gives the one before, so damage must be seen from
//! here. A record is known by its identity. Of the others the newest copy counts, and copies that no power
//! cut leaves so are a fault. Two of them lie side by side in the main map, the third, the *witness*, in
//! pages of its own: one or two bits anywhere, or a run of up to 256 bytes of zeros or ones, leave at least
//! one of the newest. So an older calibration never comes into force unsaid: either the newest catalogue
//! is found, and a record that is damaged is missed, or the store is refused.
//!
//! What cannot be seen: that every copy is older in the same way, as when the pages of both maps that were
//! written last are lost at once (erased, or put back from an old copy of the flash). A host sees it, since
//! the boot count went back.
//!
//! Nothing is written before the region was found to be blank or ours, or where the flash is not blank; a
//! damaged store is reported and never erased. No future of this module may be dropped before it is done.

mod ahead;
pub mod catalogue;
mod copies;
mod failure;
pub mod guard;
mod layout;
mod maps;
mod mount;

use core::ops::Range;

use embedded_storage_async::nor_flash::NorFlash;
use heapless::Vec;
use rillmark_proto::identity::{BoardId, RecordId};
use rillmark_proto::reading::{CalibrationsUsed, Coefficients};
use rillmark_proto::record::codec::{self, DecodeError};
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{CalibrationResult, Quantity, Record, RecordBytes};
use rillmark_proto::wire::message::{Listed, MAX_LISTED, Refusal, StorePiece};

use ahead::TURNS_AHEAD;
use catalogue::{Catalogue, Rank, SLOTS};
use failure::{Broken, Failure};
use maps::{Maps, Place};

/// The copies of the boot count, in the order in which they are written. Keys of a map never change; 0 to 3
/// were those of a layout without a witness, whose stores are refused: they have no boot count of ours.
const BOOT: [(Place, u8); 3] = [(Place::Main, 4), (Place::Main, 5), (Place::Witness, 4)];
/// The copies of the catalogue, in the order in which they are written.
const CATALOGUE: [(Place, u8); 3] = [(Place::Main, 6), (Place::Main, 7), (Place::Witness, 6)];
const KEY_FIRST_SLOT: u8 = 16;
const KEYS: usize = 4 + SLOTS as usize;

/// The store of one board.
pub struct Store<S: NorFlash> {
    board: BoardId,
    /// `None` when the region cannot hold them.
    maps: Option<Maps<S>>,
    catalogue: Catalogue,
    boot: u32,
    /// Nothing can be read or written.
    broken: Option<Broken>,
    /// The witness is damaged, or not ours: it is not written.
    is_without_witness: bool,
    /// Some of it was lost, or could not be written to every copy.
    is_damaged: bool,
    /// Slots whose record is not what the catalogue says, a bit each.
    damaged_slots: u32,
    coefficients: Coefficients,
    used: CalibrationsUsed,
    /// Pages that may still be turned ahead before the next change.
    turns_left: u8,
}

const _: () = assert!(SLOTS <= 32);

impl<S: NorFlash> Store<S> {
    fn maps(&mut self) -> Result<&mut Maps<S>, Failure> {
        self.maps.as_mut().ok_or(Failure::Broken(Broken::Fault))
    }

    async fn write_boot(&mut self, (place, key): (Place, u8)) -> Result<(), Failure> {
        let boot = self.boot.to_le_bytes();
        self.write(place, key, &boot).await
    }

    async fn write_catalogue(&mut self, (place, key): (Place, u8)) -> Result<(), Failure> {
        let bytes = self.catalogue.to_bytes().ok_or(Failure::Full)?;
        self.write(place, key, &bytes).await
    }

    async fn write(&mut self, place: Place, key: u8, bytes: &[u8]) -> Result<(), Failure> {
        if place == Place::Witness && self.is_without_witness {
            return Ok(());
        }
        self.maps()?.write(place, key, bytes).await
    }

    /// Reads the record in a slot, if its bytes are those of this identity.
    async fn fetch_record(&mut self, id: RecordId, slot: u8) -> Result<Option<&[u8]>, Failure> {
        let bytes = self.maps()?.fetch(Place::Main, KEY_FIRST_SLOT + slot).await?;
        Ok(bytes.filter(|bytes| codec::identity(bytes) == id))
    }

    /// Looks whether a record can be read, and remembers it.
    async fn is_whole(&mut self, id: RecordId, slot: u8) -> bool {
        let is_whole = matches!(self.fetch_record(id, slot).await, Ok(Some(_)));
        self.damaged_slots = if is_whole {
            self.damaged_slots & !(1 << slot)
        } else {
            self.damaged_slots | 1 << slot
        };
        is_whole
    }

    /// Reads the coefficients of the records in force. One of a later release stays kept and unread,
    /// and nothing is computed in its place: an older calibration would be a silent change.
    async fn put_in_force(&mut self) {
        self.coefficients = Coefficients::default();
        self.used = CalibrationsUsed::default();
        for quantity in Quantity::ALL {
            let entry = self.catalogue.in_force(quantity);
            let Some((id, slot)) = entry.map(|entry| (entry.id, entry.slot)) else { continue };
            if !self.is_whole(id, slot).await {
                continue;
            }
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
        let [first, others @ ..] = CATALOGUE;
        if let Err(failure) = self.write_catalogue(first).await {
            self.catalogue = old;
            return Err(failure.refusal(catalogue::MAX_BYTES));
        }
        self.turns_left = TURNS_AHEAD;
        // The change is done; another copy that fails costs only the spare.
        for copy in others {
            self.is_damaged |= self.write_catalogue(copy).await.is_err();
        }
        self.put_in_force().await;
        Ok(())
    }

    fn is_slot_whole(&self, slot: u8) -> bool {
        self.damaged_slots & 1 << slot == 0
    }

    /// Number of this start, counted from 1; 0 when the store cannot be read.
    pub fn boot(&self) -> u32 {
        self.boot
    }

    /// True when the store cannot be used, or when something in it was lost.
    pub fn has_fault(&self) -> bool {
        let mut slots = self.catalogue.entries().iter().map(|entry| entry.slot);
        self.broken.is_some() || self.is_damaged || !slots.all(|slot| self.is_slot_whole(slot))
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
        self.usable().map(|()| self.catalogue.listed(|slot| self.is_slot_whole(slot)))
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
    /// When there is none of this identity, or it is damaged.
    pub async fn record(&mut self, id: RecordId) -> Result<RecordBytes, Refusal> {
        self.usable()?;
        let slot = self.catalogue.entry(id).ok_or(Refusal::NoSuchRecord { id })?.slot;
        self.is_whole(id, slot).await;
        let found = self.fetch_record(id, slot).await;
        let bytes = found.map(|bytes| bytes.and_then(|bytes| RecordBytes::from_slice(bytes).ok()));
        bytes.map_err(|failure| failure.refusal(0))?.ok_or(Refusal::RecordDamaged { id })
    }

    /// A piece of the store's region as it is, also of a store that cannot be used.
    ///
    /// # Errors
    /// When the region cannot hold a store, or the flash cannot be read.
    pub async fn piece(&mut self, offset: u32) -> Result<StorePiece, Refusal> {
        let maps = self.maps.as_mut().ok_or(Refusal::StoreFault)?;
        let piece = maps.piece(offset).await;
        piece.map(|(size, bytes)| StorePiece { size, bytes }).map_err(|failure| failure.refusal(0))
    }

    /// Keeps a record's canonical bytes; a calibration is in force then.
    ///
    /// # Errors
    /// When it is unreadable, newer than this firmware, of another board, or of another electrode or
    /// cell than is fitted; when its short form is taken; when the store cannot be used or has no
    /// room. Everything is as before then.
    pub async fn keep(&mut self, bytes: &[u8]) -> Result<RecordId, Refusal> {
        self.keep_as(bytes, Rank::Newest).await
    }

    /// Keeps a record's canonical bytes before the newest one of its kind and sensor, which stays that.
    ///
    /// # Errors
    /// As for [`Self::keep`].
    pub async fn keep_earlier(&mut self, bytes: &[u8]) -> Result<RecordId, Refusal> {
        self.keep_as(bytes, Rank::Earlier).await
    }

    async fn keep_as(&mut self, bytes: &[u8], rank: Rank) -> Result<RecordId, Refusal> {
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
            self.catalogue.with_record(id, record.kind(), quantity, serial, bytes.len(), rank)?;
        let there = self.is_whole(id, slot).await;
        if !there {
            let written = self.write(Place::Main, KEY_FIRST_SLOT + slot, bytes).await;
            written.map_err(|failure| failure.refusal(bytes.len()))?;
            self.is_whole(id, slot).await;
        }
        let is_ranked = match rank {
            Rank::Newest => self.catalogue.is_last(id),
            Rank::Earlier => self.catalogue.entry(id).is_some(),
        };
        if is_ranked && there {
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
