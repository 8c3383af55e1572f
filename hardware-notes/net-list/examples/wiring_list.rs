//! Prints the wiring list as it stands in `hardware-notes/wiring.md`: every joint of the table of nets, in the
//! order of work of `build-and-check.md`.

use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::sync::LazyLock;

use rillmark_net_list::{
    Alteration, FILTERED, GROUND, Kind, MID, NETLIST, NETS, Net, Netlist, PINS, Pin, SUPPLY,
    SWITCHED, check, differences,
};

#[allow(dead_code)] // The test has a main of its own.
fn main() {
    print!("{}", page(NETLIST, &order_of_work()));
}

/// The page that the steps are taken from.
pub(crate) fn order_of_work() -> String {
    include_str!("../../build-and-check.md").to_owned()
}

const HEAD: &str = "\
# Wiring list

Written by `hardware-notes/net-list/tests/wiring.rs` from the table of nets in the code, in the order of [build and first
check](build-and-check.md); do not edit. For a stripboard or a prototyping board: each row is one joint, to be
ticked off. Pin numbers are those of the usual packages (recalled, not checked): your part's data sheet
decides. *Left* is the left or upper end of a resistor or capacitor in the drawings; it has no direction. The
Pico's pins are counted along its edge; it joins its ground pins itself. **Bold** are rails: a strip, or a wire
along the board. What is joined to `glass`, `behind_glass` or `input` stands in the air or inside the
[guard](ph-input.md).
";

/// What the names of the pins of parts with three pads stand for, and what is no bare chip.
fn pads() -> String {
    let numbered = |part: &str| {
        let pins = NETLIST.pins_of(part).map(|pin| format!("{} {}", pin.name, pin.number));
        pins.collect::<Vec<_>>().join(", ")
    };
    format!(
        "\nPads of a SOT-23, from above, 1 and 2 side by side and 3 alone, counted against the clock: D1 to D4\n{}; \
         Q1 {}. U7 is the bare chip: join a ready-made small board\nby its names, and take its charging resistor off \
         **before a coin cell goes in** ([step 8](build-and-check.md)).\n",
        numbered("D1"),
        numbered("Q1")
    )
}

/// What is soldered to a strip of its own.
const RAILS: [Net; 5] = [GROUND, SUPPLY, FILTERED, SWITCHED, MID];

/// The whole page.
pub(crate) fn page(list: Netlist<'_>, order: &str) -> String {
    let steps = steps(order);
    let mut text = HEAD.to_owned() + &pads();
    let mut fitted: Vec<&Pin> = vec![];
    let last = steps.values().copied().max().unwrap_or(0);
    for step in 1..=last {
        let now: Vec<&Pin> =
            list.0.iter().filter(|pin| steps.get(&key(pin)) == Some(&step)).collect();
        let joints = joints(&fitted, &now);
        let open =
            names(now.iter().copied().filter(|pin| pin.kind == Kind::Open && pin.part != "A1"));
        if !joints.is_empty() {
            let parts = fresh(&fitted, &now);
            let _ = writeln!(text, "\n## Step {step}{}\n", title(&parts));
            text += "| from | to | net | done |\n|---|---|---|---|\n";
            for (from, to, net) in joints {
                let _ = writeln!(text, "| {from} | {to} | `{net}` | |");
            }
            if !open.is_empty() {
                let _ = writeln!(text, "\nLeft open: {open}.");
            }
        }
        fitted.extend(now);
    }
    text + &nets(list) + &sown_table()
}

fn title(parts: &[&str]) -> String {
    if parts.is_empty() { String::new() } else { format!(": {}", parts.join(", ")) }
}

type Key = (&'static str, u8);

fn key(pin: &Pin) -> Key {
    (pin.part, pin.number)
}

/// The step in which each pin is joined: a part's where it is named first, a line of the Pico's where the page
/// says "connect".
pub(crate) fn steps(order: &str) -> BTreeMap<Key, usize> {
    let mut steps = BTreeMap::new();
    for row in order.lines() {
        let cells: Vec<&str> = row.split('|').map(str::trim).collect();
        let [_, step, fit, ..] = cells[..] else { continue };
        let Ok(step) = step.parse::<usize>() else { continue };
        for part in named(fit) {
            for pin in NETLIST.pins_of(part).filter(|pin| part != "A1" || !is_line(pin)) {
                steps.entry(key(pin)).or_insert(step);
            }
        }
        let connected = fit.split_once("connect").map_or("", |(_, lines)| lines).to_lowercase();
        for pin in NETLIST.pins_of("A1").filter(|pin| is_line(pin)) {
            let stem = pin.net.map_or("", |net| net.name().split('_').next().unwrap_or(""));
            if connected.contains(stem) {
                steps.entry(key(pin)).or_insert(step);
            }
        }
    }
    steps
}

fn is_line(pin: &Pin) -> bool {
    pin.name.starts_with("GP") && pin.net.is_some()
}

/// The parts of the table that a text names, `R22 to R24` too.
fn named(text: &str) -> Vec<&'static str> {
    let words: Vec<&str> =
        text.split(|c: char| !c.is_ascii_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let mut found = vec![];
    for (at, word) in words.iter().enumerate() {
        let is_end = at >= 2 && words[at - 1] == "to";
        let begin = if is_end { words[at - 2] } else { word };
        let letter = |name: &str| name.trim_end_matches(|c: char| c.is_ascii_digit()).to_owned();
        let number = |name: &str| name[letter(name).len()..].parse::<usize>().ok();
        let (Some(from), Some(to)) = (number(begin), number(word)) else { continue };
        if letter(begin) == letter(word) {
            let is_in = |part: &&str| {
                letter(part) == letter(word)
                    && number(part).is_some_and(|part| (from..=to).contains(&part))
            };
            found.extend(NETLIST.parts().filter(is_in));
        }
    }
    found
}

/// The parts of a step of which nothing was there before.
fn fresh(fitted: &[&Pin], now: &[&Pin]) -> Vec<&'static str> {
    let is_in = |part: &str, pins: &[&Pin]| pins.iter().any(|pin| pin.part == part);
    NETLIST.parts().filter(|part| is_in(part, now) && !is_in(part, fitted)).collect()
}

/// The joints that are new: a part's pins to a rail in one row, every other to the pin that leads its net.
fn joints(fitted: &[&Pin], now: &[&Pin]) -> Vec<(String, String, Net)> {
    let mut joints = vec![];
    for net in NETS {
        let (before, mut new) = (on(*net, fitted), on(*net, now));
        if RAILS.contains(net) {
            let of_one_part = new.chunk_by(|one, other| one.part == other.part);
            joints.extend(of_one_part.map(|pins| (together(pins), format!("**{net}**"), *net)));
            continue;
        }
        let hub = leader(&before).or_else(|| {
            let hub = leader(&new);
            new.retain(|pin| Some(*pin) != hub);
            hub
        });
        let Some(hub) = hub else { continue };
        joints.extend(new.iter().map(|pin| (pin.to_string(), hub.to_string(), *net)));
    }
    joints
}

fn on<'a>(net: Net, pins: &[&'a Pin]) -> Vec<&'a Pin> {
    pins.iter().copied().filter(|pin| pin.net == Some(net)).collect()
}

/// `U3 pins 6, 7, 8`.
fn together(pins: &[&Pin]) -> String {
    match pins {
        [pin] => pin.to_string(),
        _ => {
            let numbers: Vec<String> = pins.iter().map(|pin| pin.number.to_string()).collect();
            format!("{} pins {}", pins[0].part, numbers.join(", "))
        }
    }
}

/// What drives, else a chip's pin, a socket's contact, whatever comes first.
fn leader<'a>(pins: &[&'a Pin]) -> Option<&'a Pin> {
    let rank = |pin: &&&'a Pin| match (pin.kind, &pin.part[..1]) {
        (Kind::Output, "U") => 0,
        (_, "U" | "A" | "Q") => 1,
        (_, "J") => 2,
        _ => 3,
    };
    pins.iter().min_by_key(rank).copied()
}

fn names<'a>(pins: impl Iterator<Item = &'a Pin>) -> String {
    pins.map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

fn nets(list: Netlist<'_>) -> String {
    let mut text = "\n## Every net\n\nWhat a meter must find joined, and to nothing else.\n\n\
                    | net | what it is | pins |\n|---|---|---|\n"
        .to_owned();
    for net in NETS {
        let _ = writeln!(text, "| `{net}` | {} | {} |", net.meaning(), names(list.pins_on(*net)));
    }
    text
}

/// A kind of mistake, all of its kind, and how many of them the rules see.
pub(crate) struct Sown {
    /// What is done.
    pub(crate) what: &'static str,
    /// How many there are that change anything.
    pub(crate) all: usize,
    /// How many break a rule.
    pub(crate) seen: usize,
    /// How many the comparison with the table sees.
    pub(crate) compared: usize,
}

/// Every alteration of each kind.
pub(crate) static SOWN: LazyLock<Vec<Sown>> = LazyLock::new(sown);

fn sown() -> Vec<Sown> {
    let soldered = || PINS.iter().filter(|pin| pin.net.is_some());
    let parts = || NETLIST.parts().filter(|part| *part != "A1");
    let mut kinds: Vec<(&str, Vec<Alteration>)> = vec![];
    kinds.push(("a pin joined to nothing", soldered().map(Alteration::Cut).collect()));
    kinds.push(("a part left out", parts().map(Alteration::Without).collect()));
    let merged = NETS.iter().enumerate();
    let merged = merged.flat_map(|(at, one)| NETS[at + 1..].iter().map(move |other| (one, other)));
    let merged = merged.map(|(one, other)| Alteration::Merged(*one, *other)).collect();
    kinds.push(("two nets bridged", merged));
    let moved =
        PINS.iter().flat_map(|pin| NETS.iter().map(move |net| Alteration::Moved(pin, *net)));
    kinds.push(("a pin on another net", moved.collect()));
    // A resistor turned round is the same resistor.
    let has_sides = |pin: &&Pin| !pin.part.starts_with(['R', 'C']);
    let swapped =
        PINS.iter().enumerate().filter(|(_, pin)| has_sides(pin)).flat_map(|(at, one)| {
            let others = PINS[at + 1..].iter().filter(|other| other.part == one.part);
            others.map(move |other| Alteration::Swapped(one, other))
        });
    kinds.push(("two pins of a part swapped", swapped.collect()));
    let pairs = |letter: char| -> Vec<Alteration> {
        let of: Vec<&str> = NETLIST.parts().filter(|part| part.starts_with(letter)).collect();
        let pair =
            |at: usize| of[at + 1..].iter().map(move |other| (at, *other)).collect::<Vec<_>>();
        (0..of.len())
            .flat_map(pair)
            .map(|(at, other)| Alteration::Exchanged(of[at], other))
            .collect()
    };
    kinds.push(("two resistors in each other's place", pairs('R')));
    kinds.push(("two capacitors in each other's place", pairs('C')));
    kinds.into_iter().map(|(what, all)| tally(what, &all)).collect()
}

fn tally(what: &'static str, alterations: &[Alteration]) -> Sown {
    let mut sown = Sown { what, all: 0, seen: 0, compared: 0 };
    for alteration in alterations {
        let altered: Vec<Pin> = PINS.iter().filter_map(|pin| alteration.of(*pin)).collect();
        if altered == PINS {
            continue;
        }
        let mut is_seen = false;
        check(Netlist(&altered), &mut |_| is_seen = true);
        sown.all += 1;
        sown.seen += usize::from(is_seen);
        sown.compared += usize::from(differences(Netlist(&altered), NETLIST).next().is_some());
    }
    sown
}

fn sown_table() -> String {
    let mut text = "\n## What checks see\n\n\
        The rules (`hardware-notes/net-list/src/rules.rs`) know no more than nets: floating or fought over, \
        supply,\ndecoupling, feedback, pulls, protection. Every single mistake of these kinds was made in a copy \
        of the table:\n\n| mistake | tried | seen by the rules | seen only by comparison with the table |\n\
        |---|---|---|---|\n"
        .to_owned();
    for kind in SOWN.iter() {
        let percent = 100.0 * kind.seen as f64 / kind.all as f64;
        let only = kind.compared - kind.seen;
        let _ = writeln!(text, "| {} | {} | {percent:.0} % | {only} |", kind.what, kind.all);
    }
    text + "\nA mistake between resistors or lines of one kind, such as swapped gates, breaks no rule: compare.\n"
}
