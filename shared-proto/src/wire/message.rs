//! Messages of wire version 1.

use heapless::Vec;
use serde::{Deserialize, Serialize};

use crate::identity::{BoardId, RecordId, ShortId};
use crate::reading::Reading;
use crate::record::fitted::Equipment;
use crate::record::{Quantity, RecordBytes, RecordKind};

/// The wire version that this module speaks.
pub const WIRE_VERSION: u8 = 1;
/// The most records that a probe lists in one answer.
pub const MAX_LISTED: usize = 16;
/// Records of one kind that a probe keeps of one electrode, cell or thermometer: of calibrations the one in
/// force and the one before.
pub const KEPT_OF_EACH: usize = 2;
/// The most bytes of the store in one answer.
pub const STORE_PIECE_BYTES: usize = 1024;

/// What a probe samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Sampling {
    /// Nothing: the probe is quiet.
    Off,
    /// Electrode potential alone, at least twice a second, with a temperature now and then.
    Ph,
    /// Conductance and temperature alone.
    Conductivity,
    /// The full sequence, one reading every so many milliseconds (0: as fast as it goes).
    Full {
        /// From the start of one reading to the start of the next.
        interval_ms: u32,
    },
}

/// A command, with an id that its answer repeats.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Command {
    /// Chosen by the host. The same id with the same bytes again is answered again, not done again.
    pub id: u32,
    /// What to do.
    pub order: Order,
}

/// What a host can ask of a probe.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant)] // no_std without alloc: nothing to box into
pub enum Order {
    /// Start, change or stop sampling.
    Sample(Sampling),
    /// Say what is fitted.
    Equip(Equipment),
    /// Ask what is fitted.
    TellEquipment,
    /// Keep this record; a calibration is used from now on.
    Keep(RecordBytes),
    /// List the records kept.
    ListRecords,
    /// Hand out one record.
    TellRecord(RecordId),
    /// Set the clock chip (milliseconds since 1970-01-01 UTC; the chip keeps whole seconds).
    SetClock {
        /// The time to set.
        utc_ms: i64,
    },
    /// Ask the clock chip's time.
    TellClock,
    /// Hand out the store's part of the flash as it is, from this byte on; also of a store that cannot
    /// be used.
    TellStore {
        /// The first byte, counted from the start of that part.
        offset: u32,
    },
    /// Keep this record as an earlier one: where a calibration of the same sensor is in force, that stays so.
    KeepEarlier(RecordBytes),
}

/// The one answer to a command.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant)]
pub struct Answer {
    /// Id of the command.
    pub id: u32,
    /// What came of it.
    pub outcome: Result<Done, Refusal>,
}

/// A command that was done.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant)]
pub enum Done {
    /// Nothing more to say.
    Plain,
    /// What is fitted; `None` when nobody ever said.
    Equipment(Option<Equipment>),
    /// The record is kept, under this identity.
    Kept(RecordId),
    /// The records kept.
    Records(Vec<Listed, MAX_LISTED>),
    /// One record's canonical bytes.
    Record(RecordBytes),
    /// The clock chip's time in milliseconds since 1970-01-01 UTC; `None` when it lost its time.
    Clock(Option<i64>),
    /// A piece of the store's part of the flash.
    Store(StorePiece),
}

/// A piece of the store's part of the flash.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct StorePiece {
    /// Bytes of the whole part.
    pub size: u32,
    /// The bytes from the offset that was asked for: none from the end on, else as many as there are and
    /// an answer holds.
    pub bytes: Vec<u8, STORE_PIECE_BYTES>,
}

/// One kept record.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Listed {
    /// Its identity.
    pub id: RecordId,
    /// What kind of record it is.
    pub kind: RecordKind,
    /// What it calibrates or verifies.
    pub quantity: Quantity,
    /// True when readings are computed with it now; never of a verification.
    pub in_force: bool,
    /// False when its bytes are damaged: it cannot be handed out, and nothing is computed with it.
    pub whole: bool,
}

/// Why a command was not done; the numbers are what a person needs to mend it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Refusal {
    /// The frame was whole, but this firmware does not know the order.
    UnknownOrder,
    /// The record's bytes are not a record this firmware can read.
    RecordUnreadable,
    /// The record is of a newer version.
    RecordVersion {
        /// Version found.
        found: u8,
        /// Newest version this firmware reads.
        newest: u8,
    },
    /// The record was made for another board.
    OtherBoard {
        /// The board it was made for.
        made_for: BoardId,
    },
    /// The record was made for another electrode or cell than the one fitted.
    NotFitted,
    /// Another record with this short form is kept already.
    ShortIdTaken {
        /// The short form.
        short: ShortId,
    },
    /// No record of that identity is kept.
    NoSuchRecord {
        /// What was asked for.
        id: RecordId,
    },
    /// The store has no room.
    StoreFull {
        /// Bytes needed.
        needed: u32,
    },
    /// The store's content is damaged; nothing was erased.
    StoreCorrupt,
    /// The flash chip reported an error.
    StoreFault,
    /// The clock chip does not answer.
    ClockSilent,
    /// The time is outside what the clock chip can hold (2000 to 2099).
    ClockRange,
    /// This record is kept, but its bytes are damaged. The rest of the store can be used.
    RecordDamaged {
        /// What was asked for.
        id: RecordId,
    },
}

/// What a probe says unasked or in answer.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[allow(clippy::large_enum_variant)]
pub enum FromProbe {
    /// The one answer to a command.
    Answer(Answer),
    /// A reading.
    Reading(Reading),
}
