//! The table. Pin numbers are those of the usual packages (data sheets of each class, REFERENCES 23;
//! recalled, not checked). Of two ends, the left or upper one of the drawings comes first.

use super::Kind::{Bidirectional, Input, Open, OpenCollector, Output, Passive, PowerIn, PowerOut};
use super::names::*;
use super::{Net, Package, Pin};

/// A pin's net: a name, or `-` where it is open.
macro_rules! net {
    (-) => {
        None
    };
    ($net:ident) => {
        Some($net)
    };
}

macro_rules! parts {
    (
        two ends { $($two:ident $body:ident: $left:ident, $right:ident;)* }
        $($part:ident $package:ident { $($number:literal $name:literal $kind:ident $net:tt,)+ })*
    ) => {
        /// Every pin of every part, once.
        pub const PINS: &[Pin] = &[
            $(end(stringify!($two), 1, "left", $left), end(stringify!($two), 2, "right", $right),)*
            $($(Pin {
                part: stringify!($part), number: $number, name: $name, kind: $kind, net: net!($net),
            },)+)*
        ];
        /// Every part with its package.
        pub const PACKAGES: &[(&str, Package)] = &[
            $((stringify!($two), Package::$body),)*
            $((stringify!($part), Package::$package),)*
        ];
    };
}

const fn end(part: &'static str, number: u8, name: &'static str, net: Net) -> Pin {
    Pin { part, number, name, kind: Passive, net: Some(net) }
}

parts! {
    two ends {
        R1 Chip0805: GLASS, BEHIND_GLASS;
        R2 Chip0805: GUARD, AIN0;
        R3 Chip0805: MID, AIN1;
        R4 Chip0805: SWITCHED, HALF;
        R5 Chip0805: HALF, GROUND;
        R6 Chip0805: DRIVE, DIVIDED;
        R7 Chip0805: DIVIDED, MID;
        R8 Chip0805: RANGE_1K, CELL_TOP;
        R9 Chip0805: RANGE_10K, CELL_TOP;
        R10 Chip0805: RANGE_100K, CELL_TOP;
        R11 Chip0805: THERMOMETER_DRIVE, THERMOMETER_TOP;
        R12 Chip0805: FOLLOWER, HOLD_PLUS;
        R13 Chip0805: FOLLOWER, HOLD_MINUS;
        R14 Chip0805: SUPPLY, FILTERED;
        R15 Chip0805: FILTERED, POWER_GATE;
        R16 Chip0805: POWER_GATE, POWER_NOT;
        R17 Chip0805: REFERENCE, REFERENCE_RETURN;
        R18 Chip0805: TAP_A, CELL_TOP;
        R19 Chip0805: CELL_BOTTOM, TAP_B;
        R20 Chip0805: TAP_TOP, THERMOMETER_TOP;
        R21 Chip0805: THERMOMETER_BOTTOM, TAP_BOTTOM;
        R22 Chip0805: CELL, GROUND;
        R23 Chip0805: GATE_PLUS, GROUND;
        R24 Chip0805: GATE_MINUS, GROUND;
        R25 Chip0805: SUPPLY, I2C_DATA;
        R26 Chip0805: SUPPLY, I2C_CLOCK;
        R27 Chip0805: SUPPLY, CLOCK_ALARM;
        R28 Chip0805: MID, BLOCKED;
        R29 Chip0805: MID, THERMOMETER_BOTTOM;
        R30 Chip0805: CELL_RETURN, CELL_BOTTOM;
        R31 Chip0805: BEHIND_GLASS, INPUT;
        C1 Chip0805: BEHIND_GLASS, REFERENCE;
        C2 Chip0805: AIN0, GROUND;
        C3 Chip0805: AIN1, GROUND;
        C4 Chip0805: DRIVE_OUT, BLOCKED;
        C5 Chip1210: RETURN, CELL_RETURN;
        C6 Chip1206: AIN2, MID;
        C7 Chip1206: AIN3, MID;
        C8 Chip0805: FILTERED, GROUND;
        C9 Chip0805: SWITCHED, GROUND;
        C10 Chip0805: FILTERED, POWER_GATE;
        C11 Chip0805: HALF, GROUND;
        C12 Chip0805: SWITCHED, GROUND;
        C13 Chip0805: SWITCHED, GROUND;
        C14 Chip0805: FILTERED, GROUND;
        C15 Chip0805: FILTERED, GROUND;
        C16 Chip0805: FILTERED, GROUND;
        C17 Chip0805: FILTERED, GROUND;
        C18 Chip0805: SUPPLY, GROUND;
    }

    U1 So8 {
        1 "OUTA" Output GUARD,
        2 "-A" Input GUARD,
        3 "+A" Input INPUT,
        4 "V-" PowerIn GROUND,
        5 "+B" Input HALF,
        6 "-B" Input MID,
        7 "OUTB" Output MID,
        8 "V+" PowerIn SWITCHED,
    }
    U2 So8 {
        1 "OUTA" Output DRIVE_OUT,
        2 "-A" Input DRIVE_OUT,
        3 "+A" Input DIVIDED,
        4 "V-" PowerIn GROUND,
        5 "+B" Input TAP,
        6 "-B" Input FOLLOWER,
        7 "OUTB" Output FOLLOWER,
        8 "V+" PowerIn SWITCHED,
    }
    U3 So16 {
        1 "Y0" Passive RANGE_1K,
        2 "Y2" Passive RANGE_100K,
        3 "Y" Passive HOT,
        4 "Y3" Passive THERMOMETER_DRIVE,
        5 "Y1" Passive RANGE_10K,
        6 "INH" Input GROUND,
        7 "VEE" PowerIn GROUND,
        8 "VSS" PowerIn GROUND,
        9 "B" Input RANGE_HIGH,
        10 "A" Input RANGE_LOW,
        11 "X3" Passive THERMOMETER_DRIVE,
        12 "X0" Passive RANGE_1K,
        13 "X" Passive BLOCKED,
        14 "X1" Passive RANGE_10K,
        15 "X2" Passive RANGE_100K,
        16 "VDD" PowerIn FILTERED,
    }
    U4 So16 {
        1 "X4" Passive HOT,
        2 "X6" Passive TAP_B,
        3 "X" Passive TAP,
        4 "X7" Passive MID,
        5 "X5" Passive TAP_A,
        6 "INH" Input GROUND,
        7 "VEE" PowerIn GROUND,
        8 "VSS" PowerIn GROUND,
        9 "C" Input CELL,
        10 "B" Input TAP_HIGH,
        11 "A" Input TAP_LOW,
        12 "X3" Passive MID,
        13 "X0" Passive HOT,
        14 "X1" Passive TAP_TOP,
        15 "X2" Passive TAP_BOTTOM,
        16 "VDD" PowerIn FILTERED,
    }
    U5 So16 {
        1 "Y1" Passive HOLD_PLUS,
        2 "Y0" Open -,
        3 "Z1" Passive HOLD_MINUS,
        4 "Z" Passive AIN3,
        5 "Z0" Open -,
        6 "INH" Input GROUND,
        7 "VEE" PowerIn GROUND,
        8 "VSS" PowerIn GROUND,
        9 "C" Input GATE_MINUS,
        10 "B" Input GATE_PLUS,
        11 "A" Input CELL,
        12 "X0" Passive REFERENCE_RETURN,
        13 "X1" Passive RETURN,
        14 "X" Passive MID,
        15 "Y" Passive AIN2,
        16 "VDD" PowerIn FILTERED,
    }
    U6 Msop10 {
        1 "ADDR" Input GROUND,
        2 "ALERT" Open -,
        3 "GND" PowerIn GROUND,
        4 "AIN0" Input AIN0,
        5 "AIN1" Input AIN1,
        6 "AIN2" Input AIN2,
        7 "AIN3" Input AIN3,
        8 "VDD" PowerIn FILTERED,
        9 "SDA" OpenCollector I2C_DATA,
        10 "SCL" Input I2C_CLOCK,
    }
    U7 So16Wide {
        1 "32K" Open -,
        2 "VCC" PowerIn SUPPLY,
        3 "INT" OpenCollector CLOCK_ALARM,
        4 "RST" Open -,
        5 "NC" Passive GROUND,
        6 "NC" Passive GROUND,
        7 "NC" Passive GROUND,
        8 "NC" Passive GROUND,
        9 "NC" Passive GROUND,
        10 "NC" Passive GROUND,
        11 "NC" Passive GROUND,
        12 "NC" Passive GROUND,
        13 "GND" PowerIn GROUND,
        14 "VBAT" PowerIn COIN,
        15 "SDA" OpenCollector I2C_DATA,
        16 "SCL" Input I2C_CLOCK,
    }
    Q1 Sot23 {
        1 "gate" Input POWER_GATE,
        2 "source" Passive FILTERED,
        3 "drain" PowerOut SWITCHED,
    }
    D1 Sot23 { 1 "anode" Passive GROUND, 2 "cathode" Passive FILTERED, 3 "middle" Passive CELL_TOP, }
    D2 Sot23 { 1 "anode" Passive GROUND, 2 "cathode" Passive FILTERED, 3 "middle" Passive CELL_BOTTOM, }
    D3 Sot23 { 1 "anode" Passive GROUND, 2 "cathode" Passive FILTERED, 3 "middle" Passive THERMOMETER_TOP, }
    D4 Sot23 { 1 "anode" Passive GROUND, 2 "cathode" Passive FILTERED, 3 "middle" Passive THERMOMETER_BOTTOM, }
    BT1 CoinCell20 { 1 "plus" PowerOut COIN, 2 "minus" Passive GROUND, }
    J1 Contacts2 { 1 "glass" Passive GLASS, 2 "reference" Passive REFERENCE, }
    J2 Contacts3 { 1 "top" Passive CELL_TOP, 2 "bottom" Passive CELL_BOTTOM, 3 "shield" Passive GROUND, }
    J3 Contacts3 { 1 "top" Passive THERMOMETER_TOP, 2 "bottom" Passive THERMOMETER_BOTTOM, 3 "shield" Passive GROUND, }
    A1 Pico {
        1 "GP0" Open -,
        2 "GP1" Open -,
        3 "GND" Passive GROUND,
        4 "GP2" Open -,
        5 "GP3" Open -,
        6 "GP4" Bidirectional I2C_DATA,
        7 "GP5" Bidirectional I2C_CLOCK,
        8 "GND" Passive GROUND,
        9 "GP6" Output RANGE_LOW,
        10 "GP7" Output RANGE_HIGH,
        11 "GP8" Output TAP_LOW,
        12 "GP9" Output TAP_HIGH,
        13 "GND" Passive GROUND,
        14 "GP10" Output DRIVE,
        15 "GP11" Output GATE_PLUS,
        16 "GP12" Output GATE_MINUS,
        17 "GP13" Output CELL,
        18 "GND" Passive GROUND,
        19 "GP14" Output POWER_NOT,
        20 "GP15" Input CLOCK_ALARM,
        21 "GP16" Open -,
        22 "GP17" Open -,
        23 "GND" Passive GROUND,
        24 "GP18" Open -,
        25 "GP19" Open -,
        26 "GP20" Open -,
        27 "GP21" Open -,
        28 "GND" Passive GROUND,
        29 "GP22" Open -,
        30 "RUN" Open -,
        31 "GP26" Open -,
        32 "GP27" Open -,
        33 "AGND" Passive GROUND,
        34 "GP28" Open -,
        35 "ADC_VREF" Open -,
        36 "3V3(OUT)" PowerOut SUPPLY,
        37 "3V3_EN" Open -,
        38 "GND" PowerOut GROUND,
        39 "VSYS" Open -,
        40 "VBUS" Open -,
    }
}
