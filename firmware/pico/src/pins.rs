//! The pins: one table, from which the board is wired, the program takes its pins and tests read.

/// Which way a pin goes, seen from the microcontroller.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// To the front end.
    Out,
    /// From the front end.
    In,
    /// Open drain, both ways.
    Bus,
}

/// One line between the microcontroller and the front end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Line {
    /// Name of the line, as the program calls it.
    pub name: &'static str,
    /// Number of the pin as the microcontroller counts ("GP" on the Pico).
    pub gpio: u8,
    /// Which way it goes.
    pub direction: Direction,
    /// What it does.
    pub meaning: &'static str,
}

/// The number in the name of a peripheral such as `PIN_12`.
const fn gpio(peripheral: &str) -> u8 {
    let bytes = peripheral.as_bytes();
    let (mut at, mut number) = ("PIN_".len(), 0);
    while at < bytes.len() {
        number = number * 10 + bytes[at] - b'0';
        at += 1;
    }
    number
}

macro_rules! pins {
    ($($name:ident: $peripheral:ident $direction:ident $meaning:literal)*) => {
        /// Every line, in the order of the pins.
        pub const LINES: &[Line] = &[$(Line {
            name: stringify!($name),
            gpio: gpio(stringify!($peripheral)),
            direction: Direction::$direction,
            meaning: $meaning,
        }),*];

        /// The pins of [`LINES`], to be filled from the peripherals of the same names.
        #[cfg(target_os = "none")]
        #[allow(missing_docs)] // the meanings in the table
        pub struct Pins {
            $(pub $name: embassy_rp::Peri<'static, embassy_rp::peripherals::$peripheral>),*
        }

        /// Takes the pins out of the peripherals.
        #[cfg(target_os = "none")]
        #[macro_export]
        macro_rules! take_pins {
            ($from:ident) => {
                $crate::pins::Pins { $($name: $from.$peripheral),* }
            };
        }
    };
}

pins! {
    i2c_data:     PIN_4  Bus "I2C data: converter and clock chip"
    i2c_clock:    PIN_5  Bus "I2C clock"
    range_low:    PIN_6  Out "range switch, low bit"
    range_high:   PIN_7  Out "range switch, high bit"
    tap_low:      PIN_8  Out "tap switch, low bit"
    tap_high:     PIN_9  Out "tap switch, high bit"
    drive:        PIN_10 Out "excitation: high and low about mid, floating is mid"
    gate_plus:    PIN_11 Out "gate of the positive half period, high is open"
    gate_minus:   PIN_12 Out "gate of the negative half period, high is open"
    cell:         PIN_13 Out "cell switch, high closes the return to mid"
    power_not:    PIN_14 Out "sensor power, low is on"
    clock_alarm:  PIN_15 In  "alarm of the clock chip, low is alarm"
    regulator:    PIN_23 Out "the board's own regulator, high is its low-noise mode"
    lamp:         PIN_25 Out "the board's own lamp"
}

#[cfg(test)]
mod tests {
    use super::{LINES, gpio};

    #[test]
    fn no_pin_is_used_twice_and_the_excitation_has_three_in_a_row() {
        for (at, line) in LINES.iter().enumerate() {
            assert!(LINES[at + 1..].iter().all(|other| other.gpio > line.gpio), "{line:?}");
        }
        let of = |name| LINES.iter().find(|line| line.name == name).expect(name).gpio;
        assert_eq!((of("gate_plus"), of("gate_minus")), (of("drive") + 1, of("drive") + 2));
    }

    #[test]
    fn a_pins_number_is_that_of_its_name() {
        assert_eq!((gpio("PIN_4"), gpio("PIN_25")), (4, 25));
    }
}
