//! Symbols of our own: a box with pins at both sides, or a bar for what has two equal ends.

use std::fmt::Write;

use rillmark_net_list::{Kind, NETLIST, Pin};

use crate::spelling::{mm, quoted};

pub(crate) const LIBRARY: &str = "rillmark";
/// The symbol that says that a net is fed through a part that KiCad takes for no source.
pub(crate) const FED: &str = "fed";
/// How small text is written.
pub(crate) const FONT: &str = "(effects (font (size 1.27 1.27)))";
/// The same for what is not shown.
pub(crate) const HIDDEN: &str = "(effects (font (size 1.27 1.27)) hide)";
/// Between pins, in mm: twice the grid of schematics.
pub(crate) const PITCH: f64 = 2.54;

/// Where a pin of a symbol ends, from the symbol's first pin row; y counts downwards. In mm.
pub(crate) struct End {
    pub(crate) pin: &'static Pin,
    pub(crate) x: f64,
    pub(crate) y: f64,
}

/// The symbol of a part. Resistors share one, and so do capacitors and pairs of diodes.
pub(crate) fn name(part: &str) -> &str {
    match part.as_bytes()[0] {
        b'R' | b'C' | b'D' => &part[..1],
        _ => part,
    }
}

/// True for a part with two ends that may be turned round.
pub(crate) fn has_equal_ends(part: &str) -> bool {
    matches!(part.as_bytes()[0], b'R' | b'C')
}

/// The ends of a part's pins: the first half down at the left; the second half down at the right, or up
/// where the package counts up.
pub(crate) fn ends(part: &'static str) -> Vec<End> {
    let pins: Vec<&Pin> = NETLIST.pins_of(part).collect();
    let left = pins.len().div_ceil(2);
    let x = reach(part);
    let end = |(at, pin)| {
        let (x, row) = if at < left {
            (-x, at)
        } else if pins.len() > 3 {
            (x, pins.len() - 1 - at)
        } else {
            (x, at - left)
        };
        End { pin, x, y: row as f64 * PITCH }
    };
    pins.iter().copied().enumerate().map(end).collect()
}

/// From the middle to the end of a pin, in mm.
fn reach(part: &str) -> f64 {
    if has_equal_ends(part) { 5.08 } else { 12.7 }
}

/// The symbol of a part as KiCad reads it, under a name of the library or of the sheet.
pub(crate) fn text(part: &'static str, link: &str) -> String {
    let ends = ends(part);
    let low = ends.iter().map(|end| end.y).fold(0.0, f64::max);
    let half = reach(part) - PITCH;
    let letters = part.trim_end_matches(|c: char| c.is_ascii_digit());
    let hide = if has_equal_ends(part) { " (pin_numbers hide) (pin_names hide)" } else { "" };
    let name = name(part);
    let mut text = format!(
        "(symbol {}{hide} (in_bom yes) (on_board yes)\n  {}\n  (symbol \"{name}_0_1\" (rectangle (start -{h} 1.27) (end {h} {}) (stroke (width 0)) (fill (type background))))\n  (symbol \"{name}_1_1\"\n",
        quoted(link),
        properties(letters, "", "", (0.0, 2.54)),
        mm(-low - 1.27),
        h = mm(half),
    );
    for End { pin, x, y } in ends {
        let _ = writeln!(
            text,
            "    (pin {} line (at {} {} {}) (length 2.54) (name {} {FONT}) (number \"{}\" {FONT}))",
            kind(pin.kind),
            mm(x),
            mm(-y),
            if x < 0.0 { 0 } else { 180 },
            quoted(pin.name),
            pin.number,
        );
    }
    text.push_str("  ))\n");
    text
}

/// The symbol of [`FED`].
pub(crate) fn fed_text(link: &str) -> String {
    format!(
        "(symbol {} (power) (in_bom no) (on_board no)\n  {}\n  (symbol \"{FED}_1_1\" (pin power_out line (at 0 0 0) (length 0) (name \"\" {FONT}) (number \"1\" {FONT}))))\n",
        quoted(link),
        properties("#FLG", FED, "", (0.0, 2.54)),
    )
}

/// Reference and value above what they belong to, and what is not shown.
pub(crate) fn properties(
    reference: &str,
    value: &str,
    footprint: &str,
    (x, y): (f64, f64),
) -> String {
    let (before, behind, y) = (mm(x - 0.635), mm(x + 0.635), mm(y));
    let x = mm(x);
    let beside = |to: &str| format!("(effects (font (size 1.27 1.27)) (justify {to}))");
    let reference_shown =
        if reference.starts_with('#') { HIDDEN.to_owned() } else { beside("right") };
    format!(
        "(property \"Reference\" {} (id 0) (at {before} {y} 0) {reference_shown}) (property \"Value\" {} (id 1) (at {behind} {y} 0) {}) (property \"Footprint\" {} (id 2) (at {x} {y} 0) {HIDDEN}) (property \"Datasheet\" \"\" (id 3) (at {x} {y} 0) {HIDDEN})",
        quoted(reference),
        quoted(value),
        beside("left"),
        quoted(footprint),
    )
}

/// What KiCad's rule check calls a pin's kind. A pin that is left open is marked at its end.
const fn kind(kind: Kind) -> &'static str {
    match kind {
        Kind::Input => "input",
        Kind::Output => "output",
        Kind::Bidirectional => "bidirectional",
        Kind::OpenCollector => "open_collector",
        Kind::Passive | Kind::Open => "passive",
        Kind::PowerIn => "power_in",
        Kind::PowerOut => "power_out",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_that_share_a_symbol_have_the_same_pins() {
        let pins = |part| {
            let pins = NETLIST.pins_of(part);
            pins.map(|pin| (pin.number, pin.name, kind(pin.kind))).collect::<Vec<_>>()
        };
        for part in NETLIST.parts() {
            let first = NETLIST.parts().find(|other| name(other) == name(part)).expect("itself");
            assert_eq!(pins(part), pins(first), "{part}");
            assert!(!has_equal_ends(part) || pins(part).len() == 2, "{part}");
        }
    }

    #[test]
    fn no_two_pins_of_a_part_end_at_the_same_place() {
        for part in NETLIST.parts() {
            let places: Vec<_> = ends(part).iter().map(|end| (mm(end.x), mm(end.y))).collect();
            for (at, place) in places.iter().enumerate() {
                assert!(!places[..at].contains(place), "{part}: {place:?}");
            }
        }
    }
}
