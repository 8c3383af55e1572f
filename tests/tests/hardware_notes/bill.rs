//! The bill of materials: everything once, with its value, and the sum.

use std::collections::BTreeSet;

use rillmark_net_list::places;
use rillmark_proto::circuit::{chips, parts};

use super::{cells, page};

/// One row, whichever of the two tables it stands in.
#[derive(Debug)]
struct Row {
    designators: Vec<String>,
    /// Value and tolerance, of a resistor or capacitor.
    value: Option<(String, String)>,
    specification: String,
    examples: [String; 2],
    class: char,
    pieces: usize,
    each_cents: usize,
    sum_cents: usize,
}

fn cents(text: &str) -> usize {
    let (dollars, cents) = text.split_once('.').unwrap_or_else(|| panic!("no price: {text}"));
    assert_eq!(cents.len(), 2, "{text}");
    dollars.parse::<usize>().expect(text) * 100 + cents.parse::<usize>().expect(text)
}

fn rows() -> Vec<Row> {
    let page = page("bill-of-materials.md");
    let mut rows = vec![];
    for cells in page.lines().filter_map(cells).filter(|cells| cells[0] != "place") {
        let owned = |at: usize| cells[at].to_owned();
        // The last six cells are the same in both.
        let tail = cells.len() - 6;
        rows.push(Row {
            designators: cells[0].split(", ").map(str::to_owned).collect(),
            value: (tail == 4).then(|| (owned(1), owned(2))),
            specification: owned(tail - 1),
            examples: [owned(tail), owned(tail + 1)],
            class: cells[tail + 2].chars().next().expect("a class"),
            pieces: cells[tail + 3].parse().expect("a number of pieces"),
            each_cents: cents(cells[tail + 4]),
            sum_cents: cents(cells[tail + 5]),
        });
    }
    assert!(rows.len() > 20, "{}", rows.len());
    rows
}

#[test]
fn everything_is_on_it_once() {
    let rows = rows();
    let listed: Vec<&String> = rows.iter().flat_map(|row| &row.designators).collect();
    let once: BTreeSet<&str> = listed.iter().map(|name| name.as_str()).collect();
    assert_eq!(once.len(), listed.len(), "something is listed twice");
    let parts = parts::ALL.iter().map(|part| part.designator);
    let places = places::ALL.iter().map(|place| place.designator).filter(|name| *name != "A1");
    assert_eq!(once, parts.chain(places).collect());
}

#[test]
fn parts_have_the_values_of_the_table() {
    let rows = rows();
    for part in parts::ALL {
        let row =
            rows.iter().find(|row| row.designators.iter().any(|name| name == part.designator));
        let row = row.unwrap_or_else(|| panic!("{} is missing", part.designator));
        let percent = (part.tolerance * 1e4).round() / 100.0;
        let expected = (part.to_string(), format!("{percent} %"));
        assert_eq!(row.value.as_ref(), Some(&expected), "{}", part.designator);
        if part.drift_per_k > 0.0 {
            let ppm = format!("≤ {:.0} ppm/K", part.drift_per_k * 1e6);
            assert!(row.specification.contains(&ppm), "{}: {ppm}", part.designator);
        }
    }
}

#[test]
fn chips_are_asked_for_what_the_budget_counts_with() {
    let rows = rows();
    let asked = [
        ("U1", format!("≤ {:.0} fA", chips::ELECTROMETER_BIAS_A * 1e15)),
        ("U1", format!("offset ≤ {:.0} mV", chips::ELECTROMETER_OFFSET_V * 1e3)),
        ("U1", format!("≥ {:.0} MHz", chips::AMPLIFIER_BANDWIDTH_HZ / 1e6)),
        ("U2", format!("≥ {:.0} MHz", chips::AMPLIFIER_BANDWIDTH_HZ / 1e6)),
        ("U2", format!("≥ {} V/µs", chips::AMPLIFIER_SLEW_V_PER_S / 1e6)),
        ("U2", format!("offset ≤ {:.0} mV", chips::FOLLOWER_OFFSET_V * 1e3)),
        ("U3", format!("≤ {:.0} Ω at {} V", chips::SWITCH_ON_MAX_OHM, chips::SUPPLY_V)),
        // A gate's control swings over the supply.
        ("U5", format!("≤ {:.0} pC", (chips::GATE_INJECTION_F * chips::SUPPLY_V * 1e12).ceil())),
    ];
    for (designator, text) in asked {
        let row = rows.iter().find(|row| row.designators[0] == designator).expect(designator);
        assert!(row.specification.contains(&text), "{designator}: {text}");
    }
}

#[test]
fn every_row_adds_up_and_names_two_examples() {
    for row in rows() {
        assert_eq!(row.pieces, row.designators.len(), "{row:?}");
        assert_eq!(row.sum_cents, row.pieces * row.each_cents, "{row:?}");
        let class = match row.each_cents {
            ..25 => 'a',
            25..100 => 'b',
            100..500 => 'c',
            _ => 'd',
        };
        assert_eq!(row.class, class, "{row:?}");
        assert!(row.examples.iter().all(|example| !example.is_empty()), "{row:?}");
        assert_ne!(row.examples[0], row.examples[1], "{row:?}");
    }
}

#[test]
fn all_of_it_is_below_25_dollars() {
    let sum: usize = rows().iter().map(|row| row.sum_cents).sum();
    assert!(sum < 2_500, "{sum}");
    let told = format!("**Sum of all rows: {}.{:02} USD.**", sum / 100, sum % 100);
    assert!(page("bill-of-materials.md").contains(&told), "{told}");
}
