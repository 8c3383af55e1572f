//! What is fitted to a board now.

use heapless::String;
use serde::{Deserialize, Serialize};

use super::Quantity;

/// A serial that the user gave to an electrode, a cell or a thermometer.
pub type Serial = String<16>;

/// What the user says is fitted to the board.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Fitted {
    /// The pH electrode.
    pub electrode: Option<Serial>,
    /// The conductivity cell.
    pub cell: Option<Serial>,
    /// The thermometer.
    pub thermometer: Option<Serial>,
}

impl Fitted {
    /// Serial of the electrode (for pH), the cell (for conductivity) or the thermometer.
    #[must_use]
    pub const fn serial_for(&self, quantity: Quantity) -> Option<&Serial> {
        match quantity {
            Quantity::Ph => self.electrode.as_ref(),
            Quantity::Conductivity => self.cell.as_ref(),
            Quantity::Temperature => self.thermometer.as_ref(),
        }
    }
}

/// A [`Fitted`] with the time it was said.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Equipment {
    /// What is fitted.
    pub fitted: Fitted,
    /// Host time when it was said, milliseconds since 1970-01-01 UTC.
    pub utc_ms: i64,
}
