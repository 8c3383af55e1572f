//! No deck joins the board's parts otherwise than the table of nets.

use std::collections::BTreeSet;
use std::fs;

use rillmark_circuit::joints::joined;
use rillmark_circuit::ngspice::{Deck, folder};
use rillmark_net_list::{Alteration, MID, NETLIST, NETS, Netlist, PINS, Pin, pin};

/// Name and text of every file of the decks, as written.
fn decks() -> Vec<(String, String)> {
    let entries = fs::read_dir(folder()).expect("the folder of the decks");
    let mut decks: Vec<_> = entries
        .map(|entry| {
            let path = entry.expect("an entry").path();
            let name = path.file_name().expect("a name").to_string_lossy().into_owned();
            (name, fs::read_to_string(&path).expect("a deck"))
        })
        .collect();
    decks.sort();
    assert!(decks.len() >= 9, "{decks:?}");
    decks
}

/// What a deck puts in the place of a part's own joints to see what it would do.
const WHAT_IF: [(&str, &str); 2] = [("charge.cir", "R11"), ("interaction.cir", "C1")];

#[test]
fn parts_stand_in_a_deck_only_as_the_table_joins_them() {
    let mut otherwise = vec![];
    for (name, text) in decks() {
        for line in text.lines().filter(|line| !line.starts_with('*')) {
            let first = line.split([' ', '@']).next().unwrap_or_default();
            if NETLIST.parts().any(|part| part.eq_ignore_ascii_case(first)) {
                otherwise.push((name.clone(), first.to_owned()));
            }
        }
    }
    assert_eq!(otherwise, WHAT_IF.map(|(deck, part)| (deck.to_owned(), part.to_owned())));
}

/// But for mid, about which all signals stand, and a subcircuit's terminals.
#[test]
fn no_deck_types_the_name_of_a_net() {
    let nets: BTreeSet<&str> =
        NETS.iter().map(|net| net.name()).filter(|net| *net != "mid").collect();
    for (name, text) in decks() {
        let elements = text.lines().skip(1).filter(|line| !line.starts_with(['*', '.', 'w']));
        for line in elements {
            let typed = line.split_whitespace().skip(1).find(|word| nets.contains(word));
            assert_eq!(typed, None, "{name}: {line}");
        }
    }
}

#[test]
fn every_deck_can_be_joined_and_none_is_left_with_a_mark() {
    for (name, _) in decks() {
        let text =
            Deck::new("any").joined(&name, NETLIST).unwrap_or_else(|why| panic!("{name}: {why}"));
        let marked = text.lines().find(|line| !line.starts_with('*') && line.contains('@'));
        assert_eq!(marked, None, "{name}");
    }
}

/// A pin that is moved in the table is moved in the decks: here R17, which would shunt the cell.
#[test]
fn the_decks_follow_the_table() {
    let alteration = Alteration::Moved(pin("R17", 2), MID);
    let altered: Vec<Pin> = PINS.iter().filter_map(|pin| alteration.of(*pin)).collect();
    let follow: Vec<String> = decks()
        .into_iter()
        .filter(|(_, text)| {
            let text = text.replace("@RANGE", "@R8").replace("POSITION", "0");
            joined(&text, Netlist(&altered)) != joined(&text, NETLIST)
        })
        .map(|(name, _)| name)
        .collect();
    assert_eq!(
        follow,
        ["chain.cir", "charge.cir", "discharge.cir", "interaction.cir", "ph.cir", "shunt.cir"]
    );
    let shunt = Deck::new("shunt").joined("shunt.cir", Netlist(&altered)).expect("joined");
    assert!(shunt.contains("\nR17 reference mid {r17}"), "{shunt}");
}
