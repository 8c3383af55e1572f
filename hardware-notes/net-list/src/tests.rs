//! The table against the lists of parts and places, and against the packages.

extern crate alloc;

use alloc::collections::BTreeSet;
use alloc::vec::Vec;

use super::*;
use crate::places;
use rillmark_proto::circuit::parts;

#[test]
fn every_part_and_place_is_in_it_and_nothing_else() {
    let listed = parts::ALL.iter().map(|part| part.designator);
    let listed: BTreeSet<_> =
        listed.chain(places::ALL.iter().map(|place| place.designator)).collect();
    assert_eq!(NETLIST.parts().collect::<BTreeSet<_>>(), listed);
    let packed: Vec<_> = PACKAGES.iter().map(|(part, _)| *part).collect();
    assert_eq!(packed, NETLIST.parts().collect::<Vec<_>>(), "each part stands there once");
}

#[test]
fn every_part_has_all_pins_of_its_package_once() {
    for part in NETLIST.parts() {
        let count = match package(part).expect("every part has one") {
            Package::Chip0805 | Package::Chip1206 | Package::Chip1210 => 2,
            Package::CoinCell20 | Package::Contacts2 => 2,
            Package::Sot23 | Package::Contacts3 => 3,
            Package::So8 => 8,
            Package::Msop10 => 10,
            Package::So16 | Package::So16Wide => 16,
            Package::Pico => 40,
        };
        let numbers: Vec<u8> = NETLIST.pins_of(part).map(|pin| pin.number).collect();
        assert_eq!(numbers, (1..=count).collect::<Vec<u8>>(), "{part}");
    }
}

#[test]
fn nets_have_names_of_their_own_and_are_all_used() {
    let named: BTreeSet<Net> = NETS.iter().copied().collect();
    assert_eq!(named.len(), NETS.len());
    assert_eq!(PINS.iter().filter_map(|pin| pin.net).collect::<BTreeSet<_>>(), named);
}

#[test]
fn open_pins_and_no_others_are_without_a_net() {
    for pin in PINS {
        assert_eq!(pin.net.is_none(), pin.kind == Kind::Open, "{pin}");
    }
}

#[test]
fn the_door_answers_for_parts_pins_and_nets() {
    let on: Vec<_> =
        NETLIST.pins_on(REFERENCE_RETURN).map(alloc::string::ToString::to_string).collect();
    assert_eq!(on, ["R17 right", "U5 pin 12"]);
    assert_eq!(NETLIST.pin("U5", 12), NETLIST.pin_named("U5", "X0"));
    assert_eq!(NETLIST.pins_of("R99").count(), 0);
}

/// As the front end was: C1 led a discharge from J1's shell into U1.
#[test]
fn a_chip_behind_a_capacitor_alone_is_not_protected() {
    let joined = Alteration::Merged(BEHIND_GLASS, INPUT);
    let pins = PINS.iter().filter(|pin| pin.part != "R31");
    let altered: Vec<Pin> = pins.filter_map(|pin| joined.of(*pin)).collect();
    let mut findings = Vec::new();
    check(Netlist(&altered), &mut |finding| findings.push(finding));
    let input = Netlist(&altered).pin("U1", 3).expect("it is there");
    assert_eq!(findings, [Finding::Missing("R31"), Finding::Unprotected(input)]);
}
