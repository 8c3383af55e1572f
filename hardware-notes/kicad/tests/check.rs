//! A board that somebody laid out: what is wrong is found, and what is no matter is not.

use std::fmt::Write;
use std::sync::LazyLock;

use proptest::prelude::*;
use rillmark_kicad::check::{Board, Difference, Remark, Report, Unreadable, compare, read};
use rillmark_net_list::{NETLIST, NETS};

static TEXT: LazyLock<String> = LazyLock::new(|| {
    let files = rillmark_kicad::files();
    files.into_iter().find(|file| file.name.ends_with(".kicad_pcb")).expect("a board").text
});
static BOARD: LazyLock<Board> = LazyLock::new(|| read(TEXT.as_bytes()).expect("our own board"));

fn board() -> Board {
    BOARD.clone()
}

fn report(board: &Board) -> Report {
    compare(board, NETLIST)
}

/// The same board as KiCad 8 and later spell it: properties, `uuid`, nets by their names alone.
fn later(text: &str) -> String {
    let mut later = String::new();
    for line in text.lines().filter(|line| !line.starts_with("  (net ")) {
        let line = line
            .replace("(version 20211014)", "(version 20250513)")
            .replace("fp_text reference", "property \"Reference\"")
            .replace("fp_text value", "property \"Value\"")
            .replace("(tstamp ", "(uuid ");
        let line = match line.split_once("(net ") {
            Some((before, after)) => {
                format!("{before}(net {}", after.split_once(' ').expect("a name").1)
            }
            None => line,
        };
        let _ = writeln!(later, "{line}");
    }
    later
}

/// Net and place of every pad.
fn places(board: &Board) -> Vec<(usize, usize)> {
    let pads = |(at, part): (usize, &rillmark_kicad::check::Part)| {
        (0..part.pads.len()).map(move |pad| (at, pad)).collect::<Vec<_>>()
    };
    board.parts.iter().enumerate().flat_map(pads).collect()
}

/// Every two pads of every chip and socket but the Pico's open ones: part, pad, pad.
fn pairs_of_pads() -> Vec<(usize, usize, usize)> {
    let mut pairs = vec![];
    for (at, part) in BOARD.parts.iter().enumerate() {
        let is_soldered = |pad: &usize| {
            let number = &part.pads[*pad].number;
            let pin =
                NETLIST.pins_of(&part.reference).find(|pin| pin.number.to_string() == *number);
            pin.is_some_and(|pin| pin.net.is_some())
        };
        let pads: Vec<usize> = (0..part.pads.len()).filter(is_soldered).collect();
        if !part.reference.starts_with(['R', 'C']) {
            let after = |place: usize| pads[place + 1..].iter().map(move |other| (place, *other));
            pairs.extend(
                (0..pads.len()).flat_map(after).map(|(place, other)| (at, pads[place], other)),
            );
        }
    }
    pairs
}

fn rename_all(board: &mut Board) {
    for pad in board.parts.iter_mut().flat_map(|part| &mut part.pads) {
        // Of the table's names each stands for another net now.
        let net = pad.net.as_deref().expect("a net at every pad");
        let at = NETS.iter().position(|other| other.name() == net);
        pad.net =
            Some(at.map_or(format!("Net-({net})"), |at| {
                NETS[(at + 1) % NETS.len()].name().to_owned()
            }));
    }
}

#[test]
fn our_own_board_is_the_table() {
    let report = report(&board());
    assert_eq!(report.differences, []);
    assert_eq!(report.remarks, []);
    assert_eq!((report.parts, report.pads), (NETLIST.parts().count(), NETLIST.0.len()));
}

#[test]
fn the_later_spelling_is_the_same_board() {
    let later = later(&TEXT);
    assert!(later.contains("(net \"cell_top\")") && !later.contains("fp_text reference"));
    assert_eq!(read(later.as_bytes()), Ok(board()));
}

/// Written by hand after boards that KiCad 9 saved.
#[test]
fn a_board_of_kicad_9_is_read() {
    let board = read(include_bytes!("boards/later_spelling.kicad_pcb")).expect("a board");
    let told: Vec<String> = board
        .parts
        .iter()
        .flat_map(|part| part.pads.iter().map(move |pad| (part, pad)))
        .map(|(part, pad)| {
            format!("{} {} {} {:?}", part.reference, part.value, pad.number, pad.net)
        })
        .collect();
    assert_eq!(
        told,
        [
            "R8 1k0 1 Some(\"/ranges/1k\")",
            "R8 1k0 2 Some(\"cell \\\"top\\\"\")",
            "D1 BAV199 1 Some(\"GND\")",
            "D1 BAV199 2 None",
            "H1 MountingHole  None",
        ]
    );
    let report = report(&board);
    let missing = |difference: &&Difference| matches!(difference, Difference::Missing { .. });
    assert_eq!(report.differences.iter().filter(missing).count(), NETLIST.parts().count() - 2);
}

#[test]
fn names_of_nets_do_not_matter() {
    let mut board = board();
    rename_all(&mut board);
    assert_eq!(report(&board).differences, []);
}

#[test]
fn parts_with_equal_ends_may_all_lie_the_other_way_round() {
    let mut board = board();
    rename_all(&mut board);
    let mut turned = 0;
    for part in board.parts.iter_mut().filter(|part| part.reference.starts_with(['R', 'C'])) {
        let [one, other] = part.pads.as_mut_slice() else { panic!("two pads") };
        std::mem::swap(&mut one.net, &mut other.net);
        turned += 1;
    }
    let report = report(&board);
    assert_eq!(report.differences, []);
    let told = |remark: &&Remark| matches!(remark, Remark::Turned { .. });
    assert_eq!(report.remarks.iter().filter(told).count(), turned);
    assert!(turned > 40);
}

#[test]
fn a_swapped_gate_is_told_pad_by_pad() {
    let mut board = board();
    let chip = board.parts.iter_mut().find(|part| part.reference == "U5").expect("U5");
    let (y, z) = (chip.pads[14].net.clone(), chip.pads[3].net.clone());
    assert_eq!((y.as_deref(), z.as_deref()), (Some("AIN2"), Some("AIN3")));
    (chip.pads[14].net, chip.pads[3].net) = (z, y);
    let told: Vec<String> = report(&board).differences.iter().map(ToString::to_string).collect();
    assert_eq!(
        told,
        [
            "U5 pad 4 (Z) is on AIN2; it belongs on AIN3",
            "U5 pad 15 (Y) is on AIN3; it belongs on AIN2"
        ]
    );
}

/// A chip or socket with two pads on each other's nets is told, and not what hangs at them.
#[test]
fn the_chip_whose_pads_lie_on_each_others_nets_is_told() {
    let (mut all, mut elsewhere) = (0, vec![]);
    for (at, one, other) in pairs_of_pads() {
        for renamed in [false, true] {
            let mut board = board();
            if renamed {
                rename_all(&mut board);
            }
            let [of_one, of_other] = [one, other].map(|pad| board.parts[at].pads[pad].net.clone());
            // Two chips alone on both nets: with other names than the table's either may be the one.
            let has_end = |net: &Option<String>| {
                let mut all = board.parts.iter();
                all.any(|part| {
                    part.reference.starts_with(['R', 'C'])
                        && part.pads.iter().any(|pad| pad.net == *net)
                })
            };
            if of_one == of_other || renamed && !has_end(&of_one) && !has_end(&of_other) {
                continue;
            }
            let part = &mut board.parts[at];
            (part.pads[one].net, part.pads[other].net) = (of_other, of_one);
            let name = part.reference.clone();
            let told: Vec<String> =
                report(&board).differences.iter().map(ToString::to_string).collect();
            all += 1;
            let is_it = |line: &String| line.starts_with(&format!("{name} pad "));
            if told.len() != 2 || !told.iter().all(is_it) {
                elsewhere.push(format!("{name} {one} {other} {renamed} {told:?}"));
            }
        }
    }
    assert!(all > 500, "{all}");
    assert_eq!(elsewhere, Vec::<String>::new());
}

#[test]
fn nets_that_are_joined_or_cut_apart_are_told() {
    let mut joined = board();
    for pad in joined.parts.iter_mut().flat_map(|part| &mut part.pads) {
        if pad.net.as_deref() == Some("input") {
            pad.net = Some("guard".to_owned());
        }
    }
    let told: Vec<String> = report(&joined).differences.iter().map(ToString::to_string).collect();
    let input = "U1 pad 3 (+A) is on guard; it belongs on input";
    assert!(told.iter().any(|one| one == input), "{told:?}");

    let mut cut = board();
    let chip = cut.parts.iter_mut().find(|part| part.reference == "U1").expect("U1");
    chip.pads[6].net = Some("mid 2".to_owned());
    chip.pads[7].net = None;
    let told: Vec<String> = report(&cut).differences.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 2, "{told:?}");
    assert!(told[0].ends_with("is on \"mid 2\", which is none of the table; it belongs on mid"));
    assert!(told[1].ends_with("has no net; it belongs on 3V3S"), "{told:?}");
}

#[test]
fn a_pin_that_is_to_stay_open_may_be_alone_on_a_net_and_no_more() {
    let mut board = board();
    let chip = board.parts.iter_mut().find(|part| part.reference == "U5").expect("U5");
    chip.pads[1].net = Some("left alone".to_owned());
    assert_eq!(report(&board).differences, []);
    let chip = board.parts.iter_mut().find(|part| part.reference == "U5").expect("U5");
    chip.pads[1].net = Some("mid".to_owned());
    let told: Vec<String> = report(&board).differences.iter().map(ToString::to_string).collect();
    assert_eq!(told, ["U5 pad 2 (Y0) is on mid; it is to stay open"]);
}

#[test]
fn parts_besides_the_table_count_only_where_they_join_nets() {
    let mut board = board();
    let mut hole = board.parts[0].clone();
    hole.reference = "TP1".to_owned();
    hole.pads.truncate(1);
    board.parts.push(hole);
    let with_point = report(&board);
    assert_eq!(with_point.differences, []);
    assert_eq!(with_point.remarks, [Remark::Extra { part: "TP1".to_owned() }]);

    let mut bridge = board.parts[0].clone();
    bridge.reference = "R99".to_owned();
    board.parts.push(bridge);
    let told: Vec<String> = report(&board).differences.iter().map(ToString::to_string).collect();
    assert_eq!(told.len(), 1);
    assert!(told[0].starts_with("R99 is not in the table, and stands between "), "{told:?}");

    let twice = board.parts[3].clone();
    let part = twice.reference.clone();
    board.parts.push(twice);
    let repeated = Difference::Repeated { part, times: 2 };
    assert!(report(&board).differences.contains(&repeated));
}

#[test]
fn what_is_not_fitted_is_told() {
    let marked = TEXT.replace("(attr smd)", "(attr smd dnp)");
    assert_ne!(marked, *TEXT);
    let told = report(&read(marked.as_bytes()).expect("a board")).differences;
    let one = Difference::LeftOut { part: "R8".to_owned() };
    assert_eq!(told.iter().filter(|difference| **difference == one).count(), 1);
    assert!(told.iter().all(|difference| matches!(difference, Difference::LeftOut { .. })));

    let mut board = board();
    for (part, value) in [("R8", "1 kΩ DNP"), ("U1", "not fitted")] {
        let part = board.parts.iter_mut().find(|one| one.reference == part).expect("it is there");
        part.value = value.to_owned();
    }
    let told: Vec<String> = report(&board).differences.iter().map(ToString::to_string).collect();
    let mut wanted = ["R8 is marked not to be fitted", "U1 is marked not to be fitted"];
    wanted.sort_by_key(|one| NETLIST.parts().position(|part| one.starts_with(part)));
    assert_eq!(told, wanted);
}

#[test]
fn what_chips_say_is_listed_and_not_judged() {
    let mut board = board();
    let chip = board.parts.iter_mut().find(|part| part.reference == "U1").expect("U1");
    chip.value = "NE5532".to_owned();
    let report = report(&board);
    assert_eq!(report.differences, []);
    assert!(report.uncompared.contains(&("U1".to_owned(), "NE5532".to_owned())));
    let valued = NETLIST.parts().filter(|part| part.starts_with(['R', 'C'])).count();
    assert_eq!(report.uncompared.len(), NETLIST.parts().count() - valued);
}

#[test]
fn a_blank_behind_a_reference_is_no_matter() {
    let text = TEXT.replace("reference \"R8\"", "reference \" R8 \"");
    assert_ne!(text, *TEXT);
    assert_eq!(report(&read(text.as_bytes()).expect("a board")).differences, []);
}

#[test]
fn a_part_on_very_many_nets_is_told_in_a_line() {
    let nets = (0..1000).map(|at| format!("net {at}")).collect();
    let told = Difference::Extra { part: "x".repeat(500), nets }.to_string();
    assert!(told.ends_with("net 4 and 995 more") && told.len() < 200, "{told}");
}

#[test]
fn what_is_no_board_is_said_in_a_sentence() {
    let whole = &*TEXT;
    let old = whole.replace("(version 20211014)", "(version 20171130)");
    let schematic = rillmark_kicad::files()[1].text.clone();
    let cases: [(&[u8], Unreadable); 13] = [
        (b"", Unreadable::NotABoard { first: String::new() }),
        (b"()", Unreadable::NotABoard { first: ")".to_owned() }),
        (b"hello", Unreadable::NotABoard { first: "hello".to_owned() }),
        (schematic.as_bytes(), Unreadable::NotABoard { first: "kicad_sch".to_owned() }),
        (old.as_bytes(), Unreadable::TooOld),
        (b"(kicad_pcb (layers))", Unreadable::NoVersion { said: String::new() }),
        (b"(kicad_pcb (version new))", Unreadable::NoVersion { said: "new".to_owned() }),
        (b"(kicad_pcb (version 20211014)) \"\\", Unreadable::GoesOn { line: 1 }),
        (&[0; 80], Unreadable::NotText { at: 0 }),
        (b"(kicad_pcb\n(version \xff))", Unreadable::NotText { at: 20 }),
        (b"(kicad_pcb (version 20211014)\n)\n)", Unreadable::GoesOn { line: 3 }),
        (b"(kicad_pcb (version 20211014) (net \"", Unreadable::Unfinished),
        (&whole.as_bytes()[..whole.len() / 2], Unreadable::Unfinished),
    ];
    for (bytes, error) in cases {
        assert_eq!(read(bytes), Err(error));
    }
}

#[test]
fn megabytes_of_nothing_are_refused_in_little_time() {
    let deep = format!("(kicad_pcb (version 20211014) {}", "(".repeat(20_000_000));
    assert_eq!(read(deep.as_bytes()), Err(Unreadable::TooDeep { line: 1 }));
    let wide = format!("(kicad_pcb (version 20211014) {})", "()".repeat(2_000_000));
    assert_eq!(read(wide.as_bytes()), Ok(Board::default()));
    let many = format!("(kicad_pcb (version 20211014) {})", "(footprint)".repeat(100_001));
    assert_eq!(read(many.as_bytes()), Err(Unreadable::TooMany));
    let large = vec![b' '; rillmark_kicad::check::MOST_BYTES + 1];
    assert_eq!(read(&large), Err(Unreadable::TooLarge));
}

proptest! {
    #[test]
    fn two_pads_with_each_others_nets_are_found(one: prop::sample::Index, other: prop::sample::Index, renamed: bool) {
        let mut board = board();
        if renamed {
            rename_all(&mut board);
        }
        let all = places(&board);
        let (one, other) = (all[one.index(all.len())], all[other.index(all.len())]);
        let net = |at: (usize, usize)| board.parts[at.0].pads[at.1].net.clone();
        let (of_one, of_other) = (net(one), net(other));
        let lies_turned = one.0 == other.0 && board.parts[one.0].reference.starts_with(['R', 'C']);
        let is_open = |at: (usize, usize)| {
            let pad = &board.parts[at.0].pads[at.1];
            NETLIST.0.iter().any(|pin| pin.part == board.parts[at.0].reference
                && pin.number.to_string() == pad.number && pin.net.is_none())
        };
        // Two pins that are open stay open.
        let is_same = of_one == of_other || lies_turned || is_open(one) && is_open(other);
        board.parts[one.0].pads[one.1].net = of_other;
        board.parts[other.0].pads[other.1].net = of_one;
        prop_assert_eq!(report(&board).differences.is_empty(), is_same);
    }

    #[test]
    fn swapped_values_are_found(one: prop::sample::Index, other: prop::sample::Index) {
        let mut board = board();
        let valued = |part: &&mut rillmark_kicad::check::Part| part.reference.starts_with(['R', 'C']);
        let mut parts: Vec<_> = board.parts.iter_mut().filter(valued).collect();
        let (one, other) = (one.index(parts.len()), other.index(parts.len()));
        let (of_one, of_other) = (parts[one].value.clone(), parts[other].value.clone());
        let is_same = of_one == of_other;
        parts[one].value = of_other;
        parts[other].value = of_one;
        prop_assert_eq!(report(&board).differences.len(), if is_same { 0 } else { 2 });
    }

    #[test]
    fn a_part_that_is_gone_is_the_only_thing_told(at: prop::sample::Index) {
        let mut board = board();
        let part = board.parts.remove(at.index(board.parts.len())).reference;
        prop_assert_eq!(report(&board).differences, [Difference::Missing { part }]);
    }

    #[test]
    fn no_bytes_make_it_panic(mut bytes in prop::collection::vec(any::<u8>(), 0..200), at: prop::sample::Index) {
        let _ = read(&bytes);
        // The same within a board that begins well, and cut off.
        let mut whole = TEXT.clone().into_bytes();
        whole.truncate(at.index(whole.len()));
        whole.append(&mut bytes);
        if let Ok(board) = read(&whole) {
            let _ = report(&board).differences.iter().map(ToString::to_string).count();
        }
    }

    #[test]
    fn no_words_make_it_panic(words in prop::collection::vec(prop::sample::select(vec![
        "(", ")", "kicad_pcb", "(version 20211014)", "(footprint", "(pad", "\"1\"", "(net", "\"\"", "3",
        "(property \"Reference\" \"R1\")", "(fp_text reference U5)", "\\", "(at 1 2)", "\"\\\"",
    ]), 0..60)) {
        let text = format!("(kicad_pcb (version 20211014) {}", words.join(" "));
        for end in ["", ")", "))", ")))))"] {
            if let Ok(board) = read(format!("{text}{end}").as_bytes()) {
                let _ = report(&board);
            }
        }
    }
}
