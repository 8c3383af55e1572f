//! Which part stands where: parts that belong together stand together, sockets at the left edge, what
//! switches fast at the right. The order is that of the pages; how near is a judgement, not a rule.

use rillmark_net_list::places;
use rillmark_proto::circuit::parts;

/// Parts that belong together, in rows from left to right.
pub(crate) struct Zone {
    /// What it is, and what to mind in it.
    pub(crate) title: &'static str,
    /// Its rows, from above.
    pub(crate) rows: &'static [&'static [&'static str]],
}

const fn zone(title: &'static str, rows: &'static [&'static [&'static str]]) -> Zone {
    Zone { title, rows }
}

/// The board's columns from the left, each with its zones from above.
pub(crate) const COLUMNS: &[&[Zone]] = &[
    &[
        zone("pH input: mind the guard", &[&["J1", "R1", "R31", "U1"], &["C1", "C12"]]),
        zone("Mid", &[&["R4", "R5", "C11"]]),
        zone("Cell", &[&["J2", "D1", "D2", "R28"], &["R18", "R19"], &["R30", "C5"]]),
        zone("Thermometer", &[&["J3", "D3", "D4"], &["R20", "R21", "R29"]]),
    ],
    &[
        zone("Drive, taps' follower", &[&["U2", "C13"], &["R6", "R7", "C4"]]),
        zone("Ranges", &[&["U3", "C14"], &["R8", "R9"], &["R10", "R11"]]),
        zone("Taps", &[&["U4", "C15"]]),
    ],
    &[
        zone("Return, reference, gates", &[&["R17", "U5", "C16"], &["R22", "R23", "R24"]]),
        zone("Hold", &[&["R12", "R13"], &["C6", "C7"]]),
        zone("Converter", &[&["U6", "C17"], &["R2", "C2"], &["R3", "C3"]]),
        zone("Supply", &[&["R14", "C8", "Q1"], &["R15", "R16", "C10"], &["C9"]]),
    ],
    &[
        zone("Pico: USB socket at the edge", &[&["A1"], &["R25", "R26"]]),
        zone("Clock; never charge the cell", &[&["U7", "C18", "R27"], &["BT1"]]),
    ],
];

/// Every zone, column by column.
pub(crate) fn zones() -> impl Iterator<Item = &'static Zone> {
    COLUMNS.iter().copied().flatten()
}

/// What is written beside a part: the value of a resistor or capacitor, else what it is for.
pub(crate) fn value(part: &str) -> String {
    if let Some(found) = parts::ALL.iter().find(|found| found.designator == part) {
        return found.to_string();
    }
    let place = places::ALL.iter().find(|place| place.designator == part);
    let meaning = place.map_or("", |place| place.meaning);
    meaning.split(':').next().unwrap_or(meaning).to_owned()
}

#[cfg(test)]
mod tests {
    use rillmark_net_list::NETLIST;

    use super::*;

    #[test]
    fn every_part_has_one_place() {
        let mut placed: Vec<&str> =
            zones().flat_map(|zone| zone.rows.iter().copied().flatten()).copied().collect();
        let mut wanted: Vec<&str> = NETLIST.parts().collect();
        placed.sort_unstable();
        wanted.sort_unstable();
        assert_eq!(placed, wanted, "a part of the table belongs into one row of COLUMNS");
    }

    #[test]
    fn resistors_are_written_with_their_value_and_chips_with_what_they_are_for() {
        assert_eq!(value("R6"), "31.6 kΩ");
        assert_eq!(value("U3"), "range switch");
    }
}
