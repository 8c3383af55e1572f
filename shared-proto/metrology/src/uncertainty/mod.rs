//! How uncertain the values of a reading are, and what makes them so.

pub mod conductivity;
pub mod ph;
pub mod reading;
pub mod temperature;

/// Whether the thermometer is known today as it was when a sensor was calibrated.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash)]
pub enum Since {
    /// As it was: its error is the same, and enters calibration and reading with the same sign.
    #[default]
    Same,
    /// It was calibrated since, or exchanged: what it was off at the calibration has nothing to do
    /// with what it is off now.
    Other,
}
