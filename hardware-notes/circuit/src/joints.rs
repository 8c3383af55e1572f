//! What a deck joins, by the table of nets: no deck types a connection between parts of the board.
//!
//! `@R17` is the part itself: its name, its two nets, its value (unless another stands after it in braces).
//! `Rload@U6.AIN0.AIN1` is an element of the deck, such as a model of a chip's contact, at these pins of a part; `@C4.left`
//! within a line is the net of one pin.

use std::fmt::Write as _;

use rillmark_net_list::{GROUND, Netlist};

/// A pin that a deck names and the table does not have.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the table of nets has no {0}")]
pub struct UnknownPin(pub String);

/// A deck with its parts joined as in the table.
///
/// # Errors
/// [`UnknownPin`].
pub fn joined(deck: &str, list: Netlist<'_>) -> Result<String, UnknownPin> {
    let mut text = String::new();
    for line in deck.lines() {
        let is_comment = line.starts_with('*');
        let _ =
            writeln!(text, "{}", if is_comment { line.to_owned() } else { element(line, list)? });
    }
    Ok(text)
}

fn element(line: &str, list: Netlist<'_>) -> Result<String, UnknownPin> {
    let mut parts = line.split('@');
    let mut text = parts.next().unwrap_or_default().to_owned();
    for rest in parts {
        let end = rest.find(|c: char| !is_of_pin(c)).unwrap_or(rest.len());
        let (named, rest) = rest.split_at(end);
        match named.split_once('.') {
            None => text += &whole(named, rest.trim_start(), list)?,
            Some((part, pins)) => {
                // After the name of an element the nets follow apart from it.
                if text.ends_with(|c: char| c.is_ascii_alphanumeric()) {
                    text.push(' ');
                }
                let nets: Result<Vec<_>, _> =
                    pins.split('.').map(|pin| node(part, pin, list)).collect();
                text += &nets?.join(" ");
                text += rest;
            }
        }
    }
    Ok(text)
}

fn is_of_pin(c: char) -> bool {
    c.is_ascii_alphanumeric() || matches!(c, '.' | '+' | '-')
}

/// A resistor or capacitor of the board, and what stands after it.
fn whole(part: &str, rest: &str, list: Netlist<'_>) -> Result<String, UnknownPin> {
    let (left, right) = (node(part, "left", list)?, node(part, "right", list)?);
    let value =
        if rest.starts_with('{') { String::new() } else { format!("{{{}}} ", part.to_lowercase()) };
    Ok(format!("{part} {left} {right} {value}{rest}"))
}

/// What ngspice calls the net of a pin.
fn node(part: &str, pin: &str, list: Netlist<'_>) -> Result<String, UnknownPin> {
    let net = list.pin_named(part, pin).and_then(|pin| pin.net);
    let net = net.ok_or_else(|| UnknownPin(format!("{part} {pin}")))?;
    Ok(if net == GROUND { "0".to_owned() } else { net.name().to_owned() })
}

#[cfg(test)]
mod tests {
    use rillmark_net_list::NETLIST;

    use super::*;

    #[test]
    fn parts_elements_and_pins_stand_at_their_nets() {
        let cases = [
            ("@R17", "R17 reference reference_return {r17} "),
            ("@C4 IC={blocked}", "C4 drive_out drive_ac {c4} IC={blocked}"),
            ("@R30 {apart}", "R30 cell_return cell_bottom {apart}"),
            ("Ctop@J2.top 0 60p", "Ctop cell_top 0 60p"),
            ("XU1A@U1.+A.-A.OUTA.V+ amplifier", "XU1A input guard guard 3V3S amplifier"),
            ("wrdata out.dat v(@U6.AIN0,@U6.AIN1)", "wrdata out.dat v(AIN0,AIN1)"),
            ("Rjunction bulk @J1.reference 5", "Rjunction bulk reference 5"),
            ("@R5", "R5 half 0 {r5} "),
        ];
        for (line, wanted) in cases {
            assert_eq!(element(line, NETLIST).as_deref(), Ok(wanted));
        }
        assert_eq!(joined("@R99", NETLIST), Err(UnknownPin("R99 left".to_owned())));
        assert_eq!(joined("Rx@U5.Y0 0 1", NETLIST), Err(UnknownPin("U5 Y0".to_owned())), "open");
    }
}
