//! Every pin of every part, and the net that it is soldered to.
//!
//! The one place where a connection is written down: drawings, simulated decks, the wiring list, the
//! building mistakes of the bench and the circuit files are made from it or held against it.

mod alter;
mod names;
pub mod places;
mod rules;
mod table;

use core::fmt;

pub use alter::{Alteration, Difference, differences, part, pin};
pub use names::*;
pub use rules::{Finding, check};
pub use table::{PACKAGES, PINS};

/// Pins that are joined, by the name that the drawings give them.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Net(u8);

impl Net {
    /// Its name, such as `cell_top`.
    pub const fn name(self) -> &'static str {
        names::TEXTS[self.0 as usize].0
    }

    /// What it is, in a few words.
    pub const fn meaning(self) -> &'static str {
        names::TEXTS[self.0 as usize].1
    }
}

impl fmt::Display for Net {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

/// What a pin does to its net.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// It listens and takes next to nothing.
    Input,
    /// It drives.
    Output,
    /// It drives or listens.
    Bidirectional,
    /// It pulls down or lets go.
    OpenCollector,
    /// A contact, an end of a resistor, capacitor or diode, a contact of an analog switch.
    Passive,
    /// It takes a supply.
    PowerIn,
    /// It gives one.
    PowerOut,
    /// It is left open on purpose. Every pin of another kind has a net.
    Open,
}

/// One pin of one part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pin {
    /// The part, as the drawings name it: `U3`.
    pub part: &'static str,
    /// Its number at the part's package.
    pub number: u8,
    /// What its data sheet, or the page that tells of the part, calls it.
    pub name: &'static str,
    /// What it does to its net.
    pub kind: Kind,
    /// The net that it is soldered to; `None` where it is open.
    pub net: Option<Net>,
}

/// `U3 pin 12`, `R8 left`.
impl fmt::Display for Pin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.part.as_bytes()[0] {
            b'U' | b'A' => write!(f, "{} pin {}", self.part, self.number),
            _ => write!(f, "{} {}", self.part, self.name),
        }
    }
}

/// The body of a part, by the trade's name of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Package {
    /// Chip resistor or capacitor, 2.0 mm · 1.2 mm.
    Chip0805,
    /// Chip capacitor, 3.2 mm · 1.6 mm.
    Chip1206,
    /// Chip capacitor, 3.2 mm · 2.5 mm.
    Chip1210,
    /// Three leads, 1.9 mm apart.
    Sot23,
    /// Eight leads, 1.27 mm apart, body 3.9 mm wide.
    So8,
    /// Sixteen leads, 1.27 mm apart, body 3.9 mm wide.
    So16,
    /// Sixteen leads, 1.27 mm apart, body 7.5 mm wide.
    So16Wide,
    /// Ten leads, 0.5 mm apart, body 3 mm wide.
    Msop10,
    /// Holder of a coin cell of 20 mm.
    CoinCell20,
    /// Two contacts, 2.54 mm apart.
    Contacts2,
    /// Three contacts, 2.54 mm apart.
    Contacts3,
    /// A Pico: two rows of twenty contacts, 2.54 mm apart.
    Pico,
}

/// The pins of a circuit: of the table, or of a copy that somebody altered.
#[derive(Clone, Copy, Debug)]
pub struct Netlist<'a>(pub &'a [Pin]);

/// The circuit as it is to be.
pub const NETLIST: Netlist<'static> = Netlist(PINS);

impl<'a> Netlist<'a> {
    /// The parts, in the order of the table.
    pub fn parts(self) -> impl Iterator<Item = &'static str> + 'a {
        let is_first = move |(at, pin): &(usize, &Pin)| {
            self.0[..*at].iter().all(|other| other.part != pin.part)
        };
        self.0.iter().enumerate().filter(is_first).map(|(_, pin)| pin.part)
    }

    /// The pins of a part, in the order of the table; none when there is no such part.
    pub fn pins_of(self, part: &'a str) -> impl Iterator<Item = &'a Pin> + 'a {
        self.0.iter().filter(move |pin| pin.part == part)
    }

    /// One pin of a part.
    pub fn pin(self, part: &str, number: u8) -> Option<&'a Pin> {
        self.0.iter().find(|pin| pin.part == part && pin.number == number)
    }

    /// The pin of a part that has this name.
    pub fn pin_named(self, part: &str, name: &str) -> Option<&'a Pin> {
        self.0.iter().find(|pin| pin.part == part && pin.name == name)
    }

    /// The pins on a net, in the order of the table.
    pub fn pins_on(self, net: Net) -> impl Iterator<Item = &'a Pin> + 'a {
        self.0.iter().filter(move |pin| pin.net == Some(net))
    }
}

/// The package of a part of the table.
pub fn package(part: &str) -> Option<Package> {
    PACKAGES.iter().find(|(name, _)| *name == part).map(|(_, package)| *package)
}

#[cfg(test)]
mod tests;
