//! Numbers of a check as a person reads them.

use rillmark_procedures::board_check::{Quantity, Row};

/// Digits that a value is written with.
const DIGITS: i32 = 5;

/// A value with a prefix, `digits` significant ones.
fn scaled(value: f64, unit: &str, digits: i32) -> String {
    if !value.is_finite() {
        return "open".to_owned();
    }
    let prefixes = [
        (1e9, "G"),
        (1e6, "M"),
        (1e3, "k"),
        (1.0, ""),
        (1e-3, "m"),
        (1e-6, "µ"),
        (1e-9, "n"),
        (1e-12, "p"),
    ];
    let size = value.abs();
    let fits = |(scale, _): &&(f64, &str)| size >= 0.999_995 * scale;
    let Some((scale, prefix)) = prefixes.iter().find(fits) else {
        return format!("0 {unit}");
    };
    let whole = (size / scale).log10().floor() as i32 + 1;
    let decimals = (digits - whole).max(0) as usize;
    let number = format!("{:.decimals$}", value / scale);
    let number = match number.contains('.') {
        true => number.trim_end_matches('0').trim_end_matches('.'),
        false => &number,
    };
    format!("{number} {prefix}{unit}")
}

/// A resistance.
pub(in crate::words::en) fn ohms(ohm: f64) -> String {
    scaled(ohm, "Ω", DIGITS)
}

/// A current.
pub(super) fn amperes(ampere: f64) -> String {
    scaled(ampere, "A", 2)
}

/// A potential.
pub(super) fn millivolts(mv: f64) -> String {
    // What rounds to nothing has no sign.
    format!("{} mV", (mv * 1e2).round() / 1e2 + 0.0)
}

fn value(quantity: Quantity, value: f64) -> String {
    match quantity {
        Quantity::Potential => millivolts(value),
        Quantity::Cell | Quantity::Thermometer => ohms(value),
        Quantity::OpenCell => scaled(value, "S", 2),
    }
}

/// What is connected, what was found, and how far it may be off.
pub fn numbers(row: &Row) -> [String; 3] {
    let of = |number| value(row.quantity, number);
    let limit = match row.quantity {
        Quantity::Potential => of(row.limit),
        Quantity::OpenCell => of(row.limit),
        Quantity::Cell | Quantity::Thermometer => scaled(row.limit, "Ω", 2),
    };
    let found = row.found.map_or("nothing".to_owned(), of);
    [of(row.expected), found, format!("±{limit}")]
}

/// What was found, on a line of its own.
pub fn found(row: &Row) -> String {
    let [expected, found, limit] = numbers(row);
    let name = match row.quantity {
        Quantity::Potential => "pH input",
        Quantity::Cell | Quantity::OpenCell => "cell",
        Quantity::Thermometer => "thermometer",
    };
    format!("  {name}: {found} for {expected} {limit}: {}", super::verdict(row.verdict))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_read_with_their_prefix() {
        let cases = [
            (ohms(100e3), "100 kΩ"),
            (ohms(9_987.4), "9.9874 kΩ"),
            (ohms(99.2), "99.2 Ω"),
            (ohms(0.0), "0 Ω"),
            (ohms(f64::INFINITY), "open"),
            (amperes(-1.65e-10), "-165 pA"),
            (millivolts(-0.001), "0 mV"),
            (millivolts(203.456), "203.46 mV"),
            (scaled(1.3e-8, "S", 2), "13 nS"),
        ];
        for (got, text) in cases {
            assert_eq!(got, text);
        }
    }
}
