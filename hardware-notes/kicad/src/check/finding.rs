//! What a comparison may find, each in a sentence.

use rillmark_net_list::Net;
use thiserror::Error;

use super::shown;

/// What makes the board another circuit.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum Difference {
    /// A part of the table that the board does not have.
    #[error("{part} is missing")]
    Missing {
        /// The part.
        part: String,
    },
    /// A part that is there more than once.
    #[error("{part} is there {times} times")]
    Repeated {
        /// The part.
        part: String,
        /// How often.
        times: usize,
    },
    /// A part of the table that is marked not to be fitted, by the footprint or by its value.
    #[error("{part} is marked not to be fitted")]
    LeftOut {
        /// The part.
        part: String,
    },
    /// A part that the table does not have, between two nets or more.
    #[error("{} is not in the table, and stands between {}", shown(part), first_few(nets))]
    Extra {
        /// The part.
        part: String,
        /// The nets.
        nets: Vec<String>,
    },
    /// A pad of the table that the footprint does not have.
    #[error("{pad} is missing: another footprint")]
    NoPad {
        /// The pad.
        pad: String,
    },
    /// A pad without a net.
    #[error("{pad} has no net; it belongs on {belongs}")]
    Loose {
        /// The pad.
        pad: String,
        /// Its net of the table.
        belongs: Net,
    },
    /// A pad on another net.
    #[error("{pad} is on {is}; it belongs on {belongs}")]
    OtherNet {
        /// The pad.
        pad: String,
        /// The net it is on.
        is: String,
        /// Its net of the table.
        belongs: Net,
    },
    /// A pad that is to be open and is joined with others.
    #[error("{pad} is on {is}; it is to stay open")]
    NotOpen {
        /// The pad.
        pad: String,
        /// The net it is on.
        is: String,
    },
    /// Another value, or a text that is none.
    #[error("{part} says \"{}\"; it is to be {should_be}", shown(is))]
    Value {
        /// The part.
        part: String,
        /// What the board says.
        is: String,
        /// What the table says.
        should_be: String,
    },
}

/// The first five of many.
fn first_few(nets: &[String]) -> String {
    let first = nets.iter().take(5).map(String::as_str).collect::<Vec<_>>().join(", ");
    match nets.len() {
        0..=5 => first,
        more => format!("{first} and {} more", more - 5),
    }
}

/// What makes no difference to the circuit, and is worth a look.
#[derive(Clone, Debug, Error, PartialEq, Eq)]
pub enum Remark {
    /// A part that the table does not have, and that joins nothing.
    #[error("{} is not in the table; it joins nothing", shown(part))]
    Extra {
        /// The part.
        part: String,
    },
    /// A pad that the table does not have, on a net.
    #[error(
        "{} pad {} is not in the table, and is on {is}: look whether it may",
        shown(part),
        shown(pad)
    )]
    UnknownPad {
        /// The part.
        part: String,
        /// The pad.
        pad: String,
        /// The net it is on.
        is: String,
    },
    /// A resistor or capacitor whose ends are changed over.
    #[error("{part} lies the other way round, which makes no difference")]
    Turned {
        /// The part.
        part: String,
    },
}

/// What the comparison found.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Report {
    /// How many parts of the table the board has.
    pub parts: usize,
    /// How many of their pads were compared.
    pub pads: usize,
    /// What makes it another circuit.
    pub differences: Vec<Difference>,
    /// What is worth a look besides.
    pub remarks: Vec<Remark>,
    /// Chips, sockets and the like of the table, each with what the board says of it: a person has to compare.
    pub uncompared: Vec<(String, String)>,
}
