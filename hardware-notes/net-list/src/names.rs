//! The names of the nets: the same in every drawing, deck, page and file.

use super::Net;

macro_rules! nets {
    ($($name:ident $text:literal $meaning:literal)*) => {
        #[allow(non_camel_case_types, clippy::upper_case_acronyms)]
        enum Number { $($name),* }
        $(
            #[doc = concat!("`", $text, "`: ", $meaning, ".")]
            pub const $name: Net = Net(Number::$name as u8);
        )*
        /// Every net.
        pub const NETS: &[Net] = &[$($name),*];
        /// Name and meaning of each of [`NETS`].
        pub(super) const TEXTS: &[(&str, &str)] = &[$(($text, $meaning)),*];
    };
}

nets! {
    GROUND "GND" "ground"
    SUPPLY "3V3" "the Pico's 3.3 V"
    FILTERED "3V3F" "the same behind its filter, always on"
    SWITCHED "3V3S" "switched by the sensor power"
    POWER_GATE "power_gate" "gate of the sensor power's transistor"
    HALF "half" "the divider that mid follows"
    MID "mid" "half of the switched supply"

    GLASS "glass" "inner contact of the pH electrode's socket"
    BEHIND_GLASS "behind_glass" "from R1 and C1 to R31, inside the guard"
    INPUT "input" "the electrometer's input, inside the guard"
    GUARD "guard" "the electrometer's output, and the guard"
    REFERENCE "reference" "shell of the pH electrode's socket"
    REFERENCE_RETURN "reference_return" "from the reference to its switch"
    AIN0 "AIN0" "converter input 0: electrode"
    AIN1 "AIN1" "converter input 1: mid"
    AIN2 "AIN2" "converter input 2: hold of the positive half period"
    AIN3 "AIN3" "converter input 3: hold of the negative half period"

    DIVIDED "drive_in" "the divided drive"
    DRIVE_OUT "drive_out" "the drive's follower"
    BLOCKED "drive_ac" "behind the blocking capacitor"
    HOT "h" "hot end of the range resistor, without current"
    RANGE_1K "range_1k" "hot end of the range resistor of 1 kΩ"
    RANGE_10K "range_10k" "hot end of the range resistor of 10 kΩ"
    RANGE_100K "range_100k" "hot end of the range resistor of 100 kΩ"
    THERMOMETER_DRIVE "thermometer_drive" "hot end of the thermometer's reference resistor"
    CELL_TOP "cell_top" "cell's top"
    CELL_BOTTOM "cell_bottom" "cell's bottom"
    CELL_RETURN "cell_return" "from the cell's bottom to its blocking capacitor"
    RETURN "return" "from that to the return's switch"
    THERMOMETER_TOP "thermometer_top" "thermometer's top"
    THERMOMETER_BOTTOM "thermometer_bottom" "thermometer's bottom"
    TAP_A "tap_a" "tap at the cell's top"
    TAP_B "tap_b" "tap at the cell's bottom"
    TAP_TOP "tap_top" "tap at the thermometer's top"
    TAP_BOTTOM "tap_bottom" "tap at the thermometer's bottom"
    TAP "tap" "the tap that is looked at"
    FOLLOWER "follower" "the taps' follower"
    HOLD_PLUS "hold_plus" "to the positive gate"
    HOLD_MINUS "hold_minus" "to the negative gate"

    I2C_DATA "i2c_data" "I2C data"
    I2C_CLOCK "i2c_clock" "I2C clock"
    RANGE_LOW "range_low" "range switch, low bit"
    RANGE_HIGH "range_high" "range switch, high bit"
    TAP_LOW "tap_low" "tap switch, low bit"
    TAP_HIGH "tap_high" "tap switch, high bit"
    DRIVE "drive" "excitation"
    GATE_PLUS "gate_plus" "gate of the positive half period"
    GATE_MINUS "gate_minus" "gate of the negative half period"
    CELL "cell" "cell switch"
    POWER_NOT "power_not" "sensor power, low is on"
    CLOCK_ALARM "clock_alarm" "alarm of the clock chip"
    COIN "coin" "coin cell"
}
