//! The schematic: every part with its net's name at each pin, in the zones of the board.

use std::fmt::Write;

use rillmark_net_list::{FILTERED, NETLIST, Net, package};

use crate::pattern::Footprint;
use crate::spelling::{identity, mm, quoted, symbol_identity};
use crate::symbol::{self, End, FED, LIBRARY, PITCH};
use crate::zones::{value, zones};

/// Nets that chips take a supply from, and that are fed through a resistor.
const FED_NETS: &[Net] = &[FILTERED];

const TOP: f64 = 25.4;
const BOTTOM: f64 = 250.0;
const LEFT: f64 = 50.8;
const COLUMN: f64 = 81.28;
/// Below the last pin of a part, and below a title, in mm.
const GAP: f64 = 3.0 * PITCH;

/// The sheet.
pub(crate) fn text(title_block: &str) -> String {
    let mut sheet = Sheet::default();
    for zone in zones() {
        let parts = zone.rows.iter().copied().flatten().copied();
        let height = parts.clone().map(|part| height(part) + GAP).sum::<f64>() + 2.0 * GAP;
        if sheet.y + height > BOTTOM {
            sheet.turn_to_next_column();
        }
        sheet.title(zone.title);
        parts.for_each(|part| sheet.part(part));
        sheet.y += GAP;
    }
    sheet.y += GAP;
    sheet.title("Fed through a resistor");
    FED_NETS.iter().for_each(|net| sheet.fed(*net));
    let sheet_identity = identity("sheet");
    format!(
        "(kicad_sch (version 20211123) (generator rillmark) (uuid {sheet_identity}) (paper \"A3\")\n{title_block}(lib_symbols\n{})\n{}(sheet_instances (path \"/\" (page \"1\")))\n(symbol_instances\n{}))\n",
        symbols(&format!("{LIBRARY}:")),
        sheet.drawn,
        sheet.instances
    )
}

/// The library of symbols.
pub(crate) fn library_text() -> String {
    format!("(kicad_symbol_lib (version 20211014) (generator rillmark)\n{})\n", symbols(""))
}

fn symbols(prefix: &str) -> String {
    let first = |part: &&'static str| {
        NETLIST.parts().find(|other| symbol::name(other) == symbol::name(part)) == Some(*part)
    };
    let mut text: String = NETLIST
        .parts()
        .filter(first)
        .map(|part| symbol::text(part, &format!("{prefix}{}", symbol::name(part))))
        .collect();
    text.push_str(&symbol::fed_text(&format!("{prefix}{FED}")));
    text
}

/// From the first to the last row of pins, in mm.
fn height(part: &'static str) -> f64 {
    symbol::ends(part).iter().map(|end| end.y).fold(0.0, f64::max)
}

struct Sheet {
    x: f64,
    y: f64,
    drawn: String,
    instances: String,
    fed: usize,
}

impl Default for Sheet {
    fn default() -> Self {
        Self { x: LEFT, y: TOP, drawn: String::new(), instances: String::new(), fed: 0 }
    }
}

impl Sheet {
    fn turn_to_next_column(&mut self) {
        self.x += COLUMN;
        self.y = TOP;
    }

    fn title(&mut self, title: &str) {
        let _ = writeln!(
            self.drawn,
            "(text {} (at {} {} 0) (effects (font (size 1.9 1.9)) (justify left)) (uuid {}))",
            quoted(title),
            mm(self.x - 25.4),
            mm(self.y),
            identity(&format!("title {title}"))
        );
        self.y += GAP;
    }

    fn part(&mut self, part: &'static str) {
        let (x, y) = (self.x, self.y);
        let own = symbol_identity(part);
        let footprint = package(part).map_or(String::new(), |body| Footprint::of(body).link());
        let value = value(part);
        let ends = symbol::ends(part);
        let _ = writeln!(
            self.drawn,
            "(symbol (lib_id \"{LIBRARY}:{}\") (at {} {} 0) (unit 1) (in_bom yes) (on_board yes) (uuid {own})\n  {}",
            symbol::name(part),
            mm(x),
            mm(y),
            symbol::properties(part, &value, &footprint, (x, y - 2.54)),
        );
        for End { pin, .. } in &ends {
            let of_pin = identity(&format!("pin {part} {}", pin.number));
            let _ = write!(self.drawn, "  (pin \"{}\" (uuid {of_pin}))", pin.number);
        }
        self.drawn.push_str(")\n");
        let _ = writeln!(
            self.instances,
            "(path \"/{own}\" (reference {}) (unit 1) (value {}) (footprint {}))",
            quoted(part),
            quoted(&value),
            quoted(&footprint)
        );
        for end in &ends {
            let key = format!("{part} {}", end.pin.number);
            match end.pin.net {
                Some(net) => self.label(net, (x + end.x, y + end.y), end.x < 0.0, &key),
                None => self.left_open((x + end.x, y + end.y), &key),
            }
        }
        self.y += height(part) + GAP;
    }

    fn label(&mut self, net: Net, (x, y): (f64, f64), at_left: bool, key: &str) {
        let (angle, side) = if at_left { (180, "right") } else { (0, "left") };
        let _ = writeln!(
            self.drawn,
            "(global_label {} (shape passive) (at {} {} {angle}) (effects (font (size 1.27 1.27)) (justify {side})) (uuid {}))",
            quoted(net.name()),
            mm(x),
            mm(y),
            identity(&format!("label {key}"))
        );
    }

    fn left_open(&mut self, (x, y): (f64, f64), key: &str) {
        let of_mark = identity(&format!("open {key}"));
        let _ = writeln!(self.drawn, "(no_connect (at {} {}) (uuid {of_mark}))", mm(x), mm(y));
    }

    fn fed(&mut self, net: Net) {
        self.fed += 1;
        let reference = format!("#FLG{:02}", self.fed);
        let (x, y) = (self.x, self.y);
        let own = symbol_identity(&reference);
        let _ = writeln!(
            self.drawn,
            "(symbol (lib_id \"{LIBRARY}:{FED}\") (at {} {} 0) (unit 1) (in_bom no) (on_board no) (uuid {own})\n  {}\n  (pin \"1\" (uuid {})))",
            mm(x),
            mm(y),
            symbol::properties(&reference, FED, "", (x, y - 2.54)),
            identity(&format!("pin {reference}"))
        );
        let _ = writeln!(
            self.instances,
            "(path \"/{own}\" (reference \"{reference}\") (unit 1) (value \"{FED}\") (footprint \"\"))"
        );
        self.label(net, (x, y), true, &reference);
        self.y += GAP;
    }
}
