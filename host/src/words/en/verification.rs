//! What is said about a verification: the probe in a check standard.

use std::fmt::Display;

use rillmark_proto::record::Quantity;
use rillmark_proto::record::verification::Independence;
use rillmark_proto::record::verification::Verdict;
use rillmark_proto::reference::Tag;

use crate::foreign::shown;

/// Under `verify --help`.
pub const EXAMPLE: &str = "\
Example:
  rillmark verify ph --standard phosphate-1-3.5,lot=D4 --profile laboratory
  rillmark verify conductivity --standard 1413,lot=A13 --limit 2% --limit-source \"our plan, page 3\"

Put the probe into a check standard of another bottle or lot than the calibration's. It passes
when it reads within the limit by at least U, fails when it reads outside by more than U, and in
between nobody can tell (JCGM 106:2012). U is the expanded uncertainty (k = 2) with which found minus
standard shows the probe's error: that of the standard and of this reading, not of the calibration,
which is what is judged. Nothing is adjusted; the probe keeps the record.

Profiles, none of them a law; the text says where each limit comes from:
  field       pH 0.2, conductivity 5 µS/cm or 3 % if that is more, 0.2 K [default]
  daily       pH 0.1, conductivity 3 % (5 µS/cm up to 100 µS/cm), 0.2 K
  laboratory  pH 0.05, conductivity 1 %, 0.1 K

Exit code: 0 pass, 10 fail, 11 cannot tell.";

/// Where a limit comes from of which nobody says it.
pub const STATED: &str = "stated by the operator";

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

/// What can be said, in a word or two; a pass that shows little says so.
pub fn verdict(verdict: Verdict, independence: Independence) -> &'static str {
    match (verdict, independence) {
        (Verdict::Pass, Independence::Independent) => "pass",
        (Verdict::Pass, Independence::SameLot) => "pass, not independent",
        (Verdict::Pass, Independence::LotUnknown) => "pass, lot unknown",
        (Verdict::Fail, _) => "fail",
        (Verdict::CannotTell, _) => "cannot tell",
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
pub fn brief(quantity: Quantity, found: f64, value: f64, expanded: f64) -> String {
    let (n, unit) = unit(quantity);
    let ph = if quantity == Quantity::Ph { "pH " } else { "" };
    format!("{ph}{found:.n$} found for {value:.n$}{unit}, U {expanded:.n$} (k = 2)")
}

/// The same in a whole sentence.
pub fn numbers(
    quantity: Quantity,
    found: f64,
    value: f64,
    celsius: f64,
    difference: f64,
    expanded: f64,
) -> String {
    let (n, unit) = unit(quantity);
    let difference = self::difference(quantity, difference, expanded);
    match quantity {
        Quantity::Ph => format!(
            "Found pH {found:.n$}; the standard is pH {value:.n$} at {celsius:.2} °C. Difference \
             {difference}."
        ),
        Quantity::Conductivity => format!(
            "Found {found:.n$}{unit}; the standard is {value:.n$}{unit} at {celsius:.2} °C. Difference \
             {difference}."
        ),
        Quantity::Temperature => format!(
            "Found {found:.n$}{unit}; the reference says {value:.n$}{unit}. Difference {difference}."
        ),
    }
}

/// What can be said, as the first line, and what the limit itself rests on where nobody has read it.
pub fn headline(verdict: Verdict, limit: Option<Tag>) -> String {
    let said = match verdict {
        Verdict::Pass => "PASS: within the limit by at least U.",
        Verdict::Fail => "FAIL: outside the limit by more than U.",
        Verdict::CannotTell => "CANNOT TELL: U straddles the limit.",
    };
    match limit {
        Some(Tag::Recalled) => format!("{said} The limit itself is {}.", Tag::Recalled.words()),
        _ => said.to_owned(),
    }
}

/// What the uncertainty is made of.
pub fn of_parts(parts: &str) -> String {
    format!("U is made of: {parts}.")
}

/// The limit.
pub fn limited(limit: &str) -> String {
    format!("Limit {limit}.")
}

/// What a pass means.
pub const PASSED: &str = "It holds for the probe in this standard today; whether water is safe to \
    drink is decided by a laboratory and your authority.";

/// What a standard means that may be the calibration's own; nothing to say of another one.
pub fn dependence(independence: Independence, verdict: Verdict) -> Option<&'static str> {
    let pass = verdict == Verdict::Pass;
    Some(match independence {
        Independence::Independent => return None,
        Independence::SameLot if pass => {
            "NOT INDEPENDENT: this is the calibration's own bottle or lot. The pass shows that the \
             probe repeats what it read then, not that the calibration is right."
        }
        Independence::SameLot => {
            "NOT INDEPENDENT: this is the calibration's own bottle or lot, so an error of that lot does \
             not show here."
        }
        Independence::LotUnknown if pass => {
            "NOT SHOWN TO BE INDEPENDENT: it is not known that this is another bottle than the \
             calibration's. The pass may show no more than that the probe repeats what it read then."
        }
        Independence::LotUnknown => {
            "NOT SHOWN TO BE INDEPENDENT: it is not known that this is another bottle than the \
             calibration's, and an error of that bottle would not show here."
        }
    })
}

/// What the probe keeps now.
pub fn kept(short: &dyn Display, calibration: &dyn Display) -> String {
    format!(
        "Kept by the probe as record {short}; calibration {calibration} stays in force as it is."
    )
}

/// The record is not there.
pub const NOT_KEPT: &str =
    "NOT KEPT, as far as is known: write the verdict down, or keep this text.";
/// A verdict whose record the probe refused, or perhaps does not keep.
pub fn verdict_not_kept(verdict: Verdict, is_refused: bool, why: &str) -> String {
    let said = match verdict {
        Verdict::Pass => "the calibration passed",
        Verdict::Fail => "the calibration does not hold",
        Verdict::CannotTell => "nobody can tell whether the calibration holds",
    };
    match is_refused {
        true => format!("{said}, and the record of that was not kept: {why}"),
        false => format!("{said}; {why}"),
    }
}
/// A pass that could not be printed.
pub fn passed_all_the_same(short: &dyn Display, why: &str) -> String {
    format!("the calibration passed, and the probe keeps that as record {short}; but {why}")
}

/// What is about to be verified.
pub fn verifying(short: &dyn Display, brief: &str, age: &str) -> String {
    format!("Verifying calibration {short}, {age}: {}\n", shown(brief))
}

/// What to do about a fail.
pub fn failed(quantity: Quantity, difference: f64) -> String {
    let (n, unit) = unit_of_difference(quantity);
    let (again, command) = match quantity {
        Quantity::Ph => ("Rinse, and verify in a fresh portion", "ph"),
        Quantity::Conductivity => {
            ("Rinse, look for bubbles and deposits, and verify in a fresh portion", "conductivity")
        }
        Quantity::Temperature => ("Stir, and verify again", "temperature"),
    };
    format!(
        "the calibration does not hold. {again}; if it fails again, run `rillmark calibrate \
         {command}`. Readings since the last verification that passed are in doubt by about \
         {difference:+.n$}{unit} there."
    )
}

/// What to do when nobody can tell.
pub fn cannot_tell(quantity: Quantity, hopeless: bool, standards_part: bool) -> String {
    let why = if hopeless {
        "nobody can tell whether the calibration holds, and no reading could show that it does: U is \
         larger than the limit."
    } else {
        "nobody can tell whether the calibration holds."
    };
    let better = match (standards_part, quantity) {
        (true, Quantity::Temperature) => {
            "The larger part of U is the reference's: take a better one."
        }
        (true, _) => "The larger part of U is the standard's: take one of smaller uncertainty.",
        (false, Quantity::Ph) => {
            "The larger part of U is the reading's own: let electrode and buffer come to one temperature and \
             to rest, and verify again."
        }
        (false, Quantity::Conductivity) => {
            "The larger part of U is the reading's own: shake bubbles off, let cell, thermometer and standard \
             come to one temperature, and verify again."
        }
        (false, Quantity::Temperature) => {
            "The larger part of U is the reading's own: let thermometer and reference come to rest side by side \
             in a stirred bath, and verify again."
        }
    };
    format!(
        "{why} {better} Verify at another point too, or take a wider limit if the work allows it. A \
         decision about drinking water needs the method and the authority it is under."
    )
}

/// No profile of that name.
pub fn unknown_profile(name: &str, known: &[&str]) -> String {
    format!("there is no profile '{name}'; there are {}, or state a --limit.", known.join(", "))
}

/// No limit.
pub fn bad_limit(text: &str, most: f64, percent: bool) -> String {
    let unit = if percent { " %" } else { "" };
    format!(
        "'{text}' is no limit: a number above zero and below {most}{unit}, for a conductivity also a \
         percentage."
    )
}

/// Percent of what has no zero to count from.
pub const NOT_IN_PERCENT: &str =
    "a limit of pH or of a temperature is stated in pH or K, not in percent.";

/// A source that is too long.
pub fn source_too_long(bytes: usize, most: usize) -> String {
    format!("the source of the limit has {bytes} bytes, at most {most} are kept. Say it shorter.")
}

/// Found − standard with its expanded uncertainty.
pub fn difference(quantity: Quantity, difference: f64, expanded: f64) -> String {
    let (n, unit) = unit_of_difference(quantity);
    // A difference that rounds to nothing has no sign.
    let digits = 10_f64.powi(n as i32);
    let difference = (difference * digits).round() / digits + 0.0;
    format!("{difference:+.n$} ± {expanded:.n$}{unit} (k = 2)")
}

/// The two standard uncertainties that it is made of.
pub fn parts(quantity: Quantity, found: f64, value: f64) -> String {
    let (n, unit) = unit_of_difference(quantity);
    let n = n + 1;
    format!("reading {found:.n$}, standard {value:.n$}{unit} (k = 1)")
}

/// What the difference may be, and who says so.
pub fn limit(quantity: Quantity, lower: f64, upper: f64, profile: &str, source: &str) -> String {
    let (_, unit) = unit_of_difference(quantity);
    let bounds = if -lower == upper {
        format!("±{}{unit}", figures(upper))
    } else {
        format!("{} to {}{unit}", figures(lower), figures(upper))
    };
    sourced(&bounds, profile, source)
}

fn sourced(bounds: &str, profile: &str, source: &str) -> String {
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
    fn the_help_names_every_profile_and_its_exit_codes() {
        use crate::exit::Exit;
        for profile in rillmark_procedures::routine::profile::ALL {
            assert!(EXAMPLE.contains(&format!("\n  {}  ", profile.name)), "{}", profile.name);
        }
        assert!(EXAMPLE.contains(&format!("{} fail", Exit::Fails as u8)));
        assert!(EXAMPLE.contains(&format!("{} cannot tell", Exit::CannotTell as u8)));
    }

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
