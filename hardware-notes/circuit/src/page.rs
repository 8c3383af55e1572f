//! The page of results.

use std::fmt::Write as _;

use rillmark_firmware::constants::{
    STILL_LONGEST_US, WAIT_PH_US, WAIT_POWER_US, WAIT_RANGE_US, WAIT_TAP_US,
};
use rillmark_firmware::front_end::ORDER;
use rillmark_firmware::front_end::cell::resistor_ohm;
use rillmark_metrology::front_end::surroundings;
use rillmark_proto::circuit::network;

use crate::{
    Results, cell, chain, charge, cold, discharge, interaction, mains, mid, ph, rise, shunt,
    thermometer,
};

/// What stands above the results.
const HEAD: &str = "\
# What the circuit simulations show

Written by the tests of `hardware-notes/circuit`, which run every deck of `hardware-notes/circuit/decks/` in
ngspice with the values of `shared-proto/src/circuit/` and the waits of `firmware/src/constants.rs`; a test
fails when this page is stale. `cargo circuit` prints it. Chips are generic models, and nothing has been
measured on copper.

Not covered: the Pico's own regulator, drift of the glass, hum on the conductivity taps, hum so large that
the electrometer clips, rectification at the electrodes, capacitors that lose capacitance with voltage. In a
whole reading the drive's switch has an on-resistance that follows the level, and one gate a charge that does; how
much they do in a chip is a judgement.
";

/// The page as Markdown.
pub fn of(results: &Results) -> String {
    let mut page = HEAD.to_owned();
    for section in [
        cells(&results.cells),
        chains(&results.chains),
        shunts(&results.shunts),
        beakers(&results.beakers),
        charges(&results.charges),
        rises(&results.rises),
        mids(&results.mids),
        inputs(&results.inputs),
        glasses(&results.glasses),
        hums(&results.hums),
        discharges(&results.discharges),
        thermometers(&results.thermometer),
    ] {
        page += "\n";
        page += &section;
    }
    page
}

/// A number with so many decimals, a minus only before what is not zero.
fn fixed(value: f64, decimals: usize) -> String {
    let text = format!("{value:.decimals$}");
    match text.strip_prefix('-') {
        Some(digits) if digits.chars().any(|c| ('1'..='9').contains(&c)) => format!("−{digits}"),
        Some(digits) => digits.to_owned(),
        None => text,
    }
}

fn percent(fraction: f64) -> String {
    fixed(fraction * 1e2, 2)
}

/// A paragraph in lines of at most 105 characters.
fn wrapped(text: &str) -> String {
    let mut lines = String::new();
    let mut width = 0;
    for word in text.split_whitespace() {
        let long = word.chars().count();
        if width > 0 && width + 1 + long > 105 {
            lines.push('\n');
            width = 0;
        } else if width > 0 {
            lines.push(' ');
            width += 1;
        }
        lines += word;
        width += long;
    }
    lines.push('\n');
    lines
}

/// A row of a table.
fn row<T: AsRef<str>>(cells: &[T]) -> String {
    let mut text = "|".to_owned();
    for cell in cells.iter().map(AsRef::as_ref) {
        let _ = if cell.is_empty() { write!(text, " |") } else { write!(text, " {cell} |") };
    }
    text + "\n"
}

/// A table under its columns' names, which ` | ` parts.
fn table(columns: &str, rows: impl IntoIterator<Item = Vec<String>>) -> String {
    let columns: Vec<&str> = columns.split('|').map(str::trim).collect();
    let rows = rows.into_iter().map(|cells| row(&cells));
    format!("{}|{}\n", row(&columns), "---|".repeat(columns.len())) + &rows.collect::<String>()
}

/// A part of the page: its title, what is told, and a table.
fn section(
    title: &str,
    text: &str,
    columns: &str,
    rows: impl IntoIterator<Item = Vec<String>>,
) -> String {
    format!("## {title}\n\n{}\n{}", wrapped(text), table(columns, rows))
}

fn cells(series: &[cell::Series]) -> String {
    let text = format!(
        "Two electrodes at the end of two leads of {} Ω and 3 m of cable, on the drive of each range; error \
         of the indicated conductance in %. On the 1 kΩ range it is the firmware's extrapolation of three \
         frequencies. *One*: after a calibration by 1413 µS/cm at K = 1/cm; *two*: by 1413 µS/cm and \
         12.88 mS/cm (gain and series ohms), carried to the other ranges; *highest*: the same without the extrapolation, \
         at the highest frequency of each range. **Bold**: more than the error budget's standard uncertainty \
         of a calibrated front end; there the circuit misses, and the cure is a platinised or larger \
         electrode, or a standard near the water that is measured.",
        cell::LEAD_OHM
    );
    let mut text = format!("## Indicated against true conductance\n\n{}", wrapped(&text));
    for each in series {
        let _ = write!(text, "\n**{}**\n\n", each.name);
        let rows = each.rows.iter().map(|row| {
            let two = percent(row.two);
            vec![
                format!("{} kΩ", resistor_ohm(row.range) / 1e3),
                format!("{} µS", 1e6 / row.water_ohm),
                percent(row.raw),
                percent(row.one),
                if row.is_missed() { format!("**{two}**") } else { two },
                percent(row.two_at_highest),
            ]
        });
        text += &table("range | conductance | as indicated | one | two | two, highest", rows);
    }
    text
}

fn chains(cases: &[chain::Case]) -> String {
    let text = format!(
        "Drive, switches, cell, tap switch, follower, gates, holds, converter; tap after tap, with the \
         firmware's order and waits. *Left*: what a tap still lacks at its first conversion, {} ms after the \
         drive's start (the first) and {} ms after a tap change, in codes of {} µV.",
        WAIT_RANGE_US / 1000,
        WAIT_TAP_US / 1000,
        network::TAP_CODE_V * 1e6,
    );
    let order = ORDER.map(|(tap, _)| format!("left {tap:?}").to_lowercase());
    let columns = format!("range | Hz | water Ω | | indicated Ω | {}", order.join(" | "));
    let rows = cases.iter().map(|case| {
        let reading = &case.reading;
        let ohm = reading.ohm();
        let left = reading.slots.map(|slot| fixed(reading.left_codes(&slot, slot.wait_s()), 1));
        let mut cells = vec![
            format!("{} kΩ", resistor_ohm(case.chain.range) / 1e3),
            case.chain.hz.to_string(),
            case.chain.water_ohm.to_string(),
            case.what.to_owned(),
            fixed(ohm, if ohm < 100.0 { 2 } else { 0 }),
        ];
        cells.extend(left);
        cells
    });
    let mut text = section("A whole reading", &text, &columns, rows);
    let _ = writeln!(
        text,
        "\nThe holds follow with {:.1} ms; {:.1} ms by arithmetic without the converter's load.",
        cases[0].reading.hold_s() * 1e3,
        network::HOLD_S * 1e3,
    );
    text
}

fn beakers(cases: &[interaction::Case]) -> String {
    let text = "Electrode of 500 MΩ and cell in one beaker; how far the pH input is from where it was before, in \
         mV: at the end of the drive, in the average that begins when the cell is opened, and in the first \
         one that the firmware takes. *Lasts*: from the opening until the rest is 0.02 mV. *DC*: mean \
         current through the cell at the end of the drive. The cell's metal stands 0.3 V from the water, \
         and the blocking capacitors begin empty where nothing else is said. *To rail*: how near the \
         electrometer's input comes to ground or supply meanwhile.";
    let rows = cases.iter().map(|case| {
        let each = &case.disturbance;
        let lasts = each.lasts_s(0.02);
        vec![
            case.what.to_owned(),
            fixed(each.driven_mv, 1),
            fixed(each.opened_mv, 1),
            fixed(each.next_mv, 2),
            if lasts > 1.0 { "> 1".to_owned() } else { fixed(lasts, 1) },
            fixed(each.cell_a * 1e9, 0),
            fixed(each.to_rail_v, 2),
        ]
    });
    let columns = "| driven | opened | next pH | lasts s | DC nA | to rail V";
    section("What driving the cell does to the pH", text, columns, rows)
}

fn shunts(rows: &[shunt::Row]) -> String {
    let text = format!(
        "Cell and reference electrode in one water. *Places*: water from the cell's top and from its bottom to \
         where the reference stands, as multiples of the water between them: a field that reaches it, one that \
         is closed in by ten and by a hundred times, and much nearer to the top. How much more conductance is \
         indicated than with the electrode lifted out, in %: with R17 at mid and no R30, as it was, and with U5 \
         opening it while the cell is driven, as the front end does. *Most*: the limit that the budget has for \
         wherever the reference may stand; the budget counts a √3rd of it, and more where three resistances are \
         extrapolated from a cell that polarises. What is left is the work of the open switch, which has a line \
         of its own in the budget, and of the screen's {:.0} pF.",
        surroundings::REFERENCE_CABLE_F * 1e12
    );
    let places = |of: &[[f64; 2]]| {
        of.iter().map(|[top, bottom]| format!("{top}:{bottom} | ")).collect::<String>()
    };
    let columns = format!(
        "range | water Ω | R17 at mid: {}U5 open: {}most",
        places(&shunt::PLACES[..3]),
        places(&shunt::PLACES)
    );
    let rows = rows.iter().map(|row| {
        let mut cells =
            vec![format!("{} kΩ", resistor_ohm(row.range) / 1e3), row.water_ohm.to_string()];
        let all = row.at_mid.iter().chain(&row.switched).copied().chain([row.limit()]);
        cells.extend(all.map(|fraction| fixed(fraction * 1e2, 3)));
        cells
    });
    section("What the reference electrode takes of the drive", &text, &columns, rows)
}

fn charges(cases: &[charge::Case]) -> String {
    let text = "Full readings every 10 s from empty capacitors, water of 707 Ω, metal 0.3 V from the water and \
         20 mV from one electrode to the other; switches leak nothing. Charge that passes in the first and in the \
         last of six readings, in µC, and what C4 and C5 hold when the cell is closed for the last. While the \
         thermometer is read and between readings C4 empties through R11 and the thermometer. Where R17 is \
         at mid, the reference fills it again each time; where U5 opens the reference nothing can, and a \
         capacitor of its own for the thermometer would change nothing: none is fitted.";
    let rows = cases.iter().map(|(board, passed)| {
        let (first, last) = (&passed[0], &passed[charge::READINGS - 1]);
        vec![
            board.what.to_owned(),
            fixed(first.reference_uc, 3),
            fixed(last.reference_uc, 3),
            fixed(first.cell_uc, 2),
            fixed(last.cell_uc, 2),
            fixed(last.drive_mv, 0),
            fixed(last.return_mv, 0),
        ]
    });
    let columns = "| reference, first | last | cell, first | last | C4 mV | C5 mV";
    section("Charge through reference and cell", text, columns, rows)
}

fn rises(rises: &[rise::Rise]) -> String {
    let text = "The transistor is of the threshold and the resistance with 3 V at its gate that are said; the 3.3 V stand \
                still. *Up*: until the switched supply is within 50 mV of where it ends. *Dips*: how far the \
                filtered one falls meanwhile. *Left*: between the two in the end, with both amplifiers' current. \
                At no moment does the switched one stand above the filtered one.";
    let rows = rises.iter().map(|rise| {
        vec![
            format!("{} V", rise.transistor.threshold_v),
            format!("{} Ω", rise.transistor.at_3v_ohm),
            fixed(rise.up_ms, 1),
            fixed(rise.dip_mv, 0),
            fixed(rise.inrush_ma, 0),
            fixed(rise.left_mv, 0),
        ]
    });
    let columns = "threshold | at 3 V | up ms | dips mV | from 3.3 V at the most mA | left mV";
    section("The switched supply rises", text, columns, rows)
}

fn mids(cases: &[mid::Case]) -> String {
    let text = "Amplifiers with a gain-bandwidth of 1, 1.5 and 2.5 MHz and an output impedance of 300 Ω; a switch \
         of 20 Ω. *Overshoot* of a small step in %; how far the current of a cell of 20 Ω *moves* mid at its edges, and \
         what is left of that while a gate is open, in mV. Both resistors stand outside the taps, so that they \
         cost amplitude and no error.";
    let rows = cases.iter().map(|(load, found)| {
        let three = |of: &dyn Fn(&mid::Behaviour) -> String| {
            found.iter().map(of).collect::<Vec<_>>().join(", ")
        };
        vec![
            load.what.to_owned(),
            three(&|each| fixed(each.overshoot * 1e2, 0)),
            three(&|each| fixed(each.moved_mv, 1)),
            three(&|each| fixed(each.left_mv, 3)),
        ]
    });
    section("Mid with cables at it", text, "| overshoot | moves | left", rows)
}

fn inputs(errors: &[ph::Errors]) -> String {
    let row = |what: &str, value: &dyn Fn(&ph::Errors) -> String| {
        [what.to_owned()].into_iter().chain(errors.iter().map(value)).collect()
    };
    let rows = [
        row("one pH settles to 0.1 mV in", &|e| format!("{:.2} s", e.settles_s)),
        row("power on settles to 0.1 mV in", &|e| format!("{:.2} s", e.powers_up_s)),
        row("what is left of power on at the first pH", &|e| {
            format!("{} mV", fixed(e.powered_mv, 2))
        }),
        row("greatest input bias at 25 °C", &|e| format!("{} mV", fixed(e.bias_mv, 3))),
        row("10 GΩ to the guard, 1 mV of offset", &|e| format!("{} mV", fixed(e.guard_mv, 3))),
        row("100 GΩ to ground, no guard", &|e| format!("{} mV", fixed(e.no_guard_mv, 1))),
        row("converter's load, all the time", &|e| format!("{} %", percent(e.load))),
    ];
    let membranes = errors.iter().map(|each| format!("| {} MΩ", each.membrane_ohm / 1e6));
    format!("## The pH input\n\n{}", table(&membranes.collect::<String>(), rows))
}

fn glasses(glasses: &[cold::Glass]) -> String {
    let text = format!(
        "A membrane has twice the resistance {} K colder. How far the first pH is off, in mV: read at once after \
         its wait ({} s after power on, {} s after a first drive of the cell), and as the firmware reads it, \
         which goes on until five averages stand still; *longer*: for how long, in s. What does not stand \
         still {} s after its wait would be flagged *not settled*.",
        surroundings::MEMBRANE_DOUBLES_K,
        WAIT_POWER_US / 1_000_000,
        WAIT_PH_US / 1_000_000,
        STILL_LONGEST_US / 1_000_000,
    );
    let rows = glasses.iter().map(|glass| {
        let mut cells = vec![
            format!("{} MΩ", glass.at_25_ohm / 1e6),
            format!("{} °C", glass.celsius),
            format!("{:.0} MΩ", glass.membrane_ohm / 1e6),
        ];
        for read in [&glass.powered, &glass.driven] {
            let flag = if read.has_settled { "" } else { ", flagged" };
            let [at_once, mv] = [read.at_once_mv, read.mv].map(|mv| fixed(mv, 2));
            cells.extend([at_once, mv + flag, format!("{:.1}", read.longer_s)]);
        }
        cells
    });
    let columns = "at 25 °C | water | then | power on: at once | as read | longer \
                   | cell: at once | as read | longer";
    section("Cold glass", &text, columns, rows)
}

fn hums(hums: &[mains::Hum]) -> String {
    let text = "What an average of 50 conversions leaves of 3 mV at the converter, in % of its amplitude, at the \
         worst moment to begin, with the converter's own clock 10 % slow, right and 10 % fast. Triggered by \
         the microcontroller's crystal, as the firmware does, and by the converter's clock instead.";
    let rows = hums.iter().map(|hum| {
        let three = |left: [f64; 3]| left.map(percent).join(", ");
        vec![
            format!("{} MΩ", hum.membrane_ohm / 1e6),
            format!("{} Hz", hum.nominal_hz * (1.0 + hum.off)),
            three(hum.triggered),
            three(hum.free),
        ]
    });
    let columns = "membrane | mains | triggered | by its own clock";
    section("Mains hum at the pH input", text, columns, rows)
}

fn discharges(discharges: &[discharge::Discharge]) -> String {
    let text = format!(
        "A body at {} V either way, by the human-body model (100 pF behind {} kΩ; recalled, not checked), touches \
         J1. The most that flows into a chip's own diodes, in mA, and that stands across C1, with a wire in place of \
         R31, as it was, and with R31. A chip that bears 2 kV by that model bears {:.0} mA for as long.",
        discharge::BODY_V,
        discharge::BODY_OHM / 1e3,
        1e3 * discharge::BODY_V / discharge::BODY_OHM,
    );
    let rows = discharges.iter().map(|each| {
        let ma = |ampere: f64| fixed(1e3 * ampere, if ampere < 0.01 { 1 } else { 0 });
        let (before, now) = (&each.before, &each.now);
        vec![
            each.touch.what.to_owned(),
            ma(before.pin_3_a),
            ma(now.pin_3_a),
            ma(before.pin_12_a),
            ma(now.pin_12_a),
            fixed(before.capacitor_v, 0),
            fixed(now.capacitor_v, 0),
        ]
    });
    let columns = "| U1 pin 3: no R31 | R31 | U5 pin 12: no R31 | R31 | C1 V: no R31 | R31";
    section("A discharge into the pH socket", &text, columns, rows)
}

fn thermometers(errors: &thermometer::Errors) -> String {
    let rows = [
        ("chain alone".to_owned(), errors.chain_mk),
        ("switches of 200 Ω".to_owned(), errors.switches_mk),
        ("warmed by its current, 2 mW/K".to_owned(), errors.warmed_mk),
        (format!("two leads of {} Ω", cell::LEAD_OHM), errors.leads_mk),
        ("10 m of cable at its bottom".to_owned(), errors.cable_mk),
    ];
    let rows = rows.map(|(what, mk)| vec![what, format!("{} mK", fixed(mk, 0))]);
    format!("## Pt1000 at 25 °C\n\n{}", table("| indicated too much", rows))
}
