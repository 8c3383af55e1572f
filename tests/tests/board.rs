//! What is written for people and for Linux about the board, against the tables that it is built from.

use std::fs;

use rillmark_pico::partition::{
    LOG, PROGRAM, PROGRAM_BUDGET, RAM_ADDRESS, RAM_BUDGET, RAM_BYTES, STACK_END, STORE,
};
use rillmark_pico::pins::LINES;
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

#[test]
fn the_emulated_board_is_wired_and_parted_as_the_tables_say() {
    let (board, stack, store) = (
        read("tests/emulator/board/board.js"),
        read("tests/emulator/board/stack.js"),
        read("tests/emulator/board/store_region.js"),
    );
    for line in LINES {
        let pin = format!("  {}: {},\n", line.name, line.gpio);
        assert!(board.contains(&pin), "{pin}");
    }
    assert!(board.contains(&format!("UNUSED_RAM = {:#x};", RAM_ADDRESS + RAM_BUDGET)));
    assert!(stack.contains(&format!("STACK_END = {STACK_END:#x};")));
    assert!(stack.contains(&format!("RAM_BYTES = {RAM_BYTES:#x};")));
    assert!(store.contains(&format!("STORE_BYTES = {} * 1024;", (STORE.end - STORE.start) / 1024)));
}
