//! Holds the wiring list to the program that writes it, and that to the table of nets.
//!
//! `RILLMARK_REGOLD=1 cargo test -p rillmark-net-list --test wiring` writes the page anew.

#[path = "../examples/wiring_list.rs"]
mod program;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;

use rillmark_net_list::{NETLIST, PINS, check, differences};

#[test]
fn the_page_is_what_the_program_writes() {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../wiring.md");
    let wanted = program::page(NETLIST, &program::order_of_work());
    if std::env::var_os("RILLMARK_REGOLD").is_some() {
        fs::write(path, wanted).expect("the folder is writable");
        return;
    }
    let is = fs::read_to_string(path).unwrap_or_default();
    assert!(is == wanted, "hardware-notes/wiring.md is stale: see this test's head");
}

/// And nothing is joined in a step in which no page says so.
#[test]
fn the_order_of_work_fits_every_pin_once() {
    let steps = program::steps(&program::order_of_work());
    let fitted: BTreeSet<_> = steps.keys().copied().collect();
    let to_fit: BTreeSet<_> = PINS.iter().map(|pin| (pin.part, pin.number)).collect();
    assert_eq!(fitted, to_fit);
    let step = |part, number| steps[&(part, number)];
    assert_eq!((step("R23", 1), step("C17", 2), step("D3", 3)), (5, 7, 9), "ranges of parts");
    assert_eq!((step("A1", 38), step("A1", 19), step("A1", 14)), (1, 7, 10), "lines");
}

/// What the list says is joined is what the table says is joined.
#[test]
fn the_list_joins_every_net() {
    let page = program::page(NETLIST, &program::order_of_work());
    let (list, _) = page.split_once("## Every net").expect("the nets come after the steps");
    let mut joined: Vec<(String, String)> = vec![];
    for row in list.lines().filter(|line| line.ends_with("| |")) {
        let cells: Vec<&str> = row.split(" | ").map(|cell| cell.trim_matches(['|', ' '])).collect();
        let (part, pins) = cells[0].split_once(" pins ").unwrap_or((cells[0], ""));
        let to = cells[1].to_owned();
        match pins {
            "" => joined.push((part.to_owned(), to)),
            _ => {
                joined.extend(pins.split(", ").map(|pin| (format!("{part} pin {pin}"), to.clone())))
            }
        }
    }
    for pin in PINS.iter().filter(|pin| pin.net.is_some()) {
        // Across all joints, from one to the next.
        let mut reached = BTreeSet::from([pin.to_string()]);
        loop {
            let before = reached.len();
            for (from, to) in &joined {
                if reached.contains(from) || reached.contains(to) {
                    reached.extend([from.clone(), to.clone()]);
                }
            }
            if reached.len() == before {
                break;
            }
        }
        reached.retain(|name| !name.starts_with('*'));
        let wanted = PINS.iter().filter(|other| other.net == pin.net);
        assert_eq!(reached, wanted.map(ToString::to_string).collect(), "{pin}");
    }
}

#[test]
fn nothing_is_wrong_with_the_table_and_every_mistake_is_seen() {
    let mut findings = vec![];
    check(NETLIST, &mut |finding| findings.push(finding));
    assert_eq!(findings, []);
    assert_eq!(differences(NETLIST, NETLIST).count(), 0);
    for kind in program::SOWN.iter() {
        println!("{}: {} of {}", kind.what, kind.seen, kind.all);
        assert_eq!(kind.compared, kind.all, "{}", kind.what);
    }
}
