//! The catalogue: what is fitted, which records are kept, and in which slot each of them is.
//!
//! Pure values: what a change would look like is worked out here, before anything is written.

use heapless::Vec;
use rillmark_proto::identity::RecordId;
use rillmark_proto::record::fitted::{Equipment, Serial};
use rillmark_proto::record::{Quantity, RecordKind};
use rillmark_proto::wire::message::{KEPT_OF_EACH, Listed, MAX_LISTED, Refusal};
use serde::{Deserialize, Serialize};

/// Version byte before the catalogue's body.
const VERSION: u8 = 1;
/// The most bytes of a catalogue: version 1, counter 5, equipment 1 + 3 · 18 + 10, length 1, and
/// 16 entries of 16 + 1 + 1 + 17 + 1.
pub const MAX_BYTES: usize = 1 + 5 + 65 + 1 + MAX_LISTED * 36;
/// Slots for records: one more than can be listed, so that a new record never has to be written
/// over one that is still listed.
pub const SLOTS: u8 = MAX_LISTED as u8 + 1;

/// One kept record.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Entry {
    /// Its identity.
    pub id: RecordId,
    /// What kind of record it is.
    pub kind: RecordKind,
    /// What it calibrates or verifies.
    pub quantity: Quantity,
    /// Which electrode, cell or thermometer.
    pub serial: Serial,
    /// Where its bytes are.
    pub slot: u8,
}

impl Entry {
    /// True of two calibrations, or of two verifications, of one electrode, cell or thermometer.
    fn is_of_the_same(&self, other: &Self) -> bool {
        self.kind == other.kind && self.quantity == other.quantity && self.serial == other.serial
    }
}

/// Where a record stands among those of its kind of the same electrode, cell or thermometer.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rank {
    /// It is the last one; a calibration is in force.
    Newest,
    /// It stands before the last one, which stays that; where there is none, it is the last one.
    Earlier,
}

/// What is fitted and what is kept.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Catalogue {
    /// Counts changes; of the copies the highest one counts.
    pub change: u32,
    /// What is fitted; `None` when nobody ever said.
    pub equipment: Option<Equipment>,
    /// The records, in the order in which they were last kept.
    entries: Vec<Entry, MAX_LISTED>,
}

impl Catalogue {
    /// Reads a stored catalogue; `None` when these bytes are none of a known version.
    pub fn from_bytes(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [VERSION, body @ ..] => match postcard::take_from_bytes(body) {
                Ok((catalogue, [])) => Some(catalogue),
                _ => None,
            },
            _ => None,
        }
    }

    /// The bytes to store; `None` would mean that [`MAX_BYTES`] is wrong.
    pub fn to_bytes(&self) -> Option<Vec<u8, MAX_BYTES>> {
        let mut bytes = Vec::new();
        bytes.resize(MAX_BYTES, VERSION).ok()?;
        let len = postcard::to_slice(self, &mut bytes[1..]).ok()?.len();
        bytes.truncate(1 + len);
        Some(bytes)
    }

    /// The records kept.
    pub fn entries(&self) -> &[Entry] {
        &self.entries
    }

    /// The entry of this identity.
    pub fn entry(&self, id: RecordId) -> Option<&Entry> {
        self.entries.iter().find(|entry| entry.id == id)
    }

    /// Serial of the electrode, cell or thermometer that is fitted.
    pub fn fitted(&self, quantity: Quantity) -> Option<&Serial> {
        self.equipment.as_ref()?.fitted.serial_for(quantity)
    }

    /// The record that readings are computed with: the calibration last kept of what is fitted.
    pub fn in_force(&self, quantity: Quantity) -> Option<&Entry> {
        let serial = self.fitted(quantity)?;
        self.entries.iter().rev().find(|entry| {
            entry.kind == RecordKind::Calibration
                && entry.quantity == quantity
                && entry.serial == *serial
        })
    }

    /// Whether a record is kept, and none of its kind of the same electrode, cell or thermometer
    /// after it.
    pub fn is_last(&self, id: RecordId) -> bool {
        let at = self.entries.iter().position(|entry| entry.id == id);
        at.is_some_and(|at| !self.is_followed(at))
    }

    fn is_followed(&self, at: usize) -> bool {
        self.entries[at + 1..].iter().any(|later| later.is_of_the_same(&self.entries[at]))
    }

    /// The records as a host is told of them; `is_whole` says of a slot whether its record is.
    pub fn listed(&self, is_whole: impl Fn(u8) -> bool) -> Vec<Listed, MAX_LISTED> {
        let in_force = |entry: &Entry| self.in_force(entry.quantity) == Some(entry);
        let listed = |entry: &Entry| Listed {
            id: entry.id,
            kind: entry.kind,
            quantity: entry.quantity,
            in_force: in_force(entry),
            whole: is_whole(entry.slot),
        };
        self.entries.iter().map(listed).collect()
    }

    /// This catalogue after something else was fitted.
    pub fn equipped(&self, equipment: Equipment) -> Self {
        Self {
            change: self.change.saturating_add(1),
            equipment: Some(equipment),
            entries: self.entries.clone(),
        }
    }

    /// This catalogue after a record of these many bytes was kept, and the slot to write it to; the
    /// slot is free in this catalogue, or holds that very record.
    ///
    /// Of each electrode, cell and thermometer the last two of each kind are kept. When all places
    /// are taken, the oldest verification goes that is not the last one of what it is of; else the
    /// oldest such calibration; else, for a calibration alone, the oldest verification.
    ///
    /// # Errors
    /// [`Refusal::ShortIdTaken`], and [`Refusal::StoreFull`] when nothing may go.
    pub fn with_record(
        &self,
        id: RecordId,
        kind: RecordKind,
        quantity: Quantity,
        serial: &Serial,
        bytes: usize,
        rank: Rank,
    ) -> Result<(Self, u8), Refusal> {
        let short = id.short();
        if self.entries.iter().any(|entry| entry.id.short() == short && entry.id != id) {
            return Err(Refusal::ShortIdTaken { short });
        }
        let full = Refusal::StoreFull { needed: u32::try_from(bytes).unwrap_or(u32::MAX) };
        let is_taken = |slot: &u8| self.entries.iter().any(|entry| entry.slot == *slot);
        let slot = match self.entry(id) {
            Some(entry) => entry.slot,
            None => (0..SLOTS).find(|slot| !is_taken(slot)).ok_or(full)?,
        };
        let new = Entry { id, kind, quantity, serial: serial.clone(), slot };
        // Kept again, the last one is the last one whatever its rank.
        let was_last = self.is_last(id);
        let mut next = self.clone();
        next.change = self.change.saturating_add(1);
        next.entries.retain(|entry| entry.id != id);
        while next.entries.iter().filter(|entry| entry.is_of_the_same(&new)).count() >= KEPT_OF_EACH
        {
            let Some(oldest) = next.entries.iter().position(|entry| entry.is_of_the_same(&new))
            else {
                break;
            };
            next.entries.remove(oldest);
        }
        if next.entries.is_full() {
            let going = next.to_make_room_for(&new).ok_or(full)?;
            next.entries.remove(going);
        }
        let before = next.entries.iter().rposition(|entry| entry.is_of_the_same(&new));
        let at = match rank {
            Rank::Newest => next.entries.len(),
            Rank::Earlier if was_last => next.entries.len(),
            Rank::Earlier => before.unwrap_or(next.entries.len()),
        };
        next.entries.insert(at, new).map_err(|_| full)?;
        Ok((next, slot))
    }

    /// Which entry goes when there is no place left.
    fn to_make_room_for(&self, new: &Entry) -> Option<usize> {
        let oldest = |kind: RecordKind, followed: bool| {
            (0..self.entries.len()).find(|&at| {
                let entry = &self.entries[at];
                let is_followed = self.is_followed(at) || new.is_of_the_same(entry);
                entry.kind == kind && (is_followed || !followed)
            })
        };
        oldest(RecordKind::Verification, true)
            .or_else(|| oldest(RecordKind::Calibration, true))
            .or_else(|| {
                let is_calibration = new.kind == RecordKind::Calibration;
                is_calibration.then(|| oldest(RecordKind::Verification, false)).flatten()
            })
    }
}

#[cfg(test)]
#[path = "catalogue_tests.rs"]
mod tests;
