//! How far a verification may be off: named profiles with their sources, or a limit of the user's.

use super::limits::{COMMON_PRACTICE, Limit};
use crate::record::Quantity;
use crate::record::verification::{self, LimitSource, ProfileName};

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
    /// In percent of the standard's value, more of a low one.
    Stepped {
        /// Values up to this one are low.
        low_to: f64,
        /// Percent of a low value.
        low_percent: f64,
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
            Self::Stepped { low_to, low_percent, percent } => {
                percent_of(if value <= low_to { low_percent } else { percent })
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

/// A named set of bounds. None of them is a law: which one holds is the operator's business.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Profile {
    /// Its name; never changes its meaning.
    pub name: &'static str,
    /// Of a pH.
    pub ph: Option<Limit<Bound>>,
    /// Of a conductivity at the standard's temperature.
    pub conductivity: Option<Limit<Bound>>,
    /// Of a temperature.
    pub temperature: Option<Limit<Bound>>,
}

const TM_1_D3: &str =
    "USGS Techniques and Methods 1-D3, calibration criterion (MEMORY, high confidence)";

/// Work outdoors with a probe that stays there: the criterion after which a monitor is calibrated
/// anew.
pub const FIELD: Profile = Profile {
    name: "field",
    ph: Some(Limit { value: Bound::Absolute(0.2), source: TM_1_D3 }),
    conductivity: Some(Limit {
        value: Bound::GreaterOf { absolute: 5.0, percent: 3.0 },
        source: TM_1_D3,
    }),
    temperature: Some(Limit { value: Bound::Absolute(0.2), source: TM_1_D3 }),
};

/// A further standard after a calibration, before a day's work.
pub const DAILY: Profile = Profile {
    name: "daily",
    ph: Some(Limit {
        value: Bound::Absolute(0.1),
        source: "third buffer, Standard Methods 4500-H+ B (MEMORY, high confidence)",
    }),
    conductivity: Some(Limit {
        value: Bound::Stepped { low_to: 100.0, low_percent: 5.0, percent: 3.0 },
        source: "default after USGS National Field Manual A6.3, second standard (MEMORY, medium confidence)",
    }),
    temperature: Some(Limit { value: Bound::Absolute(0.2), source: COMMON_PRACTICE }),
};

/// Work at a bench.
pub const LABORATORY: Profile = Profile {
    name: "laboratory",
    ph: Some(Limit {
        value: Bound::Absolute(0.05),
        source: "readings within 0.05 pH of the buffer, EPA method 150.1 (MEMORY, high confidence)",
    }),
    conductivity: Some(Limit { value: Bound::Percent(1.0), source: COMMON_PRACTICE }),
    temperature: Some(Limit { value: Bound::Absolute(0.1), source: COMMON_PRACTICE }),
};

/// Every profile, the default first.
pub const ALL: [&Profile; 3] = [&FIELD, &DAILY, &LABORATORY];

/// The profile of a name.
pub fn by_name(name: &str) -> Option<&'static Profile> {
    ALL.into_iter().find(|profile| profile.name == name)
}

impl Profile {
    /// Its bound of a quantity, with where that comes from.
    pub const fn bound(&self, quantity: Quantity) -> Option<&Limit<Bound>> {
        match quantity {
            Quantity::Ph => self.ph.as_ref(),
            Quantity::Conductivity => self.conductivity.as_ref(),
            Quantity::Temperature => self.temperature.as_ref(),
        }
    }

    /// The same as a verification takes it.
    pub fn criterion(&self, quantity: Quantity) -> Option<Criterion> {
        let Limit { value, source } = self.bound(quantity)?;
        Some(Criterion {
            bound: *value,
            // A test holds that every name and source is short enough.
            profile: self.name.try_into().ok()?,
            source: (*source).try_into().ok()?,
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
                assert!(!criterion.source.is_empty());
                let limit = criterion.limit(7.0);
                assert!(limit.lower < 0.0 && limit.tolerance().is_ok());
            }
        }
        assert_eq!(by_name("Field"), None);
    }

    /// REFERENCES 8 and 9, all MEMORY: ±0.2 pH, the greater of 5 µS/cm and 3 %, ±0.2 °C; a third
    /// buffer within 0.1 pH, a second standard within 5 % up to 100 µS/cm and 3 % above; 0.05 pH.
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
        for (value, expected) in [(84.0, 4.2), (100.0, 5.0), (200.0, 6.0)] {
            near(at(&DAILY, Quantity::Conductivity, value), expected);
        }
        near(at(&LABORATORY, Quantity::Ph, 4.0), 0.05);
    }
}
