//! How far a verification may be off: named profiles with their sources, or a limit of the user's.

use super::limits::{COMMON_PRACTICE, FIELD_MANUAL_PH_CHECK, FIELD_MANUAL_TEMPERATURE};
use rillmark_proto::record::Quantity;
use rillmark_proto::record::verification::{self, LimitSource, ProfileName};
use rillmark_proto::reference::{Tag, sourced};

/// The largest difference found − standard, either sign.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Bound {
    /// In pH, µS/cm or K, whatever the standard's value is.
    Absolute(f64),
    /// In percent of the standard's value.
    Percent(f64),
    /// The larger of the two.
    GreaterOf {
        /// In pH, µS/cm or K.
        absolute: f64,
        /// In percent of the standard's value.
        percent: f64,
    },
    /// In percent of the standard's value, but one amount for all low ones.
    Stepped {
        /// Values up to this one are low, in pH, µS/cm or K.
        low_to: f64,
        /// What a low one may be off, in the same unit.
        low: f64,
        /// Percent of any other.
        percent: f64,
    },
}

impl Bound {
    /// The largest difference at a standard's value, in the unit of that value.
    pub fn at(&self, value: f64) -> f64 {
        let percent_of = |percent: f64| percent / 100.0 * libm::fabs(value);
        match *self {
            Self::Absolute(absolute) => absolute,
            Self::Percent(percent) => percent_of(percent),
            Self::GreaterOf { absolute, percent } => libm::fmax(absolute, percent_of(percent)),
            Self::Stepped { low_to, low, percent } => {
                if value <= low_to {
                    low
                } else {
                    percent_of(percent)
                }
            }
        }
    }
}

/// A bound with where it comes from, as a verification is judged by it.
#[derive(Clone, Debug, PartialEq)]
pub struct Criterion {
    /// The bound.
    pub bound: Bound,
    /// The profile it is from; empty for one of the user's own.
    pub profile: ProfileName,
    /// Where it comes from.
    pub source: LimitSource,
}

impl Criterion {
    /// The limits about a standard's value.
    pub fn limit(&self, value: f64) -> verification::Limit {
        let upper = self.bound.at(value);
        verification::Limit {
            lower: -upper,
            upper,
            profile: self.profile.clone(),
            source: self.source.clone(),
        }
    }
}

/// A bound with where it comes from and how it came to this project.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rule {
    /// The bound.
    pub bound: Bound,
    /// Where it comes from, with the words of the tag behind it (a test holds that).
    pub source: &'static str,
    /// How it came to this project.
    pub tag: Tag,
}

/// A named set of bounds. None of them is a law: which one holds is the operator's business.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Profile {
    /// Its name; never changes its meaning.
    pub name: &'static str,
    /// Of a pH.
    pub ph: Rule,
    /// Of a conductivity at the standard's temperature.
    pub conductivity: Rule,
    /// Of a temperature.
    pub temperature: Rule,
}

const fn tm_1_d3(bound: Bound) -> Rule {
    let source = sourced!(Recalled, "USGS Techniques and Methods 1-D3, calibration criterion");
    Rule { bound, source, tag: Tag::Recalled }
}

const fn seen_at_one_remove(bound: Bound, source: &'static str) -> Rule {
    Rule { bound, source, tag: Tag::SeenAtOneRemove }
}

const fn practice(bound: Bound) -> Rule {
    Rule { bound, source: COMMON_PRACTICE, tag: Tag::CommonPractice }
}

/// Work outdoors with a probe that stays there: the criterion after which a monitor is calibrated
/// anew (REFERENCES 16).
pub const FIELD: Profile = Profile {
    name: "field",
    ph: tm_1_d3(Bound::Absolute(0.2)),
    conductivity: tm_1_d3(Bound::GreaterOf { absolute: 5.0, percent: 3.0 }),
    temperature: tm_1_d3(Bound::Absolute(0.2)),
};

/// A further standard after a calibration, before a day's work (REFERENCES 15).
pub const DAILY: Profile = Profile {
    name: "daily",
    ph: seen_at_one_remove(
        Bound::Absolute(0.1),
        sourced!(SeenAtOneRemove, "calibration criterion on the form of USGS TM 9-A6.8 (2025)"),
    ),
    conductivity: seen_at_one_remove(
        Bound::Stepped { low_to: 100.0, low: 5.0, percent: 3.0 },
        sourced!(
            SeenAtOneRemove,
            "a standard before every trip and at the site: USGS TM 9-A6.3 (2019)"
        ),
    ),
    temperature: seen_at_one_remove(Bound::Absolute(0.2), FIELD_MANUAL_TEMPERATURE),
};

/// Work at a bench.
pub const LABORATORY: Profile = Profile {
    name: "laboratory",
    ph: seen_at_one_remove(Bound::Absolute(0.05), FIELD_MANUAL_PH_CHECK),
    conductivity: practice(Bound::Percent(1.0)),
    temperature: practice(Bound::Absolute(0.1)),
};

/// Every profile, the default first.
pub const ALL: [&Profile; 3] = [&FIELD, &DAILY, &LABORATORY];

/// The profile of a name.
pub fn by_name(name: &str) -> Option<&'static Profile> {
    ALL.into_iter().find(|profile| profile.name == name)
}

/// How the limit of a verification came to this project; `None` for one of the user's own.
pub fn tag_of(limit: &verification::Limit, quantity: Quantity) -> Option<Tag> {
    by_name(&limit.profile).map(|profile| profile.rule(quantity).tag)
}

impl Profile {
    /// Its rule for a quantity.
    pub const fn rule(&self, quantity: Quantity) -> &Rule {
        match quantity {
            Quantity::Ph => &self.ph,
            Quantity::Conductivity => &self.conductivity,
            Quantity::Temperature => &self.temperature,
        }
    }

    /// The same as a verification takes it.
    pub fn criterion(&self, quantity: Quantity) -> Option<Criterion> {
        let Rule { bound, source, .. } = *self.rule(quantity);
        Some(Criterion {
            bound,
            // A test holds that every name and source is short enough.
            profile: self.name.try_into().ok()?,
            source: source.try_into().ok()?,
        })
    }
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;

    #[test]
    fn every_profile_is_found_by_its_name_and_judges_everything() {
        let names: BTreeSet<_> = ALL.into_iter().map(|profile| profile.name).collect();
        assert_eq!(names.len(), ALL.len());
        for profile in ALL {
            assert_eq!(by_name(profile.name), Some(profile));
            for quantity in Quantity::ALL {
                let criterion = profile.criterion(quantity).unwrap();
                assert_eq!(criterion.profile.as_str(), profile.name);
                let limit = criterion.limit(7.0);
                assert!(
                    limit.lower < 0.0
                        && rillmark_metrology::decision::Tolerance::of(&limit).is_ok()
                );
                let tag = tag_of(&limit, quantity).unwrap();
                assert!(criterion.source.contains(tag.words()), "{}", criterion.source);
            }
        }
        assert_eq!(by_name("Field"), None);
        let own =
            Criterion { profile: ProfileName::new(), ..FIELD.criterion(Quantity::Ph).unwrap() };
        assert_eq!(tag_of(&own.limit(7.0), Quantity::Ph), None);
    }

    /// REFERENCES 15 and 16: ±0.2 pH, the greater of 5 µS/cm and 3 %, ±0.2 °C (recalled, not checked);
    /// 0.1 pH, 5 µS/cm up to 100 µS/cm and 3 % above; 0.05 pH (seen at one remove).
    #[test]
    fn the_numbers_are_those_of_the_sources() {
        let at = |profile: &Profile, quantity, value| {
            profile.criterion(quantity).unwrap().limit(value).upper
        };
        let near = |got: f64, expected: f64| assert!(libm::fabs(got - expected) < 1e-12, "{got}");
        near(at(&FIELD, Quantity::Ph, 9.18), 0.2);
        for (value, expected) in [(84.0, 5.0), (166.0, 5.0), (1413.0, 42.39)] {
            near(at(&FIELD, Quantity::Conductivity, value), expected);
        }
        near(at(&FIELD, Quantity::Temperature, 20.0), 0.2);
        near(at(&DAILY, Quantity::Ph, 4.0), 0.1);
        for (value, expected) in [(84.0, 5.0), (100.0, 5.0), (200.0, 6.0)] {
            near(at(&DAILY, Quantity::Conductivity, value), expected);
        }
        near(at(&LABORATORY, Quantity::Ph, 4.0), 0.05);
    }
}
