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

/// The board's monotonic clock, and who watches that its time is made use of.
pub trait Uptime {
    /// Microseconds since the board started.
    fn now_us(&self) -> u64;
    /// The work goes on: called at least once in [`ALIVE_US`] by the work half of the service, except
    /// while it stores something or a transfer on the I2C bus takes longer. A board feeds its
    /// watchdog here and shows the condition on its lamp.
    ///
    /// [`ALIVE_US`]: crate::constants::ALIVE_US
    fn alive(&self, condition: Condition);
}

/// What a lamp on the board tells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Condition {
    /// A host has asked for readings.
    pub is_sampling: bool,
    /// The store cannot be used, or something in it was lost.
    pub has_store_fault: bool,
    /// Conversions are timed: no lamp takes from the supply, and its regulator is to be as quiet as it can.
    pub is_converting: bool,
}

impl Condition {
    /// Short flashes in a row, once a second: 1 waiting, 2 sampling, 3 store fault. A dark lamp is a
    /// board that is not alive.
    pub const fn flashes(self) -> u32 {
        match self {
            Self { has_store_fault: true, .. } => 3,
            Self { is_sampling: true, .. } => 2,
            _ => 1,
        }
    }
}

/// The lamp of a board, as its task and the work tell it: whatever the task is about, it is dark while
/// conversions are timed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Lamp {
    is_lit: bool,
    is_quiet: bool,
}

impl Lamp {
    /// The work is in this condition; what the lamp is to be at once.
    pub const fn tell(&mut self, condition: Condition) -> bool {
        self.is_quiet = condition.is_converting;
        self.is_lit &= !self.is_quiet;
        self.is_lit
    }

    /// The task would have it lit or dark; what it is to be.
    pub const fn light(&mut self, is_lit: bool) -> bool {
        self.is_lit = is_lit && !self.is_quiet;
        self.is_lit
    }

    /// True when the next flash is to wait for the end of conversions.
    pub const fn is_quiet(&self) -> bool {
        self.is_quiet
    }
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_lamp_is_dark_while_conversions_are_timed() {
        let idle = Condition::default();
        let converting = Condition { is_converting: true, ..idle };
        let mut lamp = Lamp::default();
        assert!(!lamp.tell(idle) && lamp.light(true));
        assert!(lamp.tell(idle), "the work goes on and leaves it as it is");
        assert!(!lamp.tell(converting) && lamp.is_quiet());
        // A row of flashes that began before, whatever it was for.
        assert!(!lamp.light(true) && !lamp.light(false) && !lamp.light(true));
        assert!(!lamp.tell(idle), "it stays dark until the task lights it");
        assert!(lamp.light(true) && !lamp.light(false));
    }
}
