//! Which limit a verification is judged by.

use rillmark_procedures::routine::profile::{self, Bound, Criterion, FIELD};
use rillmark_proto::record::Quantity;
use rillmark_proto::record::verification::{LimitSource, ProfileName};

use crate::command::typed::plain;
use crate::words::en::{typed as typed_words, verification as words};

/// The profile or limit that was asked for; the error is a sentence.
pub(super) fn criterion(
    quantity: Quantity,
    profile: Option<&str>,
    limit: Option<&str>,
    source: Option<&str>,
) -> Result<Criterion, String> {
    if let Some(limit) = limit {
        let source = plain(typed_words::LIMIT_SOURCE, source.unwrap_or(words::STATED))?;
        let source = LimitSource::try_from(source)
            .map_err(|_| words::source_too_long(source.len(), LimitSource::new().capacity()))?;
        return Ok(Criterion {
            bound: bound(quantity, limit)?,
            profile: ProfileName::new(),
            source,
        });
    }
    let name = profile.unwrap_or(FIELD.name);
    let known = || profile::ALL.map(|profile| profile.name);
    let found = profile::by_name(name).and_then(|profile| profile.criterion(quantity));
    found.ok_or_else(|| words::unknown_profile(name, &known()))
}

/// From here on a limit in percent lets every reading pass.
const MOST_PERCENT: f64 = 100.0;

/// The same of an absolute limit, in pH, µS/cm or K: as wide as the pH scale, the conductivity of the
/// strongest brines, liquid water.
const fn most(quantity: Quantity) -> f64 {
    match quantity {
        Quantity::Ph => 14.0,
        Quantity::Conductivity => 250_000.0,
        Quantity::Temperature => 100.0,
    }
}

/// `0.05`, or for a conductivity also `3%`.
fn bound(quantity: Quantity, text: &str) -> Result<Bound, String> {
    let (number, percent) = match text.trim().strip_suffix('%') {
        Some(number) => (number.trim(), true),
        None => (text.trim(), false),
    };
    let most = if percent { MOST_PERCENT } else { most(quantity) };
    let limits = |number: &f64| *number > 0.0 && *number < most;
    let number =
        number.parse().ok().filter(limits).ok_or_else(|| words::bad_limit(text, most, percent))?;
    match (percent, quantity) {
        (false, _) => Ok(Bound::Absolute(number)),
        (true, Quantity::Conductivity) => Ok(Bound::Percent(number)),
        (true, Quantity::Ph | Quantity::Temperature) => Err(words::NOT_IN_PERCENT.to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_profile_or_a_limit_of_ones_own() {
        let of = |quantity, profile, limit| criterion(quantity, profile, limit, None);
        let default = of(Quantity::Ph, None, None).expect("field");
        assert_eq!((default.profile.as_str(), default.bound), ("field", Bound::Absolute(0.2)));
        let strict = of(Quantity::Ph, Some("laboratory"), None).expect("a profile");
        assert_eq!(strict.bound, Bound::Absolute(0.05));
        let own = of(Quantity::Conductivity, None, Some("2 %")).expect("a limit");
        assert_eq!((own.profile.as_str(), own.bound), ("", Bound::Percent(2.0)));
        let own = of(Quantity::Temperature, None, Some("0.1")).expect("a limit");
        assert_eq!((own.bound, own.source.as_str()), (Bound::Absolute(0.1), words::STATED));
        let sourced = criterion(Quantity::Ph, None, Some("0.1"), Some("our plan, page 3"));
        assert_eq!(sourced.expect("a limit").source.as_str(), "our plan, page 3");
    }

    #[test]
    fn what_is_no_limit_is_a_sentence() {
        for limit in ["", "%", "wide", "0", "-0.1", "inf", "NaN", "1e400", "1e300", "14", "3%"] {
            let sentence = criterion(Quantity::Ph, None, Some(limit), None).expect_err(limit);
            assert!(sentence.ends_with('.'), "{limit}: {sentence}");
        }
        for (quantity, limit) in [
            (Quantity::Conductivity, "100%"),
            (Quantity::Conductivity, "1e300%"),
            (Quantity::Conductivity, "1e300"),
            (Quantity::Temperature, "1e300"),
        ] {
            let sentence = criterion(quantity, None, Some(limit), None).expect_err(limit);
            assert!(sentence.contains("below"), "{limit}: {sentence}");
        }
        let unknown = criterion(Quantity::Ph, Some("Field"), None, None).expect_err("unknown");
        assert!(unknown.contains("field, daily, laboratory"), "{unknown}");
        let long = "x".repeat(97);
        assert!(criterion(Quantity::Ph, None, Some("0.1"), Some(&long)).is_err());
        assert!(criterion(Quantity::Ph, None, Some("0.1"), Some("plan\u{1b}[2J")).is_err());
    }
}
