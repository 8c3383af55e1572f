//! What the person says about a session.

use std::str::FromStr;

use crate::words::en::diagnose as words;

/// Temperatures in °C that a reference thermometer beside a probe shows: liquid water, a little beyond.
const WATER_C: (f64, f64) = (-10.0, 110.0);

/// From a moment on the probe stood in a solution.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct In {
    pub(super) name: String,
    pub(super) from_s: f64,
}

/// The water was stirred.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Stirred {
    pub(super) from_s: f64,
    pub(super) to_s: f64,
}

/// A reference thermometer showed this.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Reference {
    pub(super) celsius: f64,
    pub(super) at_s: f64,
}

fn number(text: &str) -> Option<f64> {
    f64::from_str(text.trim()).ok().filter(|number| number.is_finite())
}

fn seconds(text: &str) -> Option<f64> {
    number(text).filter(|s| *s >= 0.0)
}

pub(super) fn parse_in(text: &str) -> Result<In, &'static str> {
    let mark = || {
        let (name, from) = text.rsplit_once('@')?;
        let name = name.trim().to_owned();
        (!name.is_empty()).then_some(In { name, from_s: seconds(from)? })
    };
    mark().ok_or(words::IN_FORM)
}

pub(super) fn parse_stirred(text: &str) -> Result<Stirred, &'static str> {
    let mark = || {
        let (from, to) = text.split_once("..")?;
        let (from_s, to_s) = (seconds(from)?, seconds(to)?);
        (from_s < to_s).then_some(Stirred { from_s, to_s })
    };
    mark().ok_or(words::STIRRED_FORM)
}

pub(super) fn parse_reference(text: &str) -> Result<Reference, &'static str> {
    let mark = || {
        let (celsius, at) = text.rsplit_once('@')?;
        let (least, most) = WATER_C;
        let celsius = number(celsius).filter(|celsius| (least..=most).contains(celsius))?;
        Some(Reference { celsius, at_s: seconds(at)? })
    };
    mark().ok_or(words::REFERENCE_FORM)
}

pub(super) fn above_zero(text: &str) -> Result<f64, &'static str> {
    number(text).filter(|number| *number > 0.0).ok_or(words::ABOVE_ZERO)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_are_understood_or_refused() {
        let mark = In { name: "technical-7.00".into(), from_s: 12.5 };
        assert_eq!(parse_in("technical-7.00@12.5"), Ok(mark));
        assert_eq!(parse_stirred("200..230"), Ok(Stirred { from_s: 200.0, to_s: 230.0 }));
        let reference = Reference { celsius: -0.5, at_s: 9.0 };
        assert_eq!(parse_reference("-0.5@9"), Ok(reference));
        assert_eq!(above_zero("1.02"), Ok(1.02));
        for text in ["", "borax", "@3", "borax@", "borax@-1", "borax@NaN", "borax@soon"] {
            assert_eq!(parse_in(text), Err(words::IN_FORM), "{text}");
        }
        for text in ["", "3", "3..", "5..4", "4..4", "a..b"] {
            assert_eq!(parse_stirred(text), Err(words::STIRRED_FORM), "{text}");
        }
        for text in ["", "3", "@3", "warm@3", "1e300@0", "-273@0", "NaN@0", "21@1e400"] {
            assert_eq!(parse_reference(text), Err(words::REFERENCE_FORM), "{text}");
        }
        for text in ["", "0", "-1", "inf"] {
            assert_eq!(above_zero(text), Err(words::ABOVE_ZERO), "{text}");
        }
    }
}
