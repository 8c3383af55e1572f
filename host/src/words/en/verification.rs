//! What is said about a verification: the probe in a check standard.

use rillmark_proto::decision::Verdict;
use rillmark_proto::record::Quantity;
use rillmark_proto::record::verification::Independence;

/// What kind of record it is.
pub const KIND: &str = "verification";
/// The calibration that was verified.
pub const VERIFIED: &str = "verified";
/// Found − standard.
pub const DIFFERENCE: &str = "difference";
/// Its parts.
pub const UNCERTAINTY: &str = "uncertainty";
/// What the difference may be.
pub const LIMIT: &str = "limit";
/// Whether the calibration had seen the standard.
pub const INDEPENDENCE: &str = "standard";

/// What can be said.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "pass",
        Verdict::Fail => "fail",
        Verdict::CannotTell => "cannot tell",
    }
}

/// Decimals of a quantity, and its unit with a space before it.
fn unit(quantity: Quantity) -> (usize, &'static str) {
    match quantity {
        Quantity::Ph => (3, ""),
        Quantity::Conductivity => (1, " µS/cm"),
        Quantity::Temperature => (3, " °C"),
    }
}

/// The same of a difference.
fn unit_of_difference(quantity: Quantity) -> (usize, &'static str) {
    match quantity {
        Quantity::Ph => (3, " pH"),
        Quantity::Conductivity => (1, " µS/cm"),
        Quantity::Temperature => (3, " K"),
    }
}

/// What was found, what it should be, and how well that is known.
pub fn numbers(quantity: Quantity, found: f64, value: f64, expanded: f64) -> String {
    let (n, unit) = unit(quantity);
    let ph = if quantity == Quantity::Ph { "pH " } else { "" };
    format!("{ph}{found:.n$} found for {value:.n$}{unit}, U {expanded:.n$} (k = 2)")
}

/// Found − standard with its expanded uncertainty.
pub fn difference(quantity: Quantity, difference: f64, expanded: f64) -> String {
    let (n, unit) = unit_of_difference(quantity);
    format!("{difference:+.n$} ± {expanded:.n$}{unit} (k = 2)")
}

/// The two standard uncertainties that it is made of.
pub fn parts(quantity: Quantity, found: f64, value: f64) -> String {
    let (n, unit) = unit_of_difference(quantity);
    let n = n + 1;
    format!("reading and calibration {found:.n$}, standard {value:.n$}{unit} (k = 1)")
}

/// What the difference may be, and who says so.
pub fn limit(quantity: Quantity, lower: f64, upper: f64, profile: &str, source: &str) -> String {
    let (_, unit) = unit_of_difference(quantity);
    let bounds = if -lower == upper {
        format!("±{}{unit}", figures(upper))
    } else {
        format!("{} to {}{unit}", figures(lower), figures(upper))
    };
    match profile {
        "" => format!("{bounds}: {source}"),
        profile => format!("{bounds}, profile {profile}: {source}"),
    }
}

/// A number to three figures, without the digits that a percentage of a value leaves.
pub fn figures(number: f64) -> String {
    let whole = number.abs().log10().floor();
    let decimals = if whole.is_finite() { (2.0 - whole).clamp(0.0, 6.0) as usize } else { 0 };
    let text = format!("{number:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

/// Whether the calibration had seen the standard.
pub fn independence(independence: Independence) -> &'static str {
    match independence {
        Independence::Independent => "independent of the calibration's",
        Independence::SameLot => "not independent: the calibration's own bottle or lot",
        Independence::LotUnknown => "not shown to be independent: a lot was not stated",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_to_three_figures() {
        let cases = [
            (0.2, "0.2"),
            (42.389_999, "42.4"),
            (5.0, "5"),
            (386.4, "386"),
            (0.05, "0.05"),
            (-0.034_938, "-0.0349"),
            (0.0, "0"),
            (1e-9, "0"),
            (12_345.0, "12345"),
        ];
        for (number, text) in cases {
            assert_eq!(figures(number), text);
        }
    }
}
