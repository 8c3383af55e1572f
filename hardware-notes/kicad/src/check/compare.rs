//! Which pads a board joins, against which the table joins.

use std::collections::BTreeSet;

use rillmark_net_list::{Netlist, Pin};
use rillmark_proto::circuit::parts;

use super::finding::{Difference, Remark, Report};
use super::laid_out::{Board, Part};
use super::names::Names;
use super::value;

/// Holds a board against the table.
pub fn compare(board: &Board, netlist: Netlist<'_>) -> Report {
    let known: BTreeSet<&str> = netlist.parts().collect();
    let names = Names::of(board, netlist);
    let mut report = Report::default();
    for part in netlist.parts() {
        let found: Vec<&Part> = board.parts.iter().filter(|one| one.reference == part).collect();
        match found.len() {
            0 => report.differences.push(Difference::Missing { part: part.to_owned() }),
            1 => {}
            times => {
                report.differences.push(Difference::Repeated { part: part.to_owned(), times });
            }
        }
        report.parts += found.len().min(1);
        for one in found {
            compare_part(one, netlist, &names, &mut report);
        }
    }
    for extra in board.parts.iter().filter(|one| !known.contains(one.reference.as_str())) {
        let nets: BTreeSet<&str> = extra.pads.iter().filter_map(|pad| pad.net.as_deref()).collect();
        let part = extra.reference.clone();
        if nets.len() > 1 {
            let nets = nets.iter().map(|net| names.told(net)).collect();
            report.differences.push(Difference::Extra { part, nets });
        } else if !extra.pads.is_empty() {
            report.remarks.push(Remark::Extra { part });
        }
    }
    report
}

fn compare_part(part: &Part, netlist: Netlist<'_>, names: &Names<'_>, report: &mut Report) {
    compare_value(part, report);
    let pins: Vec<&Pin> = netlist.0.iter().filter(|pin| pin.part == part.reference).collect();
    let is_turned = names.is_turned(part, &pins);
    if is_turned {
        report.remarks.push(Remark::Turned { part: part.reference.clone() });
    }
    for pin in &pins {
        let number = pin.number.to_string();
        let pad = format!("{} pad {number} ({})", pin.part, pin.name);
        let mut pads = part.pads.iter().filter(|pad| pad.number == number).peekable();
        if pads.peek().is_none() {
            report.differences.push(Difference::NoPad { pad: pad.clone() });
        }
        for found in pads {
            report.pads += 1;
            let pad = pad.clone();
            match (found.net.as_deref(), pin.net) {
                _ if is_turned => {}
                (None, None) => {}
                (None, Some(belongs)) => {
                    report.differences.push(Difference::Loose { pad, belongs })
                }
                (Some(is), Some(belongs)) if names.of_table(is) != Some(belongs) => {
                    let is = names.told(is);
                    report.differences.push(Difference::OtherNet { pad, is, belongs });
                }
                // A net of one pad is KiCad's way to say that it is open.
                (Some(is), None) if names.pads_on(is) > 1 => {
                    report.differences.push(Difference::NotOpen { pad, is: names.told(is) });
                }
                (Some(_), _) => {}
            }
        }
    }
    let has_number = |number: &str| pins.iter().any(|pin| pin.number.to_string() == number);
    for pad in part.pads.iter().filter(|pad| !has_number(&pad.number)) {
        if let Some(is) = pad.net.as_deref().filter(|net| names.pads_on(net) > 1) {
            report.remarks.push(Remark::UnknownPad {
                part: part.reference.clone(),
                pad: pad.number.clone(),
                is: names.told(is),
            });
        }
    }
}

fn compare_value(part: &Part, report: &mut Report) {
    if part.is_left_out || value::is_left_out(&part.value) {
        report.differences.push(Difference::LeftOut { part: part.reference.clone() });
        return;
    }
    let Some(wanted) = parts::ALL.iter().find(|one| one.designator == part.reference) else {
        report.uncompared.push((part.reference.clone(), part.value.clone()));
        return;
    };
    let is_same = |is: f64| (is / wanted.value - 1.0).abs() < 1e-6;
    if !value::of(&part.value, wanted.unit).is_some_and(is_same) {
        report.differences.push(Difference::Value {
            part: part.reference.clone(),
            is: part.value.clone(),
            should_be: wanted.to_string(),
        });
    }
}
