//! The board: footprints in their zones, a net at every pad, an outline, and no copper.

use std::fmt::Write;

use rillmark_net_list::{NETLIST, NETS, Pin, package};

use crate::pattern::Footprint;
use crate::spelling::{identity, mm, quoted, symbol_identity};
use crate::zones::{COLUMNS, Zone, value};

/// Where the board's corner lies on the sheet, in mm.
const CORNER: (f64, f64) = (30.0, 40.0);
/// From the edge to the first zone, in mm.
const EDGE: f64 = 3.0;
/// Between parts of a row, for tracks; a judgement. In mm.
const BESIDE: f64 = 2.5;
/// Between rows, for tracks and the parts' names, in mm.
const BELOW: f64 = 3.0;
/// Within a zone's frame, and for its title, in mm.
const INSIDE: f64 = 2.0;
const TITLE: f64 = 2.5;

const LAYERS: &str = r#"  (layers
    (0 "F.Cu" signal) (31 "B.Cu" signal)
    (34 "B.Paste" user) (35 "F.Paste" user)
    (36 "B.SilkS" user "B.Silkscreen") (37 "F.SilkS" user "F.Silkscreen")
    (38 "B.Mask" user) (39 "F.Mask" user)
    (40 "Dwgs.User" user "User.Drawings") (41 "Cmts.User" user "User.Comments")
    (44 "Edge.Cuts" user) (45 "Margin" user)
    (46 "B.CrtYd" user "B.Courtyard") (47 "F.CrtYd" user "F.Courtyard")
    (48 "B.Fab" user) (49 "F.Fab" user))
"#;

/// The board's file.
pub(crate) fn text(title_block: &str) -> String {
    let mut text = format!(
        "(kicad_pcb (version 20211014) (generator rillmark)\n  (general (thickness 1.6))\n  (paper \"A4\")\n{title_block}{LAYERS}  (setup (pad_to_mask_clearance 0.05))\n  (net 0 \"\")\n"
    );
    for (at, net) in net_names().iter().enumerate() {
        let _ = writeln!(text, "  (net {} {})", at + 1, quoted(net));
    }
    let heights = COLUMNS.iter().map(|zones| zones.iter().map(|zone| size(zone).1).sum::<f64>());
    let height = heights.fold(0.0, f64::max);
    let mut x = CORNER.0 + EDGE;
    for zones in COLUMNS {
        let width = zones.iter().map(|zone| size(zone).0).fold(0.0, f64::max);
        let mut y = CORNER.1 + EDGE;
        for zone in *zones {
            place(&mut text, zone, (x, y), width);
            y += size(zone).1;
        }
        x += width;
    }
    let (right, bottom) = (x + EDGE, CORNER.1 + height + 2.0 * EDGE);
    rectangle(&mut text, "Edge.Cuts", 0.1, CORNER, (right, bottom));
    text.push_str(")\n");
    text
}

/// Every net of the table, and one for each pin that is left open.
fn net_names() -> Vec<String> {
    let open = NETLIST.0.iter().filter(|pin| pin.net.is_none()).map(net_name);
    NETS.iter().map(|net| net.name().to_owned()).chain(open).collect()
}

/// The net of a pin; one that is left open has its own, called as KiCad 7 and later call it.
fn net_name(pin: &Pin) -> String {
    match pin.net {
        Some(net) => net.name().to_owned(),
        None => format!("unconnected-({}-{}-Pad{})", pin.part, pin.name, pin.number),
    }
}

/// Width and height of a zone with its frame, in mm.
fn size(zone: &Zone) -> (f64, f64) {
    let rows = zone.rows.iter().map(|row| row_size(row));
    let (width, height) =
        rows.fold((0.0, 0.0), |(w, h): (f64, f64), row| (w.max(row.0), h + row.1 + BELOW));
    (width + 2.0 * INSIDE, height + TITLE + INSIDE)
}

/// Width and height of a row of parts, in mm.
fn row_size(row: &[&'static str]) -> (f64, f64) {
    let sizes = row.iter().map(|part| footprint(part).size());
    let (width, height) =
        sizes.fold((-BESIDE, 0.0), |(w, h): (f64, f64), part| (w + part.0 + BESIDE, h.max(part.1)));
    (width.max(0.0), height)
}

/// Every part of the table has a package: a test holds it.
fn footprint(part: &str) -> Footprint {
    Footprint::of(package(part).expect("every part of the table has a package"))
}

fn place(text: &mut String, zone: &Zone, (left, top): (f64, f64), width: f64) {
    let frame = 0.5;
    rectangle(
        text,
        "Dwgs.User",
        0.15,
        (left + frame, top + frame),
        (left + width - frame, top + size(zone).1 - frame),
    );
    let _ = writeln!(
        text,
        "  (gr_text {} (at {} {}) (layer \"Dwgs.User\") (effects (font (size 0.9 0.9) (thickness 0.12)) (justify left)))",
        quoted(zone.title),
        mm(left + INSIDE / 2.0),
        mm(top + INSIDE)
    );
    let mut y = top + TITLE;
    for row in zone.rows {
        let height = row_size(row).1;
        let mut x = left + INSIDE;
        y += BELOW;
        for part in *row {
            let footprint = footprint(part);
            let width = footprint.size().0;
            let at = (x + width / 2.0, y + height / 2.0);
            text.push_str(&part_text(part, &footprint, at));
            x += width + BESIDE;
        }
        y += height;
    }
}

fn part_text(part: &'static str, footprint: &Footprint, (x, y): (f64, f64)) -> String {
    let head = format!(
        "(layer \"F.Cu\") (tstamp {}) (at {} {})\n  (property \"Sheetfile\" \"{}.kicad_sch\") (property \"Sheetname\" \"\") (path \"/{}\")",
        identity(&format!("footprint {part}")),
        mm(x),
        mm(y),
        crate::NAME,
        symbol_identity(part)
    );
    let names = net_names();
    footprint.text(&footprint.link(), &head, (part, &value(part)), |pad| {
        let net = NETLIST.pin(part, pad.number).map(net_name);
        let number = net.and_then(|net| names.iter().position(|other| *other == net));
        let net = number.map_or(String::new(), |number| {
            format!(" (net {} {})", number + 1, quoted(&names[number]))
        });
        format!("{net} (tstamp {})", identity(&format!("pad {part} {}", pad.number)))
    }) + "\n"
}

fn rectangle(text: &mut String, layer: &str, line: f64, from: (f64, f64), to: (f64, f64)) {
    let _ = writeln!(
        text,
        "  (gr_rect (start {} {}) (end {} {}) (layer \"{layer}\") (width {}) (fill none) (tstamp {}))",
        mm(from.0),
        mm(from.1),
        mm(to.0),
        mm(to.1),
        mm(line),
        identity(&format!("{layer} {} {}", mm(from.0), mm(from.1)))
    );
}
