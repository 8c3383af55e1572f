//! Which pads a board joins, against which the table joins.

use std::collections::{BTreeMap, BTreeSet};

use rillmark_proto::circuit::nets::{Net, Netlist, Pin};
use rillmark_proto::circuit::parts;
use thiserror::Error;

use super::laid_out::{Board, Part};
use super::{shown, value};
use crate::symbol::has_equal_ends;

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
    /// A part that the table does not have, between two nets or more.
    #[error("{} is not in the table, and stands between {}", shown(part), nets.join(", "))]
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
}

/// Holds a board against the table.
pub fn compare(board: &Board, netlist: Netlist<'_>) -> Report {
    let known: BTreeSet<&str> = netlist.parts().collect();
    let names = Names::of(board, netlist);
    let mut report = Report::default();
    for part in netlist.parts() {
        let found: Vec<&Part> = board.parts.iter().filter(|one| one.reference == part).collect();
        match found.len() {
            0 => report.differences.push(Difference::Missing { part: part.to_owned() }),
            1 => {}
            times => {
                report.differences.push(Difference::Repeated { part: part.to_owned(), times });
            }
        }
        report.parts += found.len().min(1);
        for one in found {
            compare_part(one, netlist, &names, &mut report);
        }
    }
    for extra in board.parts.iter().filter(|one| !known.contains(one.reference.as_str())) {
        let nets: BTreeSet<&str> = extra.pads.iter().filter_map(|pad| pad.net.as_deref()).collect();
        let part = extra.reference.clone();
        if nets.len() > 1 {
            let nets = nets.iter().map(|net| names.told(net)).collect();
            report.differences.push(Difference::Extra { part, nets });
        } else if !extra.pads.is_empty() {
            report.remarks.push(Remark::Extra { part });
        }
    }
    report
}

fn compare_part(part: &Part, netlist: Netlist<'_>, names: &Names<'_>, report: &mut Report) {
    compare_value(part, report);
    let pins: Vec<&Pin> = netlist.0.iter().filter(|pin| pin.part == part.reference).collect();
    let is_turned = names.is_turned(part, &pins);
    if is_turned {
        report.remarks.push(Remark::Turned { part: part.reference.clone() });
    }
    for pin in &pins {
        let number = pin.number.to_string();
        let pad = format!("{} pad {number} ({})", pin.part, pin.name);
        let mut pads = part.pads.iter().filter(|pad| pad.number == number).peekable();
        if pads.peek().is_none() {
            report.differences.push(Difference::NoPad { pad: pad.clone() });
        }
        for found in pads {
            report.pads += 1;
            let pad = pad.clone();
            match (found.net.as_deref(), pin.net) {
                _ if is_turned => {}
                (None, None) => {}
                (None, Some(belongs)) => {
                    report.differences.push(Difference::Loose { pad, belongs })
                }
                (Some(is), Some(belongs)) if names.of_table(is) != Some(belongs) => {
                    let is = names.told(is);
                    report.differences.push(Difference::OtherNet { pad, is, belongs });
                }
                // A net of one pad is KiCad's way to say that it is open.
                (Some(is), None) if names.pads_on(is) > 1 => {
                    report.differences.push(Difference::NotOpen { pad, is: names.told(is) });
                }
                (Some(_), _) => {}
            }
        }
    }
    let has_number = |number: &str| pins.iter().any(|pin| pin.number.to_string() == number);
    for pad in part.pads.iter().filter(|pad| !has_number(&pad.number)) {
        if let Some(is) = pad.net.as_deref().filter(|net| names.pads_on(net) > 1) {
            report.remarks.push(Remark::UnknownPad {
                part: part.reference.clone(),
                pad: pad.number.clone(),
                is: names.told(is),
            });
        }
    }
}

fn compare_value(part: &Part, report: &mut Report) {
    let Some(wanted) = parts::ALL.iter().find(|one| one.designator == part.reference) else {
        return;
    };
    let is_same = |is: f64| (is / wanted.value - 1.0).abs() < 1e-6;
    if !value::of(&part.value, wanted.unit).is_some_and(is_same) {
        report.differences.push(Difference::Value {
            part: part.reference.clone(),
            is: part.value.clone(),
            should_be: wanted.to_string(),
        });
    }
}

/// What the board's nets are in the table.
struct Names<'a> {
    of_table: BTreeMap<&'a str, Net>,
    pads: BTreeMap<&'a str, usize>,
}

impl<'a> Names<'a> {
    /// Each net of the board is that of the table of which it has most pads, and each of the table once. An
    /// end of a resistor or capacitor counts half for either of its nets, since it may lie either way round.
    fn of(board: &'a Board, netlist: Netlist<'_>) -> Self {
        let mut votes: BTreeMap<(&str, Net), usize> = BTreeMap::new();
        let mut pads: BTreeMap<&str, usize> = BTreeMap::new();
        for part in &board.parts {
            for pad in &part.pads {
                let Some(net) = pad.net.as_deref() else { continue };
                *pads.entry(net).or_default() += 1;
                let pins = netlist.0.iter().filter(|pin| pin.part == part.reference);
                for pin in pins {
                    let weight = match (has_equal_ends(pin.part), is_pad(pin, &pad.number)) {
                        (true, _) => 1,
                        (false, true) => 2,
                        (false, false) => continue,
                    };
                    if let Some(of_table) = pin.net {
                        *votes.entry((net, of_table)).or_default() += weight;
                    }
                }
            }
        }
        let mut votes: Vec<_> = votes.into_iter().collect();
        votes.sort_by_key(|((net, of_table), count)| {
            (std::cmp::Reverse(*count), *net != of_table.name(), *of_table)
        });
        let mut of_table: BTreeMap<&str, Net> = BTreeMap::new();
        let mut taken = BTreeSet::new();
        for ((net, wanted), _) in votes {
            if !of_table.contains_key(net) && taken.insert(wanted) {
                of_table.insert(net, wanted);
            }
        }
        Self { of_table, pads }
    }

    fn of_table(&self, net: &str) -> Option<Net> {
        self.of_table.get(net).copied()
    }

    fn pads_on(&self, net: &str) -> usize {
        self.pads.get(net).copied().unwrap_or(0)
    }

    /// How a net of the board is told: by our name, with the board's own where it is another.
    fn told(&self, net: &str) -> String {
        match self.of_table(net) {
            Some(of_table) if of_table.name() == net => net.to_owned(),
            Some(of_table) => format!("{of_table} (\"{}\" on the board)", shown(net)),
            None => format!("\"{}\", which is none of the table", shown(net)),
        }
    }

    /// True for a resistor or capacitor with each end on the other end's net.
    fn is_turned(&self, part: &Part, pins: &[&Pin]) -> bool {
        let [one, other] = pins else { return false };
        let is_on = |at: &Pin, wanted: &Pin| {
            let mut pads = part.pads.iter().filter(|pad| is_pad(at, &pad.number)).peekable();
            let is = |net: &Option<String>| net.as_deref().and_then(|net| self.of_table(net));
            pads.peek().is_some() && pads.all(|pad| is(&pad.net) == wanted.net)
        };
        has_equal_ends(one.part) && one.net != other.net && is_on(one, other) && is_on(other, one)
    }
}

fn is_pad(pin: &Pin, number: &str) -> bool {
    number == pin.number.to_string()
}
