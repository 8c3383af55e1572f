//! What is wrong with a circuit by its nets alone, whatever it is to do: electrical rules.
//!
//! Two parts or lines in each other's place break no rule. Only [`differences`](super::differences) sees
//! them.

use super::names::*;
use super::{Kind, Net, Netlist, Pin};
use crate::places;
use rillmark_proto::circuit::parts;
use rillmark_proto::circuit::parts::Part;

/// What breaks a rule.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Finding<'a> {
    /// A part of the bill of materials is not there.
    Missing(&'a str),
    /// A pin stands there twice.
    Twice(&'a Pin),
    /// A pin has no net, and is none of those that are left open.
    Open(&'a Pin),
    /// A pin has a net, and is one of those that are left open.
    NotOpen(&'a Pin),
    /// Nothing else is on the pin's net.
    Alone(&'a Pin),
    /// All pins of a part are on one net.
    Bridged(&'a str),
    /// Two pins drive one net.
    TwoOutputs(&'a Pin, &'a Pin),
    /// Neither output, supply nor socket holds the net, not even through resistors and switches.
    Floating(Net),
    /// The pin belongs to another net: a supply pin, or one that a strap sets.
    NotAt(&'a Pin, Net),
    /// A chip has no capacitor of its own at its supply pins.
    NotDecoupled(&'a str),
    /// An amplifier's inverting input is not at its own output: all of them are followers.
    NoFeedback(&'a Pin),
    /// Nothing pulls the line where it has to be while no pin drives it.
    NotPulled(Net, Net),
    /// A chip's pin is at a sensor's socket, with nothing but capacitors between: a discharge goes through them.
    Unprotected(&'a Pin),
    /// A contact of cell or thermometer has no clamp, or one of the pH socket no resistor.
    Unclamped(&'a Pin),
}

/// Pins by their names, and the net that they belong to in every chip or socket of this circuit.
const AT: &[(&str, Net)] = &[
    ("V+", SWITCHED),
    ("VDD", FILTERED),
    ("VCC", SUPPLY),
    ("VBAT", COIN),
    ("3V3(OUT)", SUPPLY),
    ("V-", GROUND),
    ("VSS", GROUND),
    ("VEE", GROUND),
    ("GND", GROUND),
    ("AGND", GROUND),
    ("NC", GROUND),
    ("INH", GROUND),
    // Else the converter answers at another address.
    ("ADDR", GROUND),
    ("source", FILTERED),
    ("drain", SWITCHED),
    ("anode", GROUND),
    ("cathode", FILTERED),
    ("minus", GROUND),
    ("shield", GROUND),
];

/// The capacitor at each chip's supply pins.
const DECOUPLING: &[(&str, &Part)] = &[
    ("U1", &parts::DECOUPLING_U1),
    ("U2", &parts::DECOUPLING_U2),
    ("U3", &parts::DECOUPLING_U3),
    ("U4", &parts::DECOUPLING_U4),
    ("U5", &parts::DECOUPLING_U5),
    ("U6", &parts::DECOUPLING_U6),
    ("U7", &parts::DECOUPLING_U7),
];

/// Lines that a resistor holds while no pin drives them, and where.
const PULLED: &[(Net, Net)] = &[
    (CELL, GROUND),
    (GATE_PLUS, GROUND),
    (GATE_MINUS, GROUND),
    (POWER_GATE, FILTERED),
    (I2C_DATA, SUPPLY),
    (I2C_CLOCK, SUPPLY),
    (CLOCK_ALARM, SUPPLY),
];

/// Calls back with all that breaks a rule.
pub fn check<'a>(list: Netlist<'a>, each: &mut dyn FnMut(Finding<'a>)) {
    let listed = parts::ALL.iter().map(|part| part.designator);
    let listed = listed.chain(places::ALL.iter().map(|place| place.designator));
    for part in listed.filter(|part| list.pins_of(part).next().is_none()) {
        each(Finding::Missing(part));
    }
    for (at, pin) in list.0.iter().enumerate() {
        of_pin(list, at, pin, each);
    }
    for part in list.parts() {
        let mut nets = list.pins_of(part).map(|pin| pin.net);
        let first = nets.next().flatten();
        if first.is_some() && nets.all(|net| net == first) {
            each(Finding::Bridged(part));
        }
    }
    let held = held(list);
    for net in NETS {
        let drives = |pin: &&Pin| matches!(pin.kind, Kind::Output | Kind::PowerOut);
        let mut outputs = list.pins_on(*net).filter(drives);
        if let (Some(one), Some(other)) = (outputs.next(), outputs.next()) {
            each(Finding::TwoOutputs(one, other));
        }
        if list.pins_on(*net).next().is_some() && held & 1 << net.0 == 0 {
            each(Finding::Floating(*net));
        }
    }
    for (chip, part) in DECOUPLING {
        let mut supplies = list.pins_of(chip).filter(|pin| pin.kind == Kind::PowerIn);
        let is_there = supplies
            .any(|pin| pin.net != Some(GROUND) && joins(list, part.designator, pin.net, GROUND));
        if !is_there {
            each(Finding::NotDecoupled(chip));
        }
    }
    for (line, rail) in PULLED {
        let is_resistor = |pin: &Pin| pin.part.starts_with('R');
        let pulls = |pin: &Pin| is_resistor(pin) && joins(list, pin.part, Some(*line), *rail);
        if !list.pins_on(*line).any(pulls) {
            each(Finding::NotPulled(*line, *rail));
        }
    }
}

fn of_pin<'a>(list: Netlist<'a>, at: usize, pin: &'a Pin, each: &mut dyn FnMut(Finding<'a>)) {
    let is_same = |other: &Pin| (other.part, other.number) == (pin.part, pin.number);
    if list.0[..at].iter().any(is_same) {
        each(Finding::Twice(pin));
    }
    let Some(net) = pin.net else {
        if pin.kind != Kind::Open {
            each(Finding::Open(pin));
        }
        return;
    };
    if pin.kind == Kind::Open {
        each(Finding::NotOpen(pin));
    }
    let on = || list.pins_on(net);
    if on().count() == 1 {
        each(Finding::Alone(pin));
    }
    if let Some((_, wanted)) = AT.iter().find(|(name, _)| *name == pin.name)
        && *wanted != net
    {
        each(Finding::NotAt(pin, *wanted));
    }
    let output = match pin.name {
        "-A" => Some("OUTA"),
        "-B" => Some("OUTB"),
        _ => None,
    };
    if output.is_some_and(|name| !on().any(|other| (other.part, other.name) == (pin.part, name))) {
        each(Finding::NoFeedback(pin));
    }
    if pin.part.starts_with('J') && net != GROUND {
        let struck = by_capacitors(list, net);
        let is_struck =
            |other: &&Pin| other.part.starts_with(['U', 'A', 'Q']) && struck & bit(other.net) != 0;
        list.0.iter().filter(is_struck).for_each(|chip| each(Finding::Unprotected(chip)));
        // A clamp would leak more than the glass gives: resistors alone protect the input.
        let shield = if pin.part == "J1" { 'R' } else { 'D' };
        let shields = |other: &Pin| {
            other.part.starts_with(shield) && !matches!(other.name, "anode" | "cathode")
        };
        if !on().any(shields) {
            each(Finding::Unclamped(pin));
        }
    }
}

/// Whether a part with two ends lies between these nets.
fn joins(list: Netlist<'_>, part: &str, one: Option<Net>, other: Net) -> bool {
    let on = |net| list.0.iter().any(|pin| pin.part == part && pin.net == net);
    one != Some(other) && on(one) && on(Some(other))
}

/// A net's bit among [`NETS`].
fn bit(net: Option<Net>) -> u64 {
    const _: () = assert!(NETS.len() <= 64);
    net.map_or(0, |net| 1 << net.0)
}

/// A net and what capacitors lead to from it, as far as a supply or ground, which take a discharge: their bits.
fn by_capacitors(list: Netlist<'_>, net: Net) -> u64 {
    let rails = [GROUND, SUPPLY, FILTERED, SWITCHED].map(|rail| bit(Some(rail)));
    let takes = rails.iter().fold(0, |all, rail| all | rail);
    let mut reached = bit(Some(net));
    loop {
        let before = reached;
        let is_from = |pin: &&Pin| pin.part.starts_with('C') && bit(pin.net) & reached != 0;
        let to = list.0.iter().filter(is_from).flat_map(|pin| list.pins_of(pin.part));
        reached |= to.fold(0, |all, pin| all | bit(pin.net)) & !takes;
        if reached == before {
            return reached;
        }
    }
}

/// Nets that something holds, a bit for each of [`NETS`].
fn held(list: Netlist<'_>) -> u64 {
    let holds = |pin: &&Pin| {
        matches!(pin.kind, Kind::Output | Kind::PowerOut | Kind::Bidirectional)
            || pin.part.starts_with('J')
    };
    let mut held = list.0.iter().filter(holds).fold(0, |all, pin| all | bit(pin.net));
    // A resistor's ends, and a switch's contacts of one letter, pass it on; so far one more each time.
    loop {
        let before = held;
        for (at, pin) in list.0.iter().enumerate().filter(|(_, pin)| passes(pin)) {
            let joined = list.0[at + 1..].iter().filter(|other| {
                other.part == pin.part
                    && passes(other)
                    && other.name.as_bytes()[0] == pin.name.as_bytes()[0]
                    || other.part == pin.part && pin.part.starts_with('R')
            });
            for other in joined {
                let both = bit(pin.net) | bit(other.net);
                if held & both != 0 {
                    held |= both;
                }
            }
        }
        if held == before {
            return held;
        }
    }
}

fn passes(pin: &Pin) -> bool {
    pin.kind == Kind::Passive
        && (pin.part.starts_with('R') || matches!(pin.part, "U3" | "U4" | "U5"))
}
