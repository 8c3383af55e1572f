//! What the front end has besides resistors and capacitors: its chips, its transistor, its sockets.

/// A place on the board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Place {
    /// Its name in the drawings, such as `U6`.
    pub designator: &'static str,
    /// What stands there, and for what.
    pub meaning: &'static str,
}

const fn place(designator: &'static str, meaning: &'static str) -> Place {
    Place { designator, meaning }
}

/// Every place, in the order of the drawings.
pub const ALL: &[Place] = &[
    place("U1", "dual operational amplifier of least input bias: electrometer (A), mid (B)"),
    place("U2", "dual operational amplifier: drive (A), taps (B)"),
    place("U3", "range switch: twice 4 to 1"),
    place("U4", "tap switch: 8 to 1"),
    place(
        "U5",
        "thrice 2 to 1: return of the cell or reference (A), positive gate (B), negative gate (C)",
    ),
    place("U6", "converter"),
    place("U7", "clock chip"),
    place("Q1", "sensor power: P-channel transistor"),
    place("D1", "clamps the cell's top to supply and ground"),
    place("D2", "clamps the cell's bottom to supply and ground"),
    place("D3", "clamps the thermometer's top to supply and ground"),
    place("D4", "clamps the thermometer's bottom to supply and ground"),
    place("BT1", "coin cell of the clock chip"),
    place("A1", "microcontroller board"),
    place("J1", "socket of the pH electrode: glass inside, reference outside"),
    place("J2", "cell: top, bottom, shield"),
    place("J3", "thermometer: top, bottom, shield"),
];
