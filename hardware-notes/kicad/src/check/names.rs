//! Which net of the table each net of a board is, whatever it is called.

use std::collections::{BTreeMap, BTreeSet};

use rillmark_net_list::{Net, Netlist, Pin};

use super::laid_out::{Board, Part};
use super::shown;
use crate::symbol::has_equal_ends;

/// What the board's nets are in the table.
pub(super) struct Names<'a> {
    of_table: BTreeMap<&'a str, Net>,
    pads: BTreeMap<&'a str, usize>,
}

impl<'a> Names<'a> {
    /// Each net of the board is that of the table for which most speaks, and each of the table once. At first an
    /// end of a resistor or capacitor speaks for either of its nets, since it may lie either way round; then,
    /// where the other end is known, for one of them, and more than a chip's pad: where both disagree the chip
    /// has two pads changed over more likely than each of two parts a wrong end.
    pub(super) fn of(board: &'a Board, netlist: Netlist<'_>) -> Self {
        let mut pads: BTreeMap<&str, usize> = BTreeMap::new();
        for net in
            board.parts.iter().flat_map(|part| &part.pads).filter_map(|pad| pad.net.as_deref())
        {
            *pads.entry(net).or_default() += 1;
        }
        let first = named(board, netlist, &BTreeMap::new());
        Self { of_table: named(board, netlist, &first), pads }
    }

    pub(super) fn of_table(&self, net: &str) -> Option<Net> {
        self.of_table.get(net).copied()
    }

    pub(super) fn pads_on(&self, net: &str) -> usize {
        self.pads.get(net).copied().unwrap_or(0)
    }

    /// How a net of the board is told: by our name, with the board's own where it is another.
    pub(super) fn told(&self, net: &str) -> String {
        match self.of_table(net) {
            Some(of_table) if of_table.name() == net => net.to_owned(),
            Some(of_table) => format!("{of_table} (\"{}\" on the board)", shown(net)),
            None => format!("\"{}\", which is none of the table", shown(net)),
        }
    }

    /// True for a resistor or capacitor with each end on the other end's net.
    pub(super) fn is_turned(&self, part: &Part, pins: &[&Pin]) -> bool {
        let [one, other] = pins else { return false };
        let is_on = |at: &Pin, wanted: &Pin| {
            let mut pads = part.pads.iter().filter(|pad| is_pad(at, &pad.number)).peekable();
            let is = |net: &Option<String>| net.as_deref().and_then(|net| self.of_table(net));
            pads.peek().is_some() && pads.all(|pad| is(&pad.net) == wanted.net)
        };
        has_equal_ends(one.part) && one.net != other.net && is_on(one, other) && is_on(other, one)
    }
}

/// What the nets are called, with those that are `known` by now.
fn named<'a>(
    board: &'a Board,
    netlist: Netlist<'_>,
    known: &BTreeMap<&str, Net>,
) -> BTreeMap<&'a str, Net> {
    let mut votes: BTreeMap<(&str, Net), usize> = BTreeMap::new();
    for part in &board.parts {
        let pins: Vec<&Pin> = netlist.0.iter().filter(|pin| pin.part == part.reference).collect();
        for pad in &part.pads {
            let Some(net) = pad.net.as_deref() else { continue };
            for pin in &pins {
                let weight = match (has_equal_ends(pin.part), is_pad(pin, &pad.number)) {
                    (true, _) => end_weight(part, &pad.number, pin, &pins, known),
                    (false, true) => 2,
                    (false, false) => 0,
                };
                if let Some(of_table) = pin.net.filter(|_| weight > 0) {
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
    of_table
}

/// How much an end of a resistor or capacitor speaks for the net of one of its pins.
fn end_weight(
    part: &Part,
    number: &str,
    wanted: &Pin,
    pins: &[&Pin],
    known: &BTreeMap<&str, Net>,
) -> usize {
    let other_end = part.pads.iter().find(|pad| pad.number != number);
    let other_net = other_end.and_then(|pad| known.get(pad.net.as_deref()?));
    match other_net {
        Some(net) if Some(*net) == wanted.net => 0,
        Some(net) if pins.iter().any(|pin| pin.net == Some(*net)) => 3,
        _ => 1,
    }
}

fn is_pad(pin: &Pin, number: &str) -> bool {
    number == pin.number.to_string()
}
