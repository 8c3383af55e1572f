//! What a board hands to the firmware: its I2C bus, its pins, its excitation, its time.

/// Makes the square wave that drives the cell and the two gates that sample it.
///
/// `start` begins with a half period of half length, so that the blocking capacitors start on
/// their symmetric orbit; each gate is open for the centre 25–75 % of its half period.
pub trait Excitation {
    /// Drives the cell at this frequency, gates running.
    fn start(&mut self, frequency_hz: u32);
    /// Holds the drive at mid, gates shut.
    fn park(&mut self);
    /// Lets the drive pin float, gates shut.
    fn float(&mut self);
}

/// The board's monotonic clock.
pub trait Uptime {
    /// Microseconds since the board started.
    fn now_us(&self) -> u64;
}

/// The pins of the analog front end (see `hardware-notes`).
#[derive(Debug)]
pub struct Pins<P> {
    /// Range switch, low bit: 00 1 kΩ, 01 10 kΩ, 10 100 kΩ, 11 thermometer against 2 kΩ.
    pub range_low: P,
    /// Range switch, high bit.
    pub range_high: P,
    /// Tap switch, low bit: 00 h (hot end of the range resistor), 01 a (cell or thermometer top),
    /// 10 b (cell or thermometer bottom).
    pub tap_low: P,
    /// Tap switch, high bit.
    pub tap_high: P,
    /// Cell switch: high closes the cell's return to mid.
    pub cell: P,
    /// Sensor power: low switches the front end on (gate of a P-channel transistor).
    pub power_not: P,
}

/// Everything of the board that the firmware drives, apart from flash and line.
#[derive(Debug)]
pub struct Parts<I, P, X, U, D> {
    /// The bus with the converter and the clock chip.
    pub i2c: I,
    /// The front end's pins.
    pub pins: Pins<P>,
    /// The excitation.
    pub excitation: X,
    /// The monotonic clock.
    pub uptime: U,
    /// Delays on the same clock (cloned: the line and the sampler each wait for themselves).
    pub delay: D,
}
