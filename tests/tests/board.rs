//! What is written for people and for Linux about the board, against the tables that it is built from.

use std::fs;

use rillmark_pico::partition::{LOG, PROGRAM, PROGRAM_BUDGET, RAM_BUDGET, STORE};
use rillmark_proto::wire::usb;
use rillmark_tests::source_tree::root;

fn read(path: &str) -> String {
    fs::read_to_string(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

#[test]
fn the_rule_for_linux_names_our_boards() {
    let rules = read("hardware-notes/70-rillmark.rules");
    let rule = rules.lines().find(|line| line.starts_with("SUBSYSTEM")).expect("a rule");
    for part in [
        format!("ATTRS{{idVendor}}==\"{:04x}\"", usb::VENDOR),
        format!("ATTRS{{idProduct}}==\"{:04x}\"", usb::PRODUCT),
        format!("ATTRS{{product}}==\"{}*\"", usb::PRODUCT_NAME_BEGINS),
    ] {
        assert!(rule.contains(&part), "{part}");
    }
}

#[test]
fn sizes_are_told_as_they_are() {
    let (readme, notes) = (read("README.md"), read("hardware-notes/pico-wiring.md"));
    let kib = |bytes: u32| format!("{} KiB", bytes / 1024);
    assert!(readme.contains(&format!("{} of program", kib(PROGRAM_BUDGET))));
    assert!(readme.contains(&format!("{} of variables", kib(RAM_BUDGET))));
    assert!(notes.contains(&format!("the first {} are the program's", kib(PROGRAM.end))));
    assert!(notes.contains(&format!("the last {} the store", kib(STORE.end - STORE.start))));
    assert_eq!((LOG.start, LOG.end), (PROGRAM.end, STORE.start));
}
