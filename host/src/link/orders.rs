//! The orders, each with the one form of answer that fits it.

use std::cmp::Ordering;

use rillmark_proto::identity::RecordId;
use rillmark_proto::record::fitted::Equipment;
use rillmark_proto::record::{RecordBytes, codec};
use rillmark_proto::wire::message::{Done, Listed, Order, STORE_PIECE_BYTES, Sampling, StorePiece};

use super::probe::{Probe, ProbeError};
use crate::words::en::probe as words;

/// The largest store that is believed, in bytes: more than the flash of any board.
const STORE_MOST: u32 = 16 << 20;
/// How long a whole store may take, in ms of the line's time: a hundred times what a board needs.
const STORE_PATIENCE_MS: u64 = 120_000;

impl Probe {
    fn plain(&mut self, order: Order) -> Result<(), ProbeError> {
        let name = order_name(&order);
        match self.command(order)? {
            Done::Plain => Ok(()),
            _ => Err(ProbeError::UnknownAnswer { order: name }),
        }
    }

    /// Starts, changes or stops sampling.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn sample(&mut self, sampling: Sampling) -> Result<(), ProbeError> {
        self.plain(Order::Sample(sampling))
    }

    /// Says what is fitted.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn equip(&mut self, equipment: Equipment) -> Result<(), ProbeError> {
        self.plain(Order::Equip(equipment))
    }

    /// What is fitted; `None` when nobody ever said.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn equipment(&mut self) -> Result<Option<Equipment>, ProbeError> {
        match self.command(Order::TellEquipment)? {
            Done::Equipment(equipment) => Ok(equipment),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::TELL_EQUIPMENT }),
        }
    }

    /// Has a record kept and used from now on.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn keep(&mut self, record: RecordBytes) -> Result<RecordId, ProbeError> {
        self.kept(Order::Keep(record))
    }

    /// Has an earlier record kept: what is in force stays so.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn keep_earlier(&mut self, record: RecordBytes) -> Result<RecordId, ProbeError> {
        self.kept(Order::KeepEarlier(record))
    }

    fn kept(&mut self, order: Order) -> Result<RecordId, ProbeError> {
        match self.command(order)? {
            Done::Kept(id) => Ok(id),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::KEEP }),
        }
    }

    /// The records kept.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn records(&mut self) -> Result<Vec<Listed>, ProbeError> {
        match self.command(Order::ListRecords)? {
            Done::Records(listed) => Ok(listed.to_vec()),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::LIST_RECORDS }),
        }
    }

    /// The canonical bytes of one record, which are those of its identity.
    ///
    /// # Errors
    /// As for [`Self::command`]; [`ProbeError::OtherRecord`] when the bytes are not those of `id`.
    pub fn record(&mut self, id: RecordId) -> Result<RecordBytes, ProbeError> {
        match self.command(Order::TellRecord(id))? {
            Done::Record(bytes) => match codec::identity(&bytes) {
                found if found == id => Ok(bytes),
                found => Err(ProbeError::OtherRecord { asked: id, found }),
            },
            _ => Err(ProbeError::UnknownAnswer { order: words::order::TELL_RECORD }),
        }
    }

    /// The bytes of the store's part of the flash as they are, also of a store that cannot be used.
    ///
    /// # Errors
    /// As for [`Self::command`]; [`ProbeError::UnknownAnswer`] when the pieces are not those of one part, or
    /// smaller than they have to be; [`ProbeError::NoAnswer`] when all of them take too long.
    pub fn store(&mut self) -> Result<Vec<u8>, ProbeError> {
        let unknown = ProbeError::UnknownAnswer { order: words::order::TELL_STORE };
        let mut store = Vec::new();
        let mut whole = None;
        let until = self.link().monotonic_ms().saturating_add(STORE_PATIENCE_MS);
        loop {
            if self.link().monotonic_ms() >= until {
                let name = self.link().name().to_owned();
                return Err(ProbeError::NoAnswer { name, order: words::order::TELL_STORE });
            }
            let offset = u32::try_from(store.len()).unwrap_or(u32::MAX);
            match self.command(Order::TellStore { offset })? {
                Done::Store(StorePiece { size, bytes })
                    if size <= STORE_MOST && whole.is_none_or(|whole| whole == size) =>
                {
                    whole = Some(size);
                    store.extend_from_slice(&bytes);
                    match store.len().cmp(&(size as usize)) {
                        Ordering::Equal => return Ok(store),
                        Ordering::Less if bytes.len() == STORE_PIECE_BYTES => {}
                        _ => return Err(unknown),
                    }
                }
                _ => return Err(unknown),
            }
        }
    }

    /// Sets the clock chip to the line's UTC.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn set_clock(&mut self) -> Result<(), ProbeError> {
        let utc_ms = self.link().utc_ms();
        self.plain(Order::SetClock { utc_ms })
    }

    /// The clock chip's UTC in milliseconds; `None` when it lost its time.
    ///
    /// # Errors
    /// As for [`Self::command`].
    pub fn clock(&mut self) -> Result<Option<i64>, ProbeError> {
        match self.command(Order::TellClock)? {
            Done::Clock(utc_ms) => Ok(utc_ms),
            _ => Err(ProbeError::UnknownAnswer { order: words::order::TELL_CLOCK }),
        }
    }
}

/// What an order asks, in words.
pub(super) fn order_name(order: &Order) -> &'static str {
    match order {
        Order::Sample(_) => words::order::SAMPLE,
        Order::Equip(_) => words::order::EQUIP,
        Order::TellEquipment => words::order::TELL_EQUIPMENT,
        Order::Keep(_) | Order::KeepEarlier(_) => words::order::KEEP,
        Order::ListRecords => words::order::LIST_RECORDS,
        Order::TellRecord(_) => words::order::TELL_RECORD,
        Order::SetClock { .. } => words::order::SET_CLOCK,
        Order::TellClock => words::order::TELL_CLOCK,
        Order::TellStore { .. } => words::order::TELL_STORE,
    }
}
