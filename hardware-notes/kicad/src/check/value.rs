//! The value that a resistor or capacitor is marked with, as people write it: `31.6 kΩ`, `31k6`, `0.1u 16V`.

use rillmark_proto::circuit::parts::Unit;

/// The value in Ω or F; `None` where the text is none, or one of the other unit.
pub(super) fn of(text: &str, unit: Unit) -> Option<f64> {
    let text = text.trim();
    let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let split = |text: &'_ str| text.find(|c| !is_number(c)).unwrap_or(text.len());
    let (number, rest) = text.split_at(split(text));
    let ends = |c: char| c.is_whitespace() || matches!(c, ',' | ';' | '/' | '(' | ')');
    let mut words = rest.trim_start().split(ends).peekable();
    // `100 1%`: what follows is no unit.
    let suffix = words.next_if(|word| !word.starts_with(|c: char| c.is_ascii_digit()));
    let is_second = |word: &str| {
        let (number, suffix) = word.split_at(split(word));
        // Four digits are the size of a body, such as 0603.
        let is_size = number.len() == 4 && suffix.is_empty();
        !is_size && quantity(number, suffix, unit).is_some()
    };
    if text.contains(char::is_control) || words.any(is_second) {
        return None;
    }
    quantity(number, suffix.unwrap_or(""), unit)
}

/// True for a text with a word that says that the part is not fitted; common practice, no source.
pub(super) fn is_left_out(text: &str) -> bool {
    let text = text.to_ascii_lowercase();
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    words.any(|word| matches!(word, "dnp" | "dnf" | "dni" | "dns"))
        || ["do not", "not fitted", "not populated"].iter().any(|words| text.contains(words))
}

fn quantity(number: &str, suffix: &str, unit: Unit) -> Option<f64> {
    let (factor, rest) = factor(suffix);
    let decimals = &rest[..rest.find(|c: char| !c.is_ascii_digit()).unwrap_or(rest.len())];
    let name = &rest[decimals.len()..];
    let fits = match unit {
        Unit::Ohm => {
            matches!(name, "" | "Ω" | "\u{2126}" | "R") || name.eq_ignore_ascii_case("ohm")
        }
        Unit::Farad => matches!(name, "" | "F" | "f") && !suffix.starts_with('R'),
    };
    let number = number.replace(',', ".");
    let number = if decimals.is_empty() { number } else { format!("{number}.{decimals}") };
    let value = number.parse::<f64>().ok()? * factor;
    (fits && value.is_finite()).then_some(value)
}

fn factor(suffix: &str) -> (f64, &str) {
    let mut rest = suffix.chars();
    let factor = match rest.next() {
        Some('p') => 1e-12,
        Some('n') => 1e-9,
        Some('u' | 'µ' | 'μ') => 1e-6,
        Some('m') => 1e-3,
        Some('R') => 1.0,
        Some('k' | 'K') => 1e3,
        Some('M') => 1e6,
        Some('G') => 1e9,
        _ => return (1.0, suffix),
    };
    (factor, rest.as_str())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_read_as_people_write_them() {
        let ohms = [
            ("31.6 kΩ", 31.6e3),
            ("31k6", 31.6e3),
            ("31,6k", 31.6e3),
            ("31600", 31.6e3),
            ("10R", 10.0),
            ("4R7", 4.7),
            ("10 Ohm", 10.0),
            ("R47", 0.47),
            ("1M 5%", 1e6),
            ("100 1%", 100.0),
            ("2kΩ/0.1%", 2e3),
            ("1k (0603) 5% 0.1W 25ppm", 1e3),
        ];
        for (text, value) in ohms {
            let read = of(text, Unit::Ohm).unwrap_or_else(|| panic!("{text}"));
            assert!((read / value - 1.0).abs() < 1e-12, "{text}: {read}");
        }
        let farads = [("100nF", 1e-7), ("0.1u 16V", 1e-7), ("22 µF", 22e-6), ("2n2", 2.2e-9)];
        for (text, value) in farads {
            let read = of(text, Unit::Farad).unwrap_or_else(|| panic!("{text}"));
            assert!((read / value - 1.0).abs() < 1e-12, "{text}: {read}");
        }
    }

    #[test]
    fn what_is_not_fitted_is_known_by_its_words() {
        for text in ["1 kΩ DNP", "dnp", "NE5532 (do not fit)", "100n/DNF", "Not fitted"] {
            assert!(is_left_out(text), "{text}");
        }
        for text in ["", "1 kΩ", "DNP4", "dual amplifier", "100n NP0"] {
            assert!(!is_left_out(text), "{text}");
        }
    }

    #[test]
    fn what_is_no_value_of_the_unit_is_none() {
        for text in [
            "", "k", "100nF", "1.2.3k", "10 V", "ten", "1e400", "Ω", "1k2k", "1k\n5", "1k 5",
            "1k,5", "1k/2k2", "1k 0R",
        ] {
            assert_eq!(of(text, Unit::Ohm), None, "{text}");
        }
        for text in ["10Ω", "10R", "C", "1,2,3"] {
            assert_eq!(of(text, Unit::Farad), None, "{text}");
        }
    }
}
