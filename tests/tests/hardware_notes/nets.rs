//! Drawings, wiring list, pins of the board and pages against the table of nets; and a table that was altered
//! against all of them.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::sync::LazyLock;

use rillmark_net_list::{
    Alteration, Kind, MID, NETLIST, Net, Netlist, PINS, Pin, check, differences, pin,
};
use rillmark_pico::pins::LINES;

use super::{folder, page, pages};

#[allow(dead_code)] // A program of its own.
#[path = "../../../hardware-notes/net-list/examples/wiring_list.rs"]
mod wiring;

/// Names and pins that are joined.
type Group = (BTreeSet<String>, BTreeSet<String>);

/// What the drawings join: by following lines, names and pins from one to the next, over all of them.
static DRAWN: LazyLock<Vec<Group>> = LazyLock::new(drawn);

fn drawn() -> Vec<Group> {
    let text = fs::read_to_string(folder().join("drawings/connections.txt")).expect("connections");
    let mut groups: Vec<Group> = vec![];
    for line in text.lines() {
        let [_, names, pins] = line.split('\t').collect::<Vec<_>>()[..] else { panic!("{line}") };
        let set = |text: &str| text.split_whitespace().map(str::to_owned).collect::<BTreeSet<_>>();
        let mut group = (set(names), set(pins));
        // Whatever shares a name or a pin with it is the same.
        groups.retain(|other| {
            let is_apart = other.0.is_disjoint(&group.0) && other.1.is_disjoint(&group.1);
            if !is_apart {
                group.0.extend(other.0.iter().cloned());
                group.1.extend(other.1.iter().cloned());
            }
            is_apart
        });
        groups.push(group);
    }
    assert!(groups.len() > 40, "{}", groups.len());
    groups
}

/// What the drawings show otherwise than these nets, pin by pin.
fn drawn_otherwise(list: Netlist<'_>) -> Vec<String> {
    let name = |pin: &Pin| format!("{}.{}", pin.part, pin.number);
    let mut groups: BTreeMap<&str, &Group> = BTreeMap::new();
    for group in DRAWN.iter() {
        groups.extend(group.1.iter().map(|pin| (pin.as_str(), group)));
    }
    let mut wrong = vec![];
    for pin in list.0 {
        let (names, pins) = match pin.net {
            Some(net) => {
                let on = list.pins_on(net).map(name).collect();
                (BTreeSet::from([net.name().to_owned()]), on)
            }
            None => (BTreeSet::new(), BTreeSet::from([name(pin)])),
        };
        match groups.remove(name(pin).as_str()) {
            // What the Pico has and nobody uses need not be drawn.
            None if pin.kind == Kind::Open => {}
            None => wrong.push(format!("{pin} is not drawn")),
            // A line that is drawn from end to end needs no name.
            Some(is) if is.1 == pins && is.0.is_subset(&names) => {}
            Some(is) => wrong.push(format!("{pin} is drawn joined to {is:?}")),
        }
    }
    wrong.extend(groups.keys().map(|pin| format!("{pin} is drawn and in no table")));
    wrong
}

#[test]
fn the_drawings_show_these_connections_and_no_others() {
    assert_eq!(drawn_otherwise(NETLIST), Vec::<String>::new());
}

#[test]
fn the_programs_pins_are_those_of_the_table() {
    // No contact of the edge.
    let on_board = ["regulator", "lamp"];
    let told = LINES.iter().filter(|line| !on_board.contains(&line.name));
    let told: BTreeSet<_> = told.map(|line| (format!("GP{}", line.gpio), line.name)).collect();
    let used = NETLIST.pins_of("A1").filter(|pin| pin.name.starts_with("GP"));
    let used = used.filter_map(|pin| Some((pin.name.to_owned(), pin.net?.name()))).collect();
    assert_eq!(told, used);
}

/// What pages and messages call `U5` or `D3` is a part of the table.
#[test]
fn nobody_names_a_part_that_is_not_there() {
    let words = include_str!("../../../host/src/words/en/check_board/causes.rs").to_owned();
    let texts = pages().into_iter().map(|name| page(&name)).chain([words]);
    let mut named = BTreeSet::new();
    for text in texts {
        for word in text.split(|c: char| !c.is_alphanumeric()) {
            let word = word.trim_end_matches(['A', 'B', 'C']);
            let digits = word.trim_start_matches(['U', 'R', 'C', 'D', 'Q', 'J']);
            let is_part = word.len() == digits.len() + 1 && digits.len() <= 2;
            if is_part && digits.parse::<u8>().is_ok_and(|number| number > 0) {
                named.insert(word.to_owned());
            }
        }
    }
    assert!(named.len() > 50, "{named:?}");
    let parts: BTreeSet<_> = NETLIST.parts().collect();
    let unknown: Vec<_> = named.iter().filter(|name| !parts.contains(name.as_str())).collect();
    assert_eq!(unknown, Vec::<&String>::new());
}

/// What sees that the table was altered.
#[derive(Debug, PartialEq, Eq)]
struct Seen {
    drawings: bool,
    wiring: bool,
    compared: bool,
    rules: bool,
}

fn seen(alteration: Alteration) -> Seen {
    let altered: Vec<Pin> = PINS.iter().filter_map(|pin| alteration.of(*pin)).collect();
    let list = Netlist(&altered);
    let order = wiring::order_of_work();
    let mut rules = false;
    check(list, &mut |_| rules = true);
    Seen {
        drawings: !drawn_otherwise(list).is_empty(),
        wiring: wiring::page(list, &order) != page("wiring.md"),
        compared: differences(list, NETLIST).next().is_some(),
        rules,
    }
}

/// R17 at mid, as it once was: one pin on another net.
#[test]
fn one_net_changed_is_seen_everywhere() {
    let r17_at_mid = seen(Alteration::Moved(pin("R17", 2), MID));
    assert_eq!(r17_at_mid, Seen { drawings: true, wiring: true, compared: true, rules: true });
    // Two lines in each other's place break no rule.
    let gates_swapped = seen(Alteration::Swapped(pin("U5", 10), pin("U5", 9)));
    assert_eq!(gates_swapped, Seen { drawings: true, wiring: true, compared: true, rules: false });
}

/// And any pin on any other net, or open.
#[test]
fn the_drawings_see_every_pin() {
    for pin in PINS.iter().filter(|pin| pin.net.is_some()) {
        let elsewhere = |net: &Net| *net != pin.net.unwrap_or(MID);
        let net = rillmark_net_list::NETS.iter().copied().find(elsewhere);
        for alteration in [Alteration::Cut(pin), Alteration::Moved(pin, net.expect("another"))] {
            let altered: Vec<Pin> = PINS.iter().filter_map(|pin| alteration.of(*pin)).collect();
            assert!(!drawn_otherwise(Netlist(&altered)).is_empty(), "{alteration:?}");
        }
    }
}
