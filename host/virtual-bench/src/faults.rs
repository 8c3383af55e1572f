//! What can be made to fail on purpose.

use crate::water::Beaker;

/// How the thermometer fails.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Thermometer {
    /// It works.
    #[default]
    Sound,
    /// A lead is broken.
    Open,
    /// The leads touch.
    Short,
}

/// The faults in force; the default is none.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Faults {
    /// Part of the line's bytes that vanish, 0 to 1, in both directions.
    pub dropped_bytes: f64,
    /// Part of the line's bytes of which one bit is flipped, 0 to 1, in both directions.
    pub damaged_bytes: f64,
    /// The thermometer.
    pub thermometer: Thermometer,
    /// The converter does not answer on the bus.
    pub adc_silent: bool,
    /// The clock chip does not answer on the bus.
    pub clock_silent: bool,
    /// The electrode's lead is broken: the input drifts to the rail.
    pub electrode_open: bool,
    /// The cell's lead is broken.
    pub cell_open: bool,
    /// Whatever is asked for, this beaker is placed.
    pub wrong_beaker: Option<Beaker>,
}
