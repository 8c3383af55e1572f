//! The page of results.

use std::fmt::Write as _;

use rillmark_firmware::constants::{
    STILL_LONGEST_US, WAIT_PH_US, WAIT_POWER_US, WAIT_RANGE_US, WAIT_TAP_US,
};
use rillmark_firmware::front_end::ORDER;
use rillmark_firmware::front_end::cell::resistor_ohm;
use rillmark_proto::circuit::{network, surroundings};

use crate::{
    Results, cell, chain, charge, cold, interaction, mains, mid, ph, rise, shunt, thermometer,
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
        let _ = write!(
            text,
            "\n**{}**\n\n| range | conductance | as indicated | one | two | two, highest |\n|---|---|---|---|---|---|\n",
            each.name
        );
        for row in &each.rows {
            let _ = writeln!(
                text,
                "| {} kΩ | {} µS | {} | {} | {} | {} |",
                resistor_ohm(row.range) / 1e3,
                1e6 / row.water_ohm,
                percent(row.raw),
                percent(row.one),
                if row.is_missed() {
                    format!("**{}**", percent(row.two))
                } else {
                    percent(row.two)
                },
                percent(row.two_at_highest),
            );
        }
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
    let order: Vec<_> =
        ORDER.iter().map(|(tap, _)| format!("left {tap:?}").to_lowercase()).collect();
    let mut text = format!(
        "## A whole reading\n\n{}\n\
         | range | Hz | water Ω | | indicated Ω | {} |\n|---|---|---|---|---|{}\n",
        wrapped(&text),
        order.join(" | "),
        "---|".repeat(order.len()),
    );
    for case in cases {
        let ohm = case.reading.ohm();
        let reading = &case.reading;
        let left = reading.slots.map(|slot| fixed(reading.left_codes(&slot, slot.wait_s()), 1));
        let _ = writeln!(
            text,
            "| {} kΩ | {} | {} | {} | {} | {} |",
            resistor_ohm(case.chain.range) / 1e3,
            case.chain.hz,
            case.chain.water_ohm,
            case.what,
            if ohm < 100.0 { fixed(ohm, 2) } else { format!("{:.0}", ohm) },
            left.join(" | "),
        );
    }
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
    let mut text = format!(
        "## What driving the cell does to the pH\n\n{}\n\
         | | driven | opened | next pH | lasts s | DC nA | to rail V |\n|---|---|---|---|---|---|---|\n",
        wrapped(text)
    );
    for case in cases {
        let each = &case.disturbance;
        let lasts = each.lasts_s(0.02);
        let lasts = if lasts > 1.0 { "> 1".to_owned() } else { fixed(lasts, 1) };
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {lasts} | {} | {} |",
            case.what,
            fixed(each.driven_mv, 1),
            fixed(each.opened_mv, 1),
            fixed(each.next_mv, 2),
            fixed(each.cell_a * 1e9, 0),
            fixed(each.to_rail_v, 2),
        );
    }
    text
}

fn shunts(rows: &[shunt::Row]) -> String {
    let [top, bottom] = surroundings::TO_REFERENCE;
    let text = format!(
        "Cell and reference electrode in one water. From the cell's top and bottom to where the reference \
         stands there are {top} and {bottom} times the water between them (*whole* field), or ten and a \
         hundred times that. How much more conductance is indicated than with the electrode lifted out, in \
         %: with R17 at mid and no R30, as it was, and with U5 opening it while the cell is driven, as the \
         front end does. \
         *Budget*: what its budget has for this as a standard uncertainty, which is a √3rd of a limit, for \
         whatever field. What is left is the work of the open switch, which has a line of its own in the \
         budget, and of the screen's {:.0} pF; in a field that is closed in they hold the reference as R17 \
         did.",
        surroundings::REFERENCE_CABLE_F * 1e12
    );
    let mut text = format!(
        "## What the reference electrode takes of the drive\n\n{}\n\
         | range | water Ω | R17 at mid: whole | tenth | hundredth | U5 open: whole | tenth | hundredth | budget |\n\
         |---|---|---|---|---|---|---|---|---|\n",
        wrapped(&text)
    );
    for row in rows {
        let three = |shift: [f64; 3]| shift.map(|f| fixed(f * 1e2, 3)).join(" | ");
        let _ = writeln!(
            text,
            "| {} kΩ | {} | {} | {} | {} |",
            resistor_ohm(row.range) / 1e3,
            row.water_ohm,
            three(row.at_mid),
            three(row.switched),
            fixed(row.allowed() * 1e2, 3),
        );
    }
    text
}

fn charges(cases: &[charge::Case]) -> String {
    let text = "Full readings every 10 s from empty capacitors, water of 707 Ω, metal 0.3 V from the water and \
         20 mV from one electrode to the other; switches leak nothing. Charge that passes in the first and in the \
         last of six readings, in µC, and what C4 and C5 hold when the cell is closed for the last. While the \
         thermometer is read and between readings C4 empties through R11 and the thermometer. Where R17 is \
         at mid, the reference fills it again each time; where U5 opens the reference nothing can, and a \
         capacitor of its own for the thermometer would change nothing: none is fitted.";
    let mut text = format!(
        "## Charge through reference and cell\n\n{}\n\
         | | reference, first | last | cell, first | last | C4 mV | C5 mV |\n|---|---|---|---|---|---|---|\n",
        wrapped(text)
    );
    for (board, passed) in cases {
        let (first, last) = (&passed[0], &passed[charge::READINGS - 1]);
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} | {} | {} | {} |",
            board.what,
            fixed(first.reference_uc, 3),
            fixed(last.reference_uc, 3),
            fixed(first.cell_uc, 2),
            fixed(last.cell_uc, 2),
            fixed(last.drive_mv, 0),
            fixed(last.return_mv, 0),
        );
    }
    text
}

fn rises(rises: &[rise::Rise]) -> String {
    let text = "The transistor is of the threshold and the resistance with 3 V at its gate that are said; the 3.3 V stand \
                still. *Up*: until the switched supply is within 50 mV of where it ends. *Dips*: how far the \
                filtered one falls meanwhile. *Left*: between the two in the end, with both amplifiers' current. \
                At no moment does the switched one stand above the filtered one.";
    let mut text = format!(
        "## The switched supply rises\n\n{}\n\
         | threshold | at 3 V | up ms | dips mV | from 3.3 V at the most mA | left mV |\n|---|---|---|---|---|---|\n",
        wrapped(text)
    );
    for rise in rises {
        let _ = writeln!(
            text,
            "| {} V | {} Ω | {} | {} | {} | {} |",
            rise.transistor.threshold_v,
            rise.transistor.at_3v_ohm,
            fixed(rise.up_ms, 1),
            fixed(rise.dip_mv, 0),
            fixed(rise.inrush_ma, 0),
            fixed(rise.left_mv, 0),
        );
    }
    text
}

fn mids(cases: &[mid::Case]) -> String {
    let text = "Amplifiers with a gain-bandwidth of 1, 1.5 and 2.5 MHz and an output impedance of 300 Ω; a switch \
         of 20 Ω. *Overshoot* of a small step in %; how far the current of a cell of 20 Ω *moves* mid at its edges, and \
         what is left of that while a gate is open, in mV. Both resistors stand inside the taps, so that they \
         cost amplitude and no error.";
    let mut text = format!(
        "## Mid with cables at it\n\n{}\n\
         | | overshoot | moves | left |\n|---|---|---|---|\n",
        wrapped(text)
    );
    for (load, found) in cases {
        let three = |of: &dyn Fn(&mid::Behaviour) -> String| {
            found.iter().map(of).collect::<Vec<_>>().join(", ")
        };
        let _ = writeln!(
            text,
            "| {} | {} | {} | {} |",
            load.what,
            three(&|each| fixed(each.overshoot * 1e2, 0)),
            three(&|each| fixed(each.moved_mv, 1)),
            three(&|each| fixed(each.left_mv, 3)),
        );
    }
    text
}

fn inputs(errors: &[ph::Errors]) -> String {
    let mut text = "## The pH input\n\n| |".to_owned();
    for each in errors {
        let _ = write!(text, " {} MΩ |", each.membrane_ohm / 1e6);
    }
    text += "\n|---|---|---|\n";
    let mut row = |what: &str, value: &dyn Fn(&ph::Errors) -> String| {
        let values: Vec<_> = errors.iter().map(value).collect();
        let _ = writeln!(text, "| {what} | {} |", values.join(" | "));
    };
    row("one pH settles to 0.1 mV in", &|e| format!("{:.2} s", e.settles_s));
    row("power on settles to 0.1 mV in", &|e| format!("{:.2} s", e.powers_up_s));
    row("what is left of power on at the first pH", &|e| format!("{} mV", fixed(e.powered_mv, 2)));
    row("greatest input bias at 25 °C", &|e| format!("{} mV", fixed(e.bias_mv, 3)));
    row("10 GΩ to the guard, 1 mV of offset", &|e| format!("{} mV", fixed(e.guard_mv, 3)));
    row("100 GΩ to ground, no guard", &|e| format!("{} mV", fixed(e.no_guard_mv, 1)));
    row("converter's load, all the time", &|e| format!("{} %", percent(e.load)));
    text
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
    let mut text = format!(
        "## Cold glass\n\n{}\n\
         | at 25 °C | water | then | power on: at once | as read | longer | cell: at once | as read | longer |\n\
         |---|---|---|---|---|---|---|---|---|\n",
        wrapped(&text)
    );
    for glass in glasses {
        let read = |read: &cold::Read| {
            let flag = if read.has_settled { "" } else { ", flagged" };
            let [at_once, mv] = [read.at_once_mv, read.mv].map(|mv| fixed(mv, 2));
            format!("{at_once} | {mv}{flag} | {:.1}", read.longer_s)
        };
        let _ = writeln!(
            text,
            "| {} MΩ | {} °C | {:.0} MΩ | {} | {} |",
            glass.at_25_ohm / 1e6,
            glass.celsius,
            glass.membrane_ohm / 1e6,
            read(&glass.powered),
            read(&glass.driven),
        );
    }
    text
}

fn hums(hums: &[mains::Hum]) -> String {
    let text = "What an average of 50 conversions leaves of 3 mV at the converter, in % of its amplitude, at the \
         worst moment to begin, with the converter's own clock 10 % slow, right and 10 % fast. Triggered by \
         the microcontroller's crystal, as the firmware does, and by the converter's clock instead.";
    let mut text = format!(
        "## Mains hum at the pH input\n\n{}\n\
         | membrane | mains | triggered | by its own clock |\n|---|---|---|---|\n",
        wrapped(text)
    );
    for hum in hums {
        let three = |left: [f64; 3]| left.map(percent).join(", ");
        let _ = writeln!(
            text,
            "| {} MΩ | {} Hz | {} | {} |",
            hum.membrane_ohm / 1e6,
            hum.nominal_hz * (1.0 + hum.off),
            three(hum.triggered),
            three(hum.free),
        );
    }
    text
}

fn thermometers(errors: &thermometer::Errors) -> String {
    format!(
        "## Pt1000 at 25 °C\n\n| | indicated too much |\n|---|---|\n\
         | chain alone | {} mK |\n| switches of 200 Ω | {} mK |\n\
         | warmed by its current, 2 mW/K | {} mK |\n| two leads of {} Ω | {} mK |\n\
         | 10 m of cable at its bottom | {} mK |\n",
        fixed(errors.chain_mk, 0),
        fixed(errors.switches_mk, 0),
        fixed(errors.warmed_mk, 0),
        cell::LEAD_OHM,
        fixed(errors.leads_mk, 0),
        fixed(errors.cable_mk, 0),
    )
}
