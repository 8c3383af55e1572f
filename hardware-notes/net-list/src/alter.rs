//! A circuit that differs from the table by one mistake, and what of it differs.

use super::{NETLIST, Net, Netlist, Pin};

/// One mistake, as far as it is a matter of nets.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Alteration {
    /// A pin is joined to nothing.
    Cut(&'static Pin),
    /// A pin is on another net.
    Moved(&'static Pin, Net),
    /// Two pins are on each other's nets.
    Swapped(&'static Pin, &'static Pin),
    /// Two parts are in each other's place.
    Exchanged(&'static str, &'static str),
    /// Two nets are one.
    Merged(Net, Net),
    /// A part is not there.
    Without(&'static str),
}

/// A pin of the table; to name one that it has not fails to compile where this is a constant.
pub const fn pin(part: &'static str, number: u8) -> &'static Pin {
    let mut at = 0;
    while at < NETLIST.0.len() {
        let pin = &NETLIST.0[at];
        if pin.number == number && is_same(pin.part, part) {
            return pin;
        }
        at += 1;
    }
    panic!("the table has no such pin")
}

/// The name of a part of the table; another does not compile where this is a constant.
pub const fn part(name: &'static str) -> &'static str {
    pin(name, 1).part
}

const fn is_same(one: &str, other: &str) -> bool {
    let (one, other) = (one.as_bytes(), other.as_bytes());
    let mut at = 0;
    while at < one.len() && at < other.len() && one[at] == other[at] {
        at += 1;
    }
    at == one.len() && at == other.len()
}

impl Alteration {
    /// What becomes of a pin of the table; `None` where its part is not there.
    pub fn of(self, mut pin: Pin) -> Option<Pin> {
        let is = |other: &Pin| (other.part, other.number) == (pin.part, pin.number);
        match self {
            Self::Without(part) if pin.part == part => return None,
            Self::Cut(cut) if is(cut) => pin.net = None,
            Self::Moved(moved, to) if is(moved) => pin.net = Some(to),
            Self::Swapped(one, other) if is(one) => pin.net = other.net,
            Self::Swapped(one, other) if is(other) => pin.net = one.net,
            Self::Exchanged(one, other) if pin.part == one || pin.part == other => {
                let place = if pin.part == one { other } else { one };
                pin.net = NETLIST.pin(place, pin.number).and_then(|pin| pin.net);
            }
            Self::Merged(one, other) if pin.net == Some(other) => pin.net = Some(one),
            _ => {}
        }
        Some(pin)
    }
}

/// A pin that is not as it is to be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Difference<'a> {
    /// Not there.
    Missing(&'a Pin),
    /// There, but in no table.
    Extra(&'a Pin),
    /// On another net, or open: as it is, and as it is to be.
    Elsewhere(&'a Pin, &'a Pin),
}

/// Every pin of `list` that is not as in `wanted`, by the names of the nets.
pub fn differences<'a>(
    list: Netlist<'a>,
    wanted: Netlist<'a>,
) -> impl Iterator<Item = Difference<'a>> {
    let missing =
        wanted.0.iter().filter_map(move |to_be| match list.pin(to_be.part, to_be.number) {
            None => Some(Difference::Missing(to_be)),
            Some(is) => (is.net != to_be.net).then_some(Difference::Elsewhere(is, to_be)),
        });
    let is_extra = move |pin: &&Pin| wanted.pin(pin.part, pin.number).is_none();
    missing.chain(list.0.iter().filter(is_extra).map(Difference::Extra))
}
